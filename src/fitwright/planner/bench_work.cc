#include "fitwright/planner/bench_work.h"

#include <fmt/format.h>

#include <algorithm>
#include <deque>
#include <map>
#include <set>

#include "fitwright/model/faces.h"
#include "fitwright/model/material.h"
#include "fitwright/planner/assembly_looks.h"
#include "fitwright/planner/check_words.h"
#include "fitwright/planner/joint_looks.h"
#include "fitwright/planner/process_common.h"
#include "fitwright/planner/set_beside.h"
#include "fitwright/planner/technique_words.h"

namespace fitwright::planner {
namespace {

// Minutes, opinions.
constexpr double kWashPart_min = 0.5;
constexpr double kBondJoint_min = 3;
constexpr double kTakeOffPart_min = 0.5;
constexpr double kShortOne_min = 5;  // parted off with the other, its ends rubbed

}  // namespace

std::string NamesOf(const std::vector<PartId>& parts) {
  std::string text;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (i > 0) text += i + 1 == parts.size() ? " and " : ", ";
    text += Words(parts[i].text());
  }
  return text;
}

const Instrument* FindInstrument(const Shop& shop, const std::vector<InstrumentKind>& kinds, double size_mm) {
  for (const InstrumentKind kind : kinds) {
    for (const Instrument& instrument : shop.instruments) {
      if (instrument.kind == kind && size_mm >= instrument.from_mm && size_mm <= instrument.to_mm) return &instrument;
    }
  }
  return nullptr;
}

Step WashStep(const std::vector<PartId>& parts, const std::string& words) {
  Step step;
  step.operation = Operation::kWash;
  step.parts = parts;
  step.words = words;
  step.time_min = kWashPart_min * static_cast<double>(parts.size());
  return step;
}

