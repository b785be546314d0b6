// Setups in which other parts stand on the piece: screwed on and cut with it, drilled through both, marked by it.
#include <algorithm>

#include "fitwright/planner/cut_requests.h"
#include "fitwright/planner/plan_lists.h"
#include "fitwright/planner/setup_maker.h"
#include "fitwright/planner/set_beside.h"
#include "fitwright/planner/setup_words.h"
#include "fitwright/planner/tool_pins.h"

namespace fitwright::planner {

Step SetupMaker::AssemblyStep(const SetupSketch& sketch, Operation operation, const std::string& words, double minutes) const {
  Step step;
  step.operation = operation;
  step.parts = sketch.mates;
  step.joints = sketch.joints;
  step.time_min = minutes;
  step.words = words;
  return step;
}

int SetupMaker::ScrewsOf(const SetupSketch& sketch) const {
  int screws = 0;
  for (const PatternJoint& pattern : subjects_.patterns) {
    if (std::find(sketch.joints.begin(), sketch.joints.end(), pattern.joint) != sketch.joints.end()) screws += pattern.count;
  }
  return screws;
}

std::string SetupMaker::MateNames(const SetupSketch& sketch) const {
  std::string names;
  for (std::size_t i = 0; i < sketch.mates.size(); ++i) {
    if (i > 0) names += i + 1 == sketch.mates.size() ? " and " : ", ";
    names += sketch.mates[i].text();
  }
  return names;
}

// Where along the part its mates stand, one after the other.
std::string SetupMaker::EndsOfMates(const SetupSketch& sketch) const {
  std::string words;
  for (const FlushPair& pair : subjects_.flush) {
    const bool here = pair.main_face.part == sketch.part &&
                      std::find(sketch.together.begin(), sketch.together.end(), pair.face) != sketch.together.end();
    if (here) words += fmt::format(", {} with {}", pair.face.part.text(), SidewaysWords(machine_, pair));
  }
  return words;
}

Status SetupMaker::CutTogether(const SetupSketch& sketch) {
  const double minutes = static_cast<double>(sketch.mates.size()) * shop_.times.assemble_place +
                         ScrewsOf(sketch) * shop_.times.assemble_screw;
  setup_.steps.push_back(AssemblyStep(sketch, Operation::kAssemble,
                                      fmt::format("Screw {} to {}{}, a straight edge over the faces that are cut next: each must have "
                                                  "something to come off. Leave them on: they are cut as one. What else was tried on it "
                                                  "comes off first.",
                                                  MateNames(sketch), sketch.part.text(), EndsOfMates(sketch)),
                                      minutes));
  CutRequest request;
  request.features = sketch.together;
  request.technique = Technique::kMachineTogether;
  const Status taken = Take(MakeCutAsPinned(Context(sketch), request, pins_));
  if (!taken) return taken;
  for (const FeatureRef& ref : sketch.together) {
    const Feature& face = *machine_.Find(ref);
    ApplyCut(pieces_.at(ref.part), face, std::get<PlanarFace>(face.shape).normal_P, 0);
  }
  setup_.leave_it_in.push_back("Do not take the parts apart after this cut; if it must be, dowel them or set them on a plate again.");
  return Ok{};
}

const Joint* SetupMaker::JointOf(const SetupSketch& sketch, JointKind kind) const {
  for (const Joint& joint : machine_.joints) {
    const bool here = std::find(sketch.joints.begin(), sketch.joints.end(), joint.name) != sketch.joints.end();
    if (here && joint.kind == kind) return &joint;
  }
  return nullptr;
}

// How the parts are brought together before the holes go through both.
std::string SetupMaker::JoinWords(const SetupSketch& sketch) const {
  const std::string mate = sketch.drilled[0].part == sketch.part ? sketch.drilled[1].part.text() : sketch.drilled[0].part.text();
  if (sketch.comes_bonded) return fmt::format("It comes bonded and cured: {} on {}.", MateNames(sketch), sketch.part.text());
  if (const Joint* bonded = JointOf(sketch, JointKind::kBonded)) {
    return fmt::format("Before it goes into the vise bond {} to {} ({}): both clean and dry, at the place and turned the way the drawing has it. Let it cure for "
                       "{:.0f} min before anything is drilled.",
                       mate, sketch.part.text(), bonded->compound, bonded->cure_min);
  }
  if (JointOf(sketch, JointKind::kPressFit) != nullptr) return fmt::format("Before it goes into the vise press {} and {} together, turned the way the drawing has it.", mate, sketch.part.text());
  if (sketch.way == Technique::kBoreInLine) {
    return fmt::format("Put {} on {}, dowels in where there are any, every screw tight, a mark on both.", mate, sketch.part.text());
  }
  if (sketch.way == Technique::kReamDowels) {
    return fmt::format("Screw {} to {}, all screws in, just nipped. Tap it to where the drawing has it, by the indicator or on a plate, "
                       "then tighten in turns and look again: the dowels keep what is there now. Mark both.",
                       mate, sketch.part.text());
  }
  return fmt::format("Put {} on {} where the drawing has it and clamp the two together clear of the holes, burrs off between them. Mark "
                     "both, so that they go together the same way round again.",
                     mate, sketch.part.text());
}

Status SetupMaker::PutMatesOn(const SetupSketch& sketch) {
  SetupSketch coming = sketch;
  std::erase_if(coming.mates, [&](const PartId& mate) {
    return std::find(sketch.on_already.begin(), sketch.on_already.end(), mate) != sketch.on_already.end();
  });
  const double minutes = sketch.comes_bonded ? 0 : shop_.times.assemble_place + ScrewsOf(sketch) * shop_.times.assemble_screw;
  if (!coming.mates.empty()) setup_.steps.push_back(AssemblyStep(coming, Operation::kAssemble, JoinWords(sketch), minutes));
  return Ok{};
}

// The mates on, then each hole through all of them in one go.
Status SetupMaker::CutThroughBoth(const SetupSketch& sketch) {
  if (const Status on = PutMatesOn(sketch); !on) return on;
  CutRequest request = RequestFor({machine_, shop_, subjects_, strategy_, plan_}, sketch.drilled.front());
  request.features = sketch.drilled;
  request.technique = sketch.way;
  CutContext context = Context(sketch);
  context.made = &pieces_.at(sketch.drilled.front().part).made;
  const std::size_t from = setup_.steps.size();
  if (const Status taken = Take(MakeCutAsPinned(context, request, pins_)); !taken) return taken;
  for (std::size_t i = from; i < setup_.steps.size(); ++i) {
    Step& step = setup_.steps[i];
    if (step.operation == Operation::kSpot) {
      step.features = {sketch.drilled.front()};
      step.finishes = false;
    } else {
      for (const FeatureRef& ref : sketch.drilled) step.parts.push_back(ref.part);
      step.words += fmt::format(" Through {} into {} in one go, nothing moved in between.", sketch.drilled[0].part.text(),
                                sketch.drilled[1].part.text());
    }
  }
  for (const FeatureRef& ref : sketch.drilled) {
    const Feature& feature = *machine_.Find(ref);
    ApplyCut(pieces_.at(ref.part), feature, -std::get<Hole>(feature.shape).into_P, 0);
  }
  if (sketch.bare_mm > 0) setup_.leave_it_in.push_back(fmt::format("Over the jaws, clear of them: {}.", MateNames(sketch)));
  SayAfter(sketch);
  return Ok{};
}

void SetupMaker::SayAfter(const SetupSketch& sketch) {
  const bool bores = sketch.way == Technique::kBoreInLine;
  if (sketch.take_apart) {
    const std::string words = bores ? fmt::format("Draw the dowels and take {} off.", MateNames(sketch))
                                    : fmt::format("Take {} off, take the burrs off between the two and wash the holes. Press each pin into "
                                                  "one of the parts; it goes into the other by hand or by light taps.",
                                                  MateNames(sketch));
    setup_.steps.push_back(AssemblyStep(sketch, Operation::kTakeApart, words, 1.0));
  } else {
    setup_.leave_it_in.push_back(bores ? "Do not take them apart: without dowels the bores do not come back in line."
                                       : "They stay together from now on.");
  }
}

// Spot, drill and tap the `first` holes, screw the mate down by them, then the rest.
Status SetupMaker::CutThrough(const SetupSketch& sketch) {
  const FeatureRef ref{sketch.part, sketch.cuts.front()};
  const int count = static_cast<int>(std::get<Hole>(machine_.Find(ref)->shape).entries_P_mm.size());
  std::vector<std::vector<int>> groups;
  std::vector<int> rest;
  std::vector<int> early;
  if (sketch.first >= 1) early.push_back(0);
  if (sketch.first >= 2 && count > 1) early.push_back(count / 2);
  for (const int hole : early) groups.push_back({hole});
  for (int i = 0; i < count; ++i) {
    if (std::find(early.begin(), early.end(), i) == early.end()) rest.push_back(i);
  }
  if (!rest.empty()) groups.push_back(rest);
  int screws = 0;
  for (const std::vector<int>& group : groups) {
    const Status cut = CutGroup(sketch, ref, group, screws, group == groups.back());
    if (!cut) return cut;
    screws += static_cast<int>(group.size());
  }
  ApplyCut(pieces_.at(sketch.part), *machine_.Find(ref), sketch.up_P, 0);
  return Ok{};
}

// How the mate finds its place: a spigot, else the faces that must come flush.
std::string SetupMaker::PlacedBy(const SetupSketch& sketch) const {
  for (const FlushPair& pair : subjects_.flush) {
    const bool between = std::find(sketch.mates.begin(), sketch.mates.end(), pair.face.part) != sketch.mates.end() &&
                         pair.main_face.part == sketch.part;
    if (between) {
      return fmt::format("with {} and {} against one straight parallel, {}, ", pair.face.feature.text() + " of the one",
                         pair.main_face.feature.text() + " of the other", SidewaysWords(machine_, pair));
    }
  }
  for (const PatternJoint& pattern : subjects_.patterns) {
    const bool here = std::find(sketch.joints.begin(), sketch.joints.end(), pattern.joint) != sketch.joints.end();
    if (here && pattern.located) return "in its spigot, turned to where the drawing has it, ";
  }
  return "where the drawing has it, by scribed lines, ";
}

// Pointed screws in the threads, the mate dropped on them square.
Status SetupMaker::MarkByPoints(const SetupSketch& sketch) {
  setup_.steps.push_back(AssemblyStep(
      sketch, Operation::kAssemble,
      fmt::format("Screw a pointed transfer screw into each thread of {}, all points one height, standing a millimetre or two out. Lower {} on "
                  "them square {}and do not let it slide. Mark both, so that they go together the same way round again.",
                  sketch.part.text(), MateNames(sketch), PlacedBy(sketch)),
      shop_.times.assemble_place + ScrewsOf(sketch) * shop_.times.assemble_screw));
  CutRequest request;
  request.features = {*sketch.marks};
  request.technique = sketch.way;
  request.through = sketch.through;
  if (const Status taken = Take(MakeCutAsPinned(Context(sketch), request, pins_)); !taken) return taken;
  setup_.steps.push_back(AssemblyStep(sketch, Operation::kTakeApart, fmt::format("Lift {} off, take the points out.", MateNames(sketch)), 0.5));
  return Ok{};
}

Status SetupMaker::CutGroup(const SetupSketch& sketch, const FeatureRef& ref, const std::vector<int>& group, int screws, bool last) {
  const std::string held_by = screws == 0 ? "clamp it clear of the holes" : fmt::format("screw it down by {}", screws);
  setup_.steps.push_back(AssemblyStep(sketch, Operation::kAssemble,
                                      fmt::format("Put {} on {} {}and {}. Mark both, so that they go together the same way round "
                                                  "again.",
                                                  MateNames(sketch), sketch.part.text(), PlacedBy(sketch), held_by),
                                      shop_.times.assemble_place + screws * shop_.times.assemble_screw));
  CutRequest request;
  request.features = {ref};
  request.holes = group;
  request.technique = sketch.way;
  request.through = sketch.through;
  Result<CutResult> result = MakeCutAsPinned(Context(sketch), request, pins_);
  if (!result) return Unexpected(result.error());
  bool on = true;
  for (Step& step : result->steps) {
    if (on && step.operation != Operation::kSpotThrough) {
      setup_.steps.push_back(AssemblyStep(sketch, Operation::kTakeApart, fmt::format("Take {} off.", MateNames(sketch)), 0.5));
      on = false;
    }
    if (!last) step.finishes = false;
    setup_.steps.push_back(std::move(step));
  }
  for (const BuyLine& line : result->missing) AddBuy(plan_, line);
  for (const std::string& warning : result->warnings) AddWarning(warning);
  return Ok{};
}

}  // namespace fitwright::planner
