#include "fitwright/planner/joint_looks.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "fitwright/planner/check_words.h"
#include "fitwright/planner/fitting_bought.h"
#include "fitwright/planner/technique_words.h"

namespace fitwright::planner {
namespace {

constexpr double kMostSpan_mm = 10;  // of an indicator's run along a pin; what stands out may be shorter
constexpr double kNotReached_mm = 1.5;  // of what stands out: the corner at its foot, its far chamfer (common practice)
constexpr double kLevelShare = 0.2;    // of what is allowed, for what is looked at from (opinion)
constexpr double kLevelOver_mm = 30;

// What is printed still passes.
double Down(double mm) { return std::floor(mm * 1000 + 1e-6) / 1000; }

// Of an outside, what no hole that it is joined in covers.
double StandsOut_mm(const Machine& machine, const FeatureRef& ref, const OuterDiameter& outer) {
  double out = std::abs(outer.to_mm - outer.from_mm);
  for (const Joint& joint : machine.joints) {
    if (joint.fixed != ref && joint.moving != ref) continue;
    const Feature* mate = machine.Find(joint.fixed == ref ? joint.moving : joint.fixed);
    const auto* hole = mate == nullptr ? nullptr : std::get_if<Hole>(&mate->shape);
    const bool stays = joint.kind == JointKind::kBonded || joint.kind == JointKind::kPressFit;
    if (hole != nullptr && stays) out -= hole->depth_mm;
  }
  return out;
}

struct LookAt {
  std::string words;
  double within = 0;   // rad where the two are parallel, else mm
  double span_mm = 0;  // that the indicator runs along
};

// How one of the two stands to the other, held to `share` of what is allowed; without words where no indicator tells it.
LookAt LookOf(const Machine& machine, const Requirement& r, double share) {
  constexpr double kLeastSpan_mm = 3;  // shorter tells nothing (opinion)
  const Feature* of_a = machine.Find(r.a);
  const Feature* of_b = machine.Find(r.b);
  if (of_a == nullptr || of_b == nullptr || !r.upper) return {};
  const auto* a = std::get_if<OuterDiameter>(&of_a->shape);
  const auto* b = std::get_if<OuterDiameter>(&of_b->shape);
  if (a == nullptr || b == nullptr) return {};
  const bool a_longer = std::abs(a->to_mm - a->from_mm) > std::abs(b->to_mm - b->from_mm);
  const std::string lying = Words((a_longer ? r.a : r.b).part.text());
  const std::string read = Words((a_longer ? r.b : r.a).part.text());
  switch (r.kind) {
    case RequirementKind::kParallel: {
      const double out_mm = StandsOut_mm(machine, a_longer ? r.b : r.a, a_longer ? *b : *a);
      const double span_mm = std::clamp(std::floor(out_mm - kNotReached_mm), kLeastSpan_mm, kMostSpan_mm);
      const double most_mm = Down(share * *r.upper * span_mm);
      return {fmt::format("{} lying in V-blocks on the plate, one long one or two narrow ones far apart, no strap over its top, shimmed until the indicator reads alike along it within {:.3f} mm over {:.0f} mm "
                          "or more; then the indicator run along {} on its top, and a quarter round: at most {:.3f} mm in {:.0f} mm (a dial of 0.01 mm does not tell it: one of 0.002 or finer)",
                          lying, kLevelShare * *r.upper * kLevelOver_mm, kLevelOver_mm, read, most_mm, span_mm),
              most_mm / span_mm, span_mm};
    }
    case RequirementKind::kInLine:
    case RequirementKind::kRunOut:
      return {fmt::format("{} turned in V-blocks, the indicator on {}: at most {:.3f} mm on a full turn", lying, read,
                          Down((r.kind == RequirementKind::kInLine ? 2 : 1) * *r.upper))};
    default:
      return {};
  }
}

// On how it is read.
struct LookWords {
  const char* before;
  const char* after;
};

// What is parallel is `set` where the step still can: the odds count on that.
std::vector<Step> Looks(const Machine& machine, const Shop& shop, const std::vector<PartId>& parts, const LookWords& words, bool set) {
  const auto here = [&](const PartId& part) { return std::find(parts.begin(), parts.end(), part) != parts.end(); };
  std::vector<Step> steps;
  for (const Requirement& r : machine.requirements) {
    if (r.a.part == r.b.part || !here(r.a.part) || !here(r.b.part)) continue;
    const bool settles = set && r.kind == RequirementKind::kParallel && HasIndicator(shop);
    const LookAt at = LookOf(machine, r, settles ? kHeldShare : 1);
    if (at.words.empty()) continue;
    Step look;
    look.operation = Operation::kMeasure;
    look.features = {r.a, r.b};
    MeasureLine line;
    line.feature = r.a;
    line.words = fmt::format("{} look at {}: {}{}", words.before, r.name.text(), at.words, words.after);
    if (set && !settles) line.words += ". The odds do not count on it";
    look.measure = line;
    if (settles) look.settles = Settling{r.name, at.within, at.span_mm};
    look.time_min = (set ? 4 : 2) * shop.times.measure;
    steps.push_back(look);
  }
  return steps;
}

}  // namespace

std::vector<Step> LooksWhileWet(const Machine& machine, const Shop& shop, const std::vector<PartId>& parts) {
  return Looks(machine, shop, parts,
               {"At once, while it can still be moved,", ". Nudge it there, wedge it so that it stays, and read it again when it has set: ________; where it has no play to be nudged by take it apart now, while it is wet, wipe it and try another piece: what has set so is made anew"}, true);
}

namespace {

const Joint* PinnedBy(const Machine& machine, const std::vector<FeatureRef>& drilled) {
  const auto is = [&](const FeatureRef& ref) { return std::find(drilled.begin(), drilled.end(), ref) != drilled.end(); };
  for (const Joint& joint : machine.joints) {
    if (joint.kind == JointKind::kPinned && is(joint.fixed) && is(joint.moving)) return &joint;
  }
  return nullptr;
}

}  // namespace

std::vector<Step> PinSteps(const Machine& machine, const Shop& shop, const std::vector<PartId>& parts, const std::vector<FeatureRef>& drilled) {
  constexpr double kDrive_min = 3;  // opinion
  const Part& held = *machine.FindPart(parts.front());
  std::vector<Step> looks = Looks(machine, shop, parts, {"After the blows", ". Where it is more go no further: what is pinned stays, and is made anew"}, false);
  Step step;
  step.operation = Operation::kWash;
  step.parts = {held.name};
  step.time_min = kDrive_min;
  const Joint* joint = PinnedBy(machine, drilled);
  const BoughtPart* bought = joint == nullptr ? nullptr : machine.FindBought(PartId(joint->name.text()));
  if (bought != nullptr) step.parts.push_back(bought->part.name);
  step.words = fmt::format("On the bench: wash the hole. {} on {}, right under the hole, nothing that was joined carrying the blow; drive the {} in "
                           "flush or just under, by light taps with a drift thinner than it.",
                           held.name.text(), held.envelope == EnvelopeKind::kTurned ? "a V-block or lead" : "a block of lead or hard wood",
                           joint == nullptr ? "pin" : PinWords(machine, *joint));
  if (looks.empty()) step.words += " Then look again at what the joint is to keep.";
  step.caution = "Eye protection: a pin can split or fly.";
  std::vector<Step> steps = {step};
  steps.insert(steps.end(), looks.begin(), looks.end());
  return steps;
}

}  // namespace fitwright::planner