namespace {

std::vector<PartId> PlacedParts(const Machine& machine) {
  std::vector<PartId> parts;
  for (const std::vector<PartUse>* list : {&machine.uses, &machine.bought_uses}) {
    for (const PartUse& use : *list) parts.push_back(use.part);
  }
  return parts;
}

using Ways = std::map<PartId, std::set<PartId>>;

Ways JointWays(const Machine& machine, const PartId& left_out) {
  Ways ways;
  for (const Joint& joint : machine.joints) {
    if (joint.kind == JointKind::kSliderInBore || joint.kind == JointKind::kBelt) continue;
    const PartId& a = joint.fixed.part;
    const PartId& b = joint.moving.part;
    if (a == left_out || b == left_out) continue;
    ways[a].insert(b);
    ways[b].insert(a);
  }
  return ways;
}

std::map<PartId, int> StepsFrom(const Ways& ways, const PartId& start) {
  std::map<PartId, int> steps = {{start, 0}};
  std::deque<PartId> open = {start};
  while (!open.empty()) {
    const PartId at = open.front();
    open.pop_front();
    const auto next = ways.find(at);
    if (next == ways.end()) continue;
    for (const PartId& part : next->second) {
      if (steps.emplace(part, steps.at(at) + 1).second) open.push_back(part);
    }
  }
  return steps;
}

const Joint* FindJoint(const Machine& machine, const JointId& id) {
  for (const Joint& joint : machine.joints) {
    if (joint.name == id) return &joint;
  }
  return nullptr;
}

// The longest of them that is round, to lie in V-blocks.
const Part* LongestRound(const Machine& machine, const std::vector<PartId>& parts) {
  const Part* longest = nullptr;
  double most = 0;
  for (const PartId& id : parts) {
    const Part* part = machine.FindPart(id);
    if (part == nullptr || part->envelope != EnvelopeKind::kTurned) continue;
    const double length = std::abs(CalcEnvelope(*part).size_mm().dot(part->turning_axis_P.direction));
    if (length <= most) continue;
    most = length;
    longest = part;
  }
  return longest;
}

// What holds the pieces while the adhesive sets is tried before any is on.
Step DryStep(const Machine& machine, const Shop& shop, const std::vector<PartId>& parts) {
  std::string hold = "Set out stops and light clamps that hold the pieces where the drawing has them";
  if (const Part* round = LongestRound(machine, parts); round != nullptr && parts.size() > 1) {
    std::vector<PartId> rest = parts;
    std::erase(rest, round->name);
    hold = fmt::format("Set out two V-blocks on the plate with a light strap over each for the {}, {}a stop against its far end, and packing from the plate under {}, so "
                       "that nothing hangs by its own weight",
                       Words(round->name.text()), HasIndicator(shop) ? "shims under them until an indicator reads alike along it, " : "", NamesOf(rest));
  }
  Step dry;
  dry.operation = Operation::kWash;  // apart again: nothing of it stays
  dry.parts = parts;
  dry.words = fmt::format("{}: that is how they lie while it sets. Put them together dry in it and look at what the joint is to keep: what is out here and has no play to be nudged by, no compound mends: ease what is tight (fine abrasive paper on the shaft) until it can be, or make that piece again. Take them apart.", hold);
  dry.time_min = static_cast<double>(parts.size()) * (shop.times.assemble_place + kTakeOffPart_min);
  return dry;
}

// What room the drawing leaves the adhesive.
std::string RoomWords(const Machine& machine, const FeatureRef& inner, const FeatureRef& outer) {
  constexpr double kLeast_mm = 0.05;  // on the diameter, of compounds for slip fits (common practice)
  constexpr double kMost_mm = 0.1;
  const auto* shaft = std::get_if<OuterDiameter>(&machine.Find(inner)->shape);
  const auto* hole = std::get_if<Hole>(&machine.Find(outer)->shape);
  if (shaft == nullptr || hole == nullptr || hole->diameter.middle_mm() - shaft->diameter.middle_mm() >= kLeast_mm) return {};
  return fmt::format(" The limits leave it {:.3f} to {:.3f} mm on the diameter, less than the {:.2f} to {:.2f} mm that such compounds commonly have: take "
                     "one made for close fits, and look that both are wet all round.",
                     hole->diameter.lower_mm - shaft->diameter.upper_mm, hole->diameter.upper_mm - shaft->diameter.lower_mm, kLeast_mm, kMost_mm);
}

// A disc that is shorter than its hole is wide leans on the shaft by their play.
std::string TrueWords(const Machine& machine, const Shop& shop, const FeatureRef& outer) {
  constexpr double kRunsTrue_mm = 0.02;  // opinion
  if (!HasIndicator(shop)) return {};
  const Part& part = *machine.FindPart(outer.part);
  const auto* hole = std::get_if<Hole>(&machine.Find(outer)->shape);
  if (hole == nullptr || part.envelope != EnvelopeKind::kTurned || hole->depth_mm >= hole->diameter.middle_mm()) return {};
  const Vec3 from_axis = hole->entries_P_mm.front() - part.turning_axis_P.point_mm;
  if (from_axis.cross(part.turning_axis_P.direction).norm() > 0.01) return {};
  const Feature* face = OutermostFace(part, -hole->into_P);
  if (face == nullptr) return {};
  return fmt::format(" While it can still be moved turn it in the V-blocks, held to the stop and nothing under what turns, the indicator on {} near the rim: nudge it until it runs as true as it goes, {:g} mm at "
                     "most.", NameWords(face->name), kRunsTrue_mm);
}

std::vector<Step> BondSteps(const Machine& machine, const Shop& shop, const SetupSketch& sketch) {
  std::vector<PartId> parts = {sketch.part};
  parts.insert(parts.end(), sketch.mates.begin(), sketch.mates.end());
  Step wash = WashStep(parts, fmt::format("Take the last burrs off {} at the bonded places, wash oil and chips away, wipe with solvent and "
                                          "let it dry; do not touch the places again.", NamesOf(parts)));
  wash.caution = "Solvent: open window, no flame, gloves.";
  std::vector<Step> steps = {DryStep(machine, shop, parts), wash};
  double cure = 0;
  std::set<PartId> on;  // bonded so far
  for (const JointId& id : sketch.joints) {
    const Joint& joint = *FindJoint(machine, id);
    Step step;
    step.operation = Operation::kBond;
    step.joints = {id};
    step.parts = {joint.fixed.part, joint.moving.part};
    const bool fixed_goes_in = std::holds_alternative<OuterDiameter>(machine.Find(joint.fixed)->shape);
    const FeatureRef& inner = fixed_goes_in ? joint.fixed : joint.moving;
    const FeatureRef& outer = fixed_goes_in ? joint.moving : joint.fixed;
    const auto* hole = std::get_if<Hole>(&machine.Find(outer)->shape);
    step.words = on.empty() ? "" : "When what was bonded before has gripped and is not moved by this any more (minutes; the maker's sheet governs): ";
    step.words += fmt::format("{} {} into the {} of {}: {} round both, push it home turning, {}, wipe off what comes out.", on.empty() ? "Bond" : "bond", Words(inner.part.text()),
                             Words(outer.feature.text()), Words(outer.part.text()), joint.compound.empty() ? "adhesive" : joint.compound,
                             HomeWords(machine, inner, outer, hole == nullptr ? Vec3::UnitZ() : hole->into_P, on));
    step.words += RoomWords(machine, inner, outer) + TrueWords(machine, shop, outer);
    on.insert({inner.part, outer.part});
    step.caution = "Gloves and eye protection; it grips within minutes: have everything to hand. Keep it out of bearings.";
    step.time_min = kBondJoint_min;
    steps.push_back(step);
    cure = std::max(cure, CureMinutes(joint));
  }
  for (Step& look : LooksWhileWet(machine, shop, parts)) steps.push_back(std::move(look));
  Step wait;
  wait.operation = Operation::kCure;
  wait.joints = sketch.joints;
  wait.parts = parts;
  wait.wait_min = cure;
  wait.words = "Leave it alone, warm and as it was pushed home. Then look: nothing moves by hand, no bead of adhesive on a face that touches "
               "something.";
  steps.push_back(wait);
  return steps;
}

// What is bonded together comes as one piece.
double PiecesToPut(const Machine& machine, const std::vector<PartId>& parts) {
  double pieces = static_cast<double>(parts.size());
  for (const BondGroup& group : FindBondGroups(machine)) {
    const auto here = std::count_if(group.parts.begin(), group.parts.end(), [&](const PartId& part) {
      return std::find(parts.begin(), parts.end(), part) != parts.end();
    });
    if (here > 1) pieces -= static_cast<double>(here - 1);
  }
  return pieces;
}

// What bearings' outer rings shift between their shoulder and a circlip is read as float too: by itself, while they can be reached.
std::string RingShiftWords(const Machine& machine, const std::vector<PartId>& trial) {
  const auto here = [&](const PartId& part) { return std::find(trial.begin(), trial.end(), part) != trial.end(); };
  const auto seat = std::find_if(machine.joints.begin(), machine.joints.end(),
                                 [&](const Joint& j) { return j.kind == JointKind::kBearingSeat && here(j.fixed.part) && here(j.moving.part); });
  if (seat == machine.joints.end() || !RingsShift(machine)) return {};
  const PartId& housing = machine.FindBought(seat->fixed.part) == nullptr ? seat->fixed.part : seat->moving.part;
  return fmt::format(" Before the shaft goes in, try each inner ring on it: it slides by hand, else ease it with fine abrasive paper. The bearings and their circlip in {} as at the last assembly, where their order and cautions stand, its room looked at first (from the end that it "
                     "goes in by down to the ring that it holds, less the lip as measured, no less than the circlip mikes; else what stands behind is too long); then read with the depth micrometer down onto the outer ring between the circlip's ears, pushed home, then "
                     "pushed out against it from behind; the difference, ________, is what the rings shift. It is no float: take it off every reading of it.",
                     Words(housing.text()));
}

double TrialLength_mm(const Machine& machine, const SuitPair& pair) {
  constexpr double kShort_mm = 0.5;  // less than drawn: it must float (opinion)
  return PieceLength_mm(machine, pair.shaft) - kShort_mm;
}

std::vector<Step> TrialSteps(const Machine& machine, const Shop& shop, const SuitPair& pair) {
  std::vector<Step> steps = {
      WashStep(pair.trial, fmt::format("Look over {}: no burr, no chip on any face that touches; wash and dry.", NamesOf(pair.trial)))};
  Step step;
  step.operation = Operation::kTrial;
  step.parts = pair.trial;
  const std::string piece = Words(pair.shaft.part.text());
  const std::string shift = RingShiftWords(machine, pair.trial);
  step.words = fmt::format("Put {0} together as they will stay, in the place of the {1} the short one that was made with it, both ends rubbed flat, about {2:.1f} mm "
                           "long, miked at four places, alike within 0.01 mm: ________ (without it something else may touch first); what is pushed home or drawn tight later is so now, with the circlips, "
                           "nuts and washers that hold it (a nut at the end of its thread holds nothing: one washer more; hold against it by a plain round of the shaft, never by a pin, a rod or what is bonded on).{3} First see that it moves at all.",
                           NamesOf(pair.trial), piece, TrialLength_mm(machine, pair), shift);
  step.time_min = (shop.times.assemble_place + kTakeOffPart_min) * PiecesToPut(machine, pair.trial) + 2 * shop.times.measure + kShortOne_min;
  step.caution = fmt::format("What lies between the faces now is missing from the {} later: wipe every face.", piece);
  Aim aim;
  aim.kind = AimKind::kFitToMeasured;
  aim.closes = pair.requirement;
  aim.clearance_lower_mm = pair.lower_mm;
  aim.clearance_upper_mm = pair.upper_mm;
  step.aim = aim;
  const Instrument* instrument = FindInstrument(shop, {InstrumentKind::kDepthMicrometer, InstrumentKind::kCaliper},
                                                PieceLength_mm(machine, pair.shaft));
  MeasureLine line;
  line.feature = pair.shaft;
  if (instrument != nullptr) line.instrument = instrument->name;
  line.words = fmt::format("push what floats home one way by hand and read how far its end stands, push it home the other way and read again, both times from the same face that "
                           "stays (the base held on that, it would push back what floats) to the same one that floats; what the balls let it move counts, it moves so in use too: the difference, ________, and the length of the short one together{} are the float without the {}",
                           shift.empty() ? "" : ", less what the rings shift,", piece);
  step.measure = line;
  steps.push_back(step);
  return steps;
}

}  // namespace

