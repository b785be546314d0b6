#include "fitwright/planner/setup_maker.h"

#include <algorithm>
#include <cmath>

#include "fitwright/planner/bench_work.h"
#include "fitwright/planner/check_words.h"
#include "fitwright/planner/cut_requests.h"
#include "fitwright/planner/finished_grip.h"
#include "fitwright/planner/holding_words.h"
#include "fitwright/planner/joint_looks.h"
#include "fitwright/planner/lathe_order.h"
#include "fitwright/planner/plan_lists.h"
#include "fitwright/planner/process_common.h"
#include "fitwright/planner/process_length.h"
#include "fitwright/planner/seat_blocks.h"
#include "fitwright/planner/set_beside.h"
#include "fitwright/planner/setup_words.h"
#include "fitwright/planner/tool_pins.h"

namespace fitwright::planner {

std::vector<PartId> PartsOf(const SetupSketch& sketch) {
  std::vector<PartId> parts = {sketch.part};
  parts.insert(parts.end(), sketch.mates.begin(), sketch.mates.end());
  return parts;
}

SetupMaker::SetupMaker(const Machine& machine, const Shop& shop, const Subjects& subjects, const Strategy& strategy,
                       const std::vector<Pin>& pins, CutMemo* memo, Plan& plan)
    : machine_(machine), shop_(shop), subjects_(subjects), strategy_(strategy), pins_(pins), memo_(memo), plan_(plan) {
  for (const Part& part : machine.parts) pieces_[part.name] = RawPiece(part);
}

Settled SetupMaker::SettledByFits() const {
  Settled settled;
  for (const SuitPair& pair : subjects_.suits) {
    const auto choice = strategy_.suits.find(pair.requirement);
    if (choice != strategy_.suits.end() && choice->second == Technique::kFitToMeasured) settled.push_back(pair.requirement);
  }
  return settled;
}

void SetupMaker::Measure() {
  const Settled settled = SettledByFits();
  for (const Part& part : machine_.parts) wanted_[part.name] = WantedMeasures(machine_, part, settled);
}

Result<Setup> SetupMaker::Make(const SetupSketch& sketch) {
  if (const Status filled = Fill(sketch); !filled) return Unexpected(filled.error());
  return std::move(setup_);
}

Status SetupMaker::Fill(const SetupSketch& sketch) {
  Result<HeldPiece> held = MakeHolding(sketch, pieces_, machine_, shop_);
  if (!held) return Unexpected(held.error());
  setup_ = std::move(held->setup);
  clearance_below_mm_ = held->clearance_below_mm;
  setup_.time_min = held->seat_min;
  if (sketch.bench != SetupSketch::Bench::kNone) {
    setup_.steps = BenchSteps(machine_, shop_, subjects_, sketch);
    setup_.hold_words = "On the bench, on clean paper; nothing is cut here.";
    setup_.up.clear();
    return Ok{};
  }
  const Status cut = sketch.marks            ? MarkByPoints(sketch)
                     : sketch.through          ? CutThrough(sketch)
                     : !sketch.drilled.empty()  ? CutThroughBoth(sketch)
                     : !sketch.together.empty() ? CutTogether(sketch)
                                                : CutAll(sketch);
  if (!cut) return cut;
  if (!sketch.marks) AddDeburr(sketch);
  if (shop_.Find(sketch.machine)->kind == MachineToolKind::kLathe) setup_.hold_words += HeldShortWords(setup_);
  if (!wanted_.empty()) AddMeasuring(shop_, pieces_, wanted_, MeasuredFinely(subjects_, strategy_), setup_);
  setup_.hold_words += ThinRingWords(shop_, pieces_, setup_);
  if (setup_.holding == HoldingKind::kThreeJawShort) setup_.hold_words += SeatBlockWords(shop_, setup_, Context(sketch).pieces.front());
  GaugeAgain(shop_, pieces_, setup_);
  if (DrivesPin(sketch)) {
    for (Step& step : PinSteps(machine_, shop_, PartsOf(sketch), sketch.drilled)) setup_.steps.push_back(std::move(step));
  }
  AddReasons(sketch);
  return Ok{};
}

bool SetupMaker::DrivesPin(const SetupSketch& sketch) {
  return !sketch.drilled.empty() && !sketch.take_apart && sketch.way != Technique::kBoreInLine;
}

double SetupMaker::PartedAt_S_mm(const SetupSketch& sketch) const {
  const Feature& face = *pieces_.at(sketch.part).part->Find(*sketch.part_off);
  const double at_P = std::get<PlanarFace>(face.shape).at.middle_mm() + sketch.part_off_leave_mm;
  return -at_P - sketch.up_P.dot(setup_.parts.front().X_PS.translation());
}

CutContext SetupMaker::Context(const SetupSketch& sketch) const {
  CutContext context;
  context.shop = &shop_;
  context.memo = memo_;
  context.machine = shop_.Find(sketch.machine);
  context.holding = sketch.holding;
  context.clearance_below_mm = clearance_below_mm_;
  for (const FixtureSolid& fixture : setup_.fixtures) {
    const auto* ring = std::get_if<FixtureCylinder>(&fixture.shape);
    if (ring == nullptr || fixture.role == FixtureRole::kTailstock) continue;
    if (fixture.role == FixtureRole::kMandrel && fixture.grips) continue;
    context.jaws_S_mm = std::max(context.jaws_S_mm.value_or(ring->to_mm), ring->to_mm);
  }
  context.vise = RoomInVise(setup_);
  context.centred = sketch.support && sketch.centre;
  context.set_over_mm = setup_.tailstock_over_mm;
  if (context.machine->kind == MachineToolKind::kLathe && IsHeldShortOnFinished(setup_)) context.most_depth_mm = kLightCut_mm;
  if (sketch.part_off) context.parted_S_mm = PartedAt_S_mm(sketch);
  context.made = &pieces_.at(sketch.part).made;
  for (const PartPose& pose : setup_.parts) {
    const PieceState& piece = pieces_.at(pose.part);
    PieceInSetup in;
    in.part = piece.part;
    in.X_PS = pose.X_PS;
    in.piece_S = BoxInSetup(piece, pose.X_PS);
    for (const Band& band : piece.bands) {
      in.bar_diameter_mm = std::max(in.bar_diameter_mm, band.diameter_mm);
      const Axis3& axis = piece.part->turning_axis_P;
      const auto z_S = [&](double along) { return (pose.X_PS.inverse() * Vec3(axis.point_mm + axis.direction * along)).z(); };
      if (std::abs((pose.X_PS.linear().transpose() * axis.direction).z()) < 1 - 1e-9) continue;
      const auto [low, high] = std::minmax({z_S(band.from_mm), z_S(band.to_mm)});
      in.rounds_S.push_back({low, high, band.diameter_mm});
    }
    context.pieces.push_back(in);
  }
  return context;
}

Status SetupMaker::Take(Result<CutResult> result) {
  if (!result) return Unexpected(result.error());
  for (Step& step : result->steps) setup_.steps.push_back(std::move(step));
  for (const BuyLine& line : result->missing) AddBuy(plan_, line);
  for (const std::string& warning : result->warnings) AddWarning(warning);
  return Ok{};
}

void SetupMaker::NameCarried(const FeatureRef& ref, std::size_t from) {
  const Part& part = *machine_.FindPart(ref.part);
  for (std::size_t i = setup_.steps.size(); i-- > from;) {
    if (!setup_.steps[i].finishes) continue;
    for (const FeatureId& id : CarriedFaces(part, *part.Find(ref.feature))) {
      if (IsCarried(part, *part.Find(id)) && !pieces_.at(ref.part).IsMade(id)) {
        setup_.steps[i].features.push_back({ref.part, id});
      }
    }
    return;
  }
}

// Limits that what was read of other sizes leaves this one.
void SetupMaker::WorkToWindow(const FeatureRef& ref, std::size_t from) {
  const auto own = strategy_.own_aims.find(ref);
  if (own == strategy_.own_aims.end() || !own->second.window) return;
  const Window& window = *own->second.window;
  for (std::size_t i = from; i < setup_.steps.size(); ++i) {
    Step& step = setup_.steps[i];
    if (!step.aim || step.aim->kind != AimKind::kBringToSize) continue;
    step.aim->lower_mm = window.lower_mm;
    step.aim->upper_mm = window.upper_mm;
    if (!step.measure) continue;
    step.measure->lower_mm = window.lower_mm;
    step.measure->upper_mm = window.upper_mm;
  }
}

void SetupMaker::SayLengthToSuit(const FeatureRef& ref, std::size_t from) {
  for (const SuitPair& pair : subjects_.suits) {
    for (std::size_t i = from; pair.closes && pair.shaft == ref && i < setup_.steps.size(); ++i) {
      Step& step = setup_.steps[i];
      if (step.aim && step.aim->closes == pair.requirement) SayClosing(machine_, shop_, pair, step);
    }
    if (!pair.closes || pair.shaft != ref || wanted_.empty()) continue;
    const bool made = std::any_of(setup_.steps.begin() + static_cast<std::ptrdiff_t>(from), setup_.steps.end(),
                                  [&](const Step& step) { return step.aim && step.aim->closes == pair.requirement; });
    if (!made) continue;
    for (Step& step : ProveClosing(machine_, shop_, pair)) setup_.steps.push_back(std::move(step));
  }
}

// What the builder wrote beside the feature, where it is finished.
void SetupMaker::SayNote(const FeatureRef& ref, std::size_t from) {
  const std::string& note = machine_.Find(ref)->note;
  if (note.empty()) return;
  for (std::size_t i = setup_.steps.size(); i-- > from;) {
    if (!setup_.steps[i].finishes) continue;
    setup_.steps[i].words += NoteBeside(ref, note);
    return;
  }
}

// Words that no plan can read, and what the step makes of them.
std::string SetupMaker::NoteBeside(const FeatureRef& ref, const std::string& note) const {
  const SuitPair* to_limits = nullptr;  // the first fit that it is not made to
  for (const SuitPair& pair : subjects_.suits) {
    if (pair.shaft != ref || pair.closes) continue;
    if (strategy_.suits.at(pair.requirement) == Technique::kFitToMeasured) return NoteFollowed(pair, note);
    if (to_limits == nullptr) to_limits = &pair;
  }
  if (to_limits == nullptr) {
    return fmt::format(" Your sheet: \"{}\" (the plan does not read notes, its figures are the drawing's; where the note wants it done otherwise than here, pin that in choices.toml and plan again).", note);
  }
  return fmt::format(" Your sheet: \"{}\". This step works to limits of its own; to have it made to suit, pin in choices.toml: technique {} = fit_to_measured.",
                     note, to_limits->requirement.text());
}

// An aim off the middle of the fit is another figure than a builder writes down.
std::string SetupMaker::NoteFollowed(const SuitPair& pair, const std::string& note) const {
  const std::string words = fmt::format(" Made to suit what was measured, for {}, as you noted (\"{}\")", pair.requirement.text(), note);
  const auto share = strategy_.aim_share.find(pair.requirement);
  if (pair.faces || share == strategy_.aim_share.end() || share->second >= 0.5) return words + ".";
  const double nearer_mm = (0.5 - share->second) * (pair.upper_mm - pair.lower_mm);
  return words + fmt::format("; aimed {:.3f} mm nearer the tight end than the middle of its limits, for what is too tight is cut again and what is too "
                             "loose is scrap.", nearer_mm);
}

Status SetupMaker::CutAll(const SetupSketch& sketch) {
  for (const FeatureId& id : sketch.cuts) {
    const FeatureRef ref{sketch.part, id};
    CutRequest request = RequestFor({machine_, shop_, subjects_, strategy_, plan_}, ref);
    request.true_first = std::find(sketch.bored_true.begin(), sketch.bored_true.end(), id) != sketch.bored_true.end();
    if (sketch.on_marks) request.technique = sketch.way;
    const auto leave = sketch.leave_mm.find(id);
    if (leave != sketch.leave_mm.end()) {
      request.leave_mm = leave->second;
      setup_.leave_it_in.push_back(fmt::format("{} stays {:.1f} mm over size: it is finished in a later setup.", id.text(), leave->second));
    }
    const std::size_t from = setup_.steps.size();
    const Status taken = Take(MakeCutAsPinned(Context(sketch), request, pins_));
    if (!taken) return taken;
    WorkToWindow(ref, from);
    SayLengthToSuit(ref, from);
    SetHeightByTheSum(machine_, subjects_, strategy_, ref, from, setup_);
    NameCarried(ref, from);
    SayNote(ref, from);
    SayBoresSquare(machine_, shop_, pieces_.at(ref.part), ref, from, setup_);
    ApplyCut(pieces_.at(sketch.part), *machine_.Find(ref), sketch.up_P, request.leave_mm);
  }
  if (shop_.Find(sketch.machine)->kind == MachineToolKind::kLathe) OrderInLathe(*machine_.FindPart(sketch.part), setup_);
  if (sketch.centre && !sketch.support) {
    if (const Status taken = Take(MakeCentre(Context(sketch), *shop_.Find(*sketch.centre))); !taken) return taken;
  }
  if (!sketch.part_off) return Ok{};
  PieceState& piece = pieces_.at(sketch.part);
  const Feature& face = *piece.part->Find(*sketch.part_off);
  const Status taken = Take(MakePartOffAsPinned(Context(sketch), sketch.part, PartedAt_S_mm(sketch), pins_));
  if (!taken) return taken;
  if (sketch.part_off_leave_mm == 0 && !setup_.steps.empty()) {
    Step& step = setup_.steps.back();
    step.features = {{sketch.part, face.name}};
    step.finishes = true;
    constexpr double kRubbedTo_mm = 0.06;  // between the limits of a length that no parting tool leaves (opinion)
    step.words += std::get<PlanarFace>(face.shape).at.width_mm() < kRubbedTo_mm
                      ? fmt::format(" The figure is the finished length: part it 0.05 to 0.1 mm longer, for {} is rubbed down to it, flat on fine abrasive paper on a plate, the "
                                    "micrometer after every few strokes; wash it.",
                                    NameWords(face.name))
                      : fmt::format(" {} stays as parted: rub it flat on fine abrasive paper on a plate, wash it.", face.name.text());
    step.time_min += 2;
  }
  ApplyPartOff(piece, face, sketch.part_off_leave_mm);
  return Ok{};
}

void SetupMaker::AddDeburr(const SetupSketch& sketch) {
  Step step;
  step.operation = Operation::kDeburr;
  step.time_min = shop_.times.deburr_feature * static_cast<double>(std::max<std::size_t>(1, sketch.cuts.size()));
  const Part& part = *machine_.FindPart(sketch.part);
  const bool drilled_through = std::any_of(sketch.cuts.begin(), sketch.cuts.end(), [&](const FeatureId& id) {
    const auto* hole = std::get_if<Hole>(&part.Find(id)->shape);
    return hole != nullptr && hole->use == HoleUse::kHole && hole->through;
  });
  step.words = DeburrWords(setup_, drilled_through);
  // What is parted off cannot be held again so easily.
  const bool before_parting = IsPartedOff(setup_) && setup_.steps.size() > 1;
  setup_.steps.insert(setup_.steps.end() - (before_parting ? 1 : 0), step);
}

// Not only drilled and reamed, which follows the drill.
bool SetupMaker::IsBoredHere(const FeatureRef& bore) const {
  return std::any_of(setup_.steps.begin(), setup_.steps.end(), [&](const Step& step) {
    return step.operation == Operation::kBore && std::find(step.features.begin(), step.features.end(), bore) != step.features.end();
  });
}

void SetupMaker::AddReasons(const SetupSketch& sketch) {
  const Part& part = *machine_.FindPart(sketch.part);
  std::optional<FeatureId> face;
  std::optional<FeatureId> bore;
  for (const FeatureId& id : sketch.cuts) {
    const Feature& feature = *part.Find(id);
    if (std::holds_alternative<PlanarFace>(feature.shape) && !face) face = id;
    const auto* hole = std::get_if<Hole>(&feature.shape);
    if (hole != nullptr && hole->use == HoleUse::kBore && !bore) bore = id;
  }
  if (face && bore) {
    setup_.reasons.push_back(fmt::format("{} and {} are cut without moving the piece, {}: mark this face.", face->text(), bore->text(),
                                         IsBoredHere({sketch.part, *bore}) ? "so that the bore is square to the face"
                                                                            : "so that the bore is as square to the face as its drill ran, no squarer"));
  }
  if (sketch.through) {
    setup_.reasons.push_back(fmt::format("The holes are taken from {} itself, so they need not be measured.", sketch.through->part.text()));
  }
  if (!sketch.drilled.empty()) {
    setup_.reasons.push_back("One setting for both leaves the holes in line, whatever each part's own place is off.");
  }
  if (!sketch.together.empty()) {
    setup_.reasons.push_back("One cut over all of them leaves no step, whatever the screws' play was.");
  }
}

void SetupMaker::AddWarning(const std::string& text) {
  if (std::find(plan_.warnings.begin(), plan_.warnings.end(), text) == plan_.warnings.end()) plan_.warnings.push_back(text);
}

}  // namespace fitwright::planner
