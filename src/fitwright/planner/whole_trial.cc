#include "fitwright/planner/whole_trial.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/planner/bench_work.h"
#include "fitwright/planner/process_common.h"
#include "fitwright/planner/sprung_way.h"

namespace fitwright::planner {
namespace {

constexpr double kWire_mm = 2;  // a gap up to this is told by a wire pressed in it (common practice)

std::string WayWord(const Vec3& way_W) {
  int axis = 0;
  const double most = way_W.cwiseAbs().maxCoeff(&axis);
  if (most < 1 - 1e-6) return "along its own slope";
  return fmt::format("along {}{}", way_W[axis] > 0 ? "+" : "-", "xyz"[axis]);
}

int ScrewsTo(const Machine& machine, const std::vector<PartId>& parts, const std::vector<PartId>& onto) {
  int screws = 0;
  for (const Joint& joint : machine.joints) {
    if (joint.kind != JointKind::kScrewedPattern) continue;
    const auto in = [&](const PartId& part, const std::vector<PartId>& list) { return std::find(list.begin(), list.end(), part) != list.end(); };
    const bool here = (in(joint.fixed.part, parts) && in(joint.moving.part, onto)) || (in(joint.moving.part, parts) && in(joint.fixed.part, onto));
    const Feature* feature = machine.Find(joint.fixed);
    const auto* hole = feature == nullptr ? nullptr : std::get_if<Hole>(&feature->shape);
    if (here && hole != nullptr) screws += static_cast<int>(hole->entries_P_mm.size());
  }
  return screws;
}

// A ring springs into its groove, whichever way the drawn one could be slid out.
std::string SprungWords(const Machine& machine, const review::AssemblyStep& way) {
  const BoughtPart* bought = way.parts.size() == 1 ? machine.FindBought(way.parts.front()) : nullptr;
  if (bought != nullptr && bought->kind == BoughtKind::kCirclip) {
    const auto way_W = SprungWay_W(machine, way.parts.front());
    return fmt::format("{} into its groove in {} with circlip pliers, {}eye protection on: in all round, free to turn.", NamesOf(way.parts),
                       NamesOf(way.onto), way_W ? fmt::format("closed and {}, ", WayWord(*way_W)) : "");
  }
  for (const Joint& joint : machine.joints) {
    if (joint.kind != JointKind::kRingInGroove || way.parts.size() != 1) continue;
    const bool fixed = joint.moving.part == way.parts.front();
    if (!fixed && joint.fixed.part != way.parts.front()) continue;
    const FeatureRef& seat = fixed ? joint.fixed : joint.moving;
    const Feature* feature = machine.Find(seat);
    const auto* groove = feature == nullptr ? nullptr : std::get_if<Groove>(&feature->shape);
    if (groove == nullptr) continue;
    return fmt::format("{} into the {} of {}, {}, eye protection on: in all round, free to turn.", NamesOf(way.parts),
                       NameWords(seat.feature), NamesOf({seat.part}),
                       groove->internal ? "closed with pliers" : "opened no wider than it must");
  }
  return {};
}

Step TogetherStep(const Machine& machine, const Shop& shop, const review::AssemblyStep& way) {
  Step step;
  step.operation = Operation::kTrial;
  step.parts = way.parts;
  const int screws = ScrewsTo(machine, way.parts, way.onto);
  step.words = fmt::format("{} {}", NamesOf(way.parts), WayWord(way.direction_W));
  if (!way.onto.empty()) step.words += fmt::format(" to {}", NamesOf(way.onto));
  const std::string sprung = SprungWords(machine, way);
  step.words += screws > 0 ? ": home by hand first, then every screw a little at a time, crosswise." : ": home by hand, nothing forced.";
  if (!sprung.empty()) step.words = sprung;
  step.time_min = shop.times.assemble_place + screws * shop.times.assemble_screw;
  return step;
}

// It was bonded to all that it goes onto before.
bool IsBonded(const Machine& machine, const review::AssemblyStep& way) {
  const std::vector<BondGroup> groups = FindBondGroups(machine);
  return std::any_of(groups.begin(), groups.end(), [&](const BondGroup& group) {
    const auto in = [&](const PartId& part) { return std::find(group.parts.begin(), group.parts.end(), part) != group.parts.end(); };
    return !way.onto.empty() && std::all_of(way.parts.begin(), way.parts.end(), in) && std::all_of(way.onto.begin(), way.onto.end(), in);
  });
}

// What shows, or can be measured, when the last of its parts is on. What is of one part alone was measured
// where it was cut.
bool ShowsTogether(const Requirement& r) {
  const bool kind = r.kind == RequirementKind::kFlush || r.kind == RequirementKind::kDistance || r.kind == RequirementKind::kProud ||
                    r.kind == RequirementKind::kEndFloat || r.kind == RequirementKind::kRunOut;
  return kind && !r.derived && !r.words.empty() && (!r.gaps.empty() || r.a.part != r.b.part);
}

std::set<PartId> PartsOf(const Requirement& r) {
  std::set<PartId> parts;
  for (const FeatureRef& ref : {r.a, r.b}) {
    if (!ref.part.empty()) parts.insert(ref.part);
  }
  for (const auto& [a, b] : r.gaps) parts.insert({a.part, b.part});
  return parts;
}

const PlanarFace* FaceOf(const Machine& machine, const FeatureRef& ref) {
  const Feature* feature = machine.Find(ref);
  return feature == nullptr ? nullptr : std::get_if<PlanarFace>(&feature->shape);
}

// Two faces that look at each other over a gap that the parts themselves shut off from view.
bool IsShutIn(const Machine& machine, const Requirement& r) {
  const PlanarFace* a = FaceOf(machine, r.a);
  const PlanarFace* b = FaceOf(machine, r.b);
  const auto at_a = machine.FindPlace(r.a.part);
  const auto at_b = machine.FindPlace(r.b.part);
  if (r.kind != RequirementKind::kDistance || a == nullptr || b == nullptr || !at_a || !at_b || !r.upper) return false;
  return r.lower && *r.lower > 0 && *r.upper < kWire_mm && (at_a->linear() * a->normal_P).dot(at_b->linear() * b->normal_P) < -0.999;
}

std::string LimitWords(const Requirement& r) {
  if (r.lower && r.upper) {
    const auto [least, most] = std::minmax({std::abs(*r.lower), std::abs(*r.upper)});
    if (*r.lower * *r.upper < 0) return fmt::format(" {:.3f} to {:.3f} mm.", *r.lower, *r.upper);
    return fmt::format(" {:.3f} to {:.3f} mm.", least, most);  // drawn sides count their distances below nothing
  }
  if (r.upper) return fmt::format(" At most {:.3f} mm.", *r.upper);
  return r.lower ? fmt::format(" At least {:.3f} mm.", *r.lower) : "";
}

// A step so small, between limits so close, that an indicator slid over it tells more than a height gauge.
bool IsFineStep(const Requirement& r) {
  constexpr double kSlidOver_mm = 0.5;
  constexpr double kFine_mm = 0.05;
  return r.kind == RequirementKind::kDistance && r.lower && r.upper && std::max(std::abs(*r.lower), std::abs(*r.upper)) < kSlidOver_mm &&
         *r.upper - *r.lower < kFine_mm;
}

std::vector<InstrumentKind> InstrumentsFor(const Requirement& r, bool shut) {
  using K = InstrumentKind;
  if (shut) return {K::kMicrometer, K::kCaliper};
  const RequirementKind kind = r.kind;
  if (kind == RequirementKind::kRunOut || kind == RequirementKind::kEndFloat) return {K::kIndicator};
  if (IsFineStep(r)) return {K::kIndicator, K::kDepthMicrometer, K::kHeightGauge};
  if (kind == RequirementKind::kDistance) return {K::kHeightGauge, K::kDepthMicrometer, K::kCaliper};
  return {K::kDepthMicrometer, K::kIndicator, K::kCaliper};
}

Step LookStep(const Machine& machine, const Shop& shop, const Requirement& r) {
  Step look;
  look.operation = Operation::kMeasure;
  for (const FeatureRef& ref : {r.a, r.b}) {
    if (!ref.part.empty()) look.features.push_back(ref);
  }
  for (const auto& gap : r.gaps) look.features.insert(look.features.end(), {gap.first, gap.second});
  look.words = fmt::format("Look at {}: {}.{}", r.name.text(), r.words, LimitWords(r));
  if (IsShutIn(machine, r)) {
    look.words += fmt::format(" It is shut in now: take the last part off, lay soft wire about {:.1f} mm thick between, draw all tight, turn it over "
                              "once by hand, take off and measure how thin the wire is.",
                              1.5 * *r.upper);
  }
  MeasureLine line;
  line.feature = look.features.front();
  const bool shut = IsShutIn(machine, r);
  const Instrument* instrument = FindInstrument(shop, InstrumentsFor(r, shut), std::abs(r.upper.value_or(1)));
  if (instrument != nullptr) line.instrument = instrument->name;
  line.words = fmt::format("{} with the {}", shut ? "Measure the wire where it is thinnest" : "Read it", instrument == nullptr ? "finest that reaches" : instrument->words);
  if (!shut && IsFineStep(r) && instrument != nullptr && instrument->kind == InstrumentKind::kIndicator)
    line.words += ", set to 0 on the one face and slid over the step, at four places";
  look.measure = line;
  look.time_min = shop.times.measure;
  return look;
}

Step TurnOverStep(const Shop& shop) {
  Step turn;
  turn.operation = Operation::kMeasure;
  turn.words = "Turn and slide by hand what is to turn and slide, through its whole way: nothing binds, nothing rubs.";
  turn.caution = "By hand only, no belt, no air: nothing is guarded yet.";
  turn.time_min = shop.times.measure;
  return turn;
}

// What is one piece now that the step is done; taken into `groups`, which hold each part once.
std::set<PartId> Join(std::vector<std::set<PartId>>& groups, const review::AssemblyStep& way) {
  std::set<PartId> joined(way.parts.begin(), way.parts.end());
  joined.insert(way.onto.begin(), way.onto.end());
  for (auto group = groups.begin(); group != groups.end();) {
    const bool meets = std::any_of(group->begin(), group->end(), [&](const PartId& part) { return joined.contains(part); });
    if (meets) joined.insert(group->begin(), group->end());
    group = meets ? groups.erase(group) : std::next(group);
  }
  groups.push_back(joined);
  return joined;
}

// Left on the part that it was cut with.
bool IsOn(const review::AssemblyStep& way, const std::set<PartId>& stays_on) {
  const auto on = [&](const PartId& part) { return stays_on.contains(part); };
  return !way.onto.empty() && std::all_of(way.parts.begin(), way.parts.end(), on) && std::any_of(way.onto.begin(), way.onto.end(), on);
}

}  // namespace

std::optional<Setup> WholeTrial(const Machine& machine, const Shop& shop, const Subjects& subjects, const std::set<PartId>& stays_on) {
  const auto bench = std::find_if(shop.machines.begin(), shop.machines.end(),
                                  [](const MachineTool& tool) { return tool.kind == MachineToolKind::kBench; });
  if (bench == shop.machines.end() || subjects.together.steps.empty()) return std::nullopt;
  Setup setup;
  setup.machine = bench->name;
  setup.holding = HoldingKind::kBench;
  setup.hold_words = "On the bench, on clean paper; the whole machine, as it will stand.";
  std::vector<PartId> made;
  for (const PartUse& use : machine.uses) {
    setup.parts.push_back({use.part, use.X_WP.inverse(), setup.parts.empty()});
    made.push_back(use.part);
  }
  setup.zero.point_P_mm = setup.parts.front().X_PS.translation();
  std::string wash = "Take the last burrs off every part, wash them all, a brush or a pipe cleaner through every hole and thread, and let "
                     "them drain and dry; what is bought stays in its paper until it goes in.";
  if (!stays_on.empty()) {
    wash += fmt::format(" {} were cut in one go and stay together: wash them as one, look that the screws are tight.",
                        NamesOf({stays_on.begin(), stays_on.end()}));
  }
  setup.steps.push_back(WashStep(made, wash));
  setup.steps.back().caution = "Eye protection; no compressed air: it drives chips into eyes and bearings.";
  std::vector<const Requirement*> open;
  for (const Requirement& r : machine.requirements) {
    if (ShowsTogether(r)) open.push_back(&r);
  }
  std::vector<std::set<PartId>> groups = {{subjects.together.first.begin(), subjects.together.first.end()}};
  for (const review::AssemblyStep& way : subjects.together.steps) {
    if (!IsBonded(machine, way) && !IsOn(way, stays_on)) setup.steps.push_back(TogetherStep(machine, shop, way));
    const std::set<PartId> joined = Join(groups, way);
    std::erase_if(open, [&](const Requirement* r) {
      const auto parts = PartsOf(*r);
      if (!std::includes(joined.begin(), joined.end(), parts.begin(), parts.end())) return false;
      setup.steps.push_back(LookStep(machine, shop, *r));
      return true;
    });
  }
  for (const Requirement* r : open) setup.steps.push_back(LookStep(machine, shop, *r));
  setup.steps.push_back(TurnOverStep(shop));
  setup.reasons.push_back("What does not go together now is found while it can still be mended on the machines as they stand.");
  return setup;
}

}  // namespace fitwright::planner