double PieceLength_mm(const Machine& machine, const FeatureRef& face) {
  const Part* part = machine.FindPart(face.part);
  const auto& own = std::get<PlanarFace>(part->Find(face.feature)->shape);
  double length = 0;
  for (const Feature& feature : part->features) {
    const auto* other = std::get_if<PlanarFace>(&feature.shape);
    if (other == nullptr || other->normal_P.dot(own.normal_P) > -0.999) continue;
    length = std::max(length, own.at.middle_mm() + other->at.middle_mm());
  }
  return length;
}

std::vector<PartId> TrialParts(const Machine& machine, const Requirement& requirement, const PartId& left_out) {
  std::set<PartId> named;
  for (const auto& [a, b] : requirement.gaps) {
    for (const FeatureRef& ref : {a, b}) {
      if (ref.part != left_out) named.insert(ref.part);
    }
  }
  const Ways ways = JointWays(machine, left_out);
  std::map<PartId, std::map<PartId, int>> steps;
  for (const PartId& part : PlacedParts(machine)) steps[part] = StepsFrom(ways, part);
  std::vector<PartId> parts;
  for (const PartId& part : PlacedParts(machine)) {
    const bool on_a_way = std::any_of(named.begin(), named.end(), [&](const PartId& a) {
      return std::any_of(named.begin(), named.end(), [&](const PartId& b) {
        const auto& from = steps.at(part);
        return from.contains(a) && from.contains(b) && from.at(a) + from.at(b) == steps.at(a).at(b);
      });
    });
    if (on_a_way) parts.push_back(part);
  }
  return parts;
}

std::vector<BondGroup> FindBondGroups(const Machine& machine) {
  std::vector<BondGroup> groups;
  for (const Joint& joint : machine.joints) {
    if (joint.kind != JointKind::kBonded) continue;
    BondGroup group{{joint.fixed.part, joint.moving.part}, {}};
    for (auto it = groups.begin(); it != groups.end();) {
      const bool meets = std::any_of(it->parts.begin(), it->parts.end(), [&](const PartId& part) {
        return part == joint.fixed.part || part == joint.moving.part;
      });
      if (!meets) {
        ++it;
        continue;
      }
      group.parts.insert(group.parts.end(), it->parts.begin(), it->parts.end());
      group.joints.insert(group.joints.end(), it->joints.begin(), it->joints.end());
      it = groups.erase(it);
    }
    group.joints.push_back(joint.name);
    groups.push_back(group);
  }
  for (BondGroup& group : groups) {
    std::vector<PartId> listed;
    for (const PartId& part : PlacedParts(machine)) {
      if (std::find(group.parts.begin(), group.parts.end(), part) != group.parts.end()) listed.push_back(part);
    }
    group.parts = listed;
  }
  return groups;
}

double CureMinutes(const Joint& joint) { return joint.cure_min > 0 ? joint.cure_min : kCureDefault_min; }

std::string ShortOneWords(const Machine& machine, const Subjects& subjects, const PartId& part) {
  for (const SuitPair& pair : subjects.suits) {
    if (pair.shaft.part != part || pair.trial.empty()) continue;
    return fmt::format("One more of these, {:.1f} mm long over its ends, for the trial that {} is cut to suit: it takes its place there. Keep it by.", TrialLength_mm(machine, pair), Words(part.text()));
  }
  return {};
}

std::vector<Step> BenchSteps(const Machine& machine, const Shop& shop, const Subjects& subjects, const SetupSketch& sketch) {
  if (sketch.bench == SetupSketch::Bench::kBond) return BondSteps(machine, shop, sketch);
  for (const SuitPair& pair : subjects.suits) {
    if (pair.requirement == sketch.measures) return TrialSteps(machine, shop, pair);
  }
  return {};
}

void SayClosing(const Machine& machine, const Shop& shop, const SuitPair& pair, Step& step) {
  const Instrument* instrument = FindInstrument(shop, {InstrumentKind::kMicrometer, InstrumentKind::kCaliper},
                                                PieceLength_mm(machine, pair.shaft));
  MeasureLine line;
  line.feature = pair.shaft;
  if (instrument != nullptr) line.instrument = instrument->name;
  line.words = "Measure the length over both ends, at four places, alike within 0.01 mm";
  step.measure = line;
  step.words += " Wipe, let it cool and measure often: it ends at the length that the sum gives. Where the sum asks for more than it has, another is parted off longer.";
  step.time_min += 2 * shop.times.measure + 2;
}

std::vector<Step> ProveClosing(const Machine& machine, const Shop& shop, const SuitPair& pair) {
  for (const Requirement& r : machine.requirements) {
    if (r.name != pair.requirement) continue;
    std::set<PartId> joined(pair.trial.begin(), pair.trial.end());
    joined.insert(pair.shaft.part);
    Step look = FloatStep(machine, shop, r, joined);
    look.words = fmt::format("Take the burrs off the ends of the {0}, wash it and put all of the trial together again, now with the {0} in. {1} It is shut in later: mend it now. What can stay together does: bearings are drawn by their outer "
                             "rings alone and not without need, and only what covers screws still to be drawn comes off again; at the last assembly pass over what is together already.",
                             Words(pair.shaft.part.text()), look.words);
    look.time_min += (shop.times.assemble_place + kTakeOffPart_min) * PiecesToPut(machine, pair.trial);
    return {look};
  }
  return {};
}

}  // namespace fitwright::planner
