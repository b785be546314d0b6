#include "fitwright/planner/sums_before.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/model/measured_between.h"
#include "fitwright/planner/process_common.h"

namespace fitwright::planner {
namespace {

constexpr int kFewest = 3;  // made distances: of fewer each is held to its own share

// Shut in by a trial that came before: neither measured nor miked any more.
bool IsShutIn(const Plan& plan, const DistanceTerm& term) {
  if (!StepMeasuring(plan, term.from, term.to).empty()) return false;
  return std::any_of(plan.setups.begin(), plan.setups.end(), [&](const Setup& setup) {
    const bool trial = std::any_of(setup.steps.begin(), setup.steps.end(), [](const Step& s) { return s.operation == Operation::kTrial; });
    return trial && std::any_of(setup.steps.begin(), setup.steps.end(), [&](const Step& s) { return std::find(s.parts.begin(), s.parts.end(), term.from.part) != s.parts.end(); });
  });
}

std::string TermWords(const Plan& plan, const DistanceTerm& term, double drawn_mm, bool first) {
  const std::string at = StepMeasuring(plan, term.from, term.to);
  const std::string measured = term.given ? "as bought, miked" : at.empty() ? "measured now" : "as made at step " + at;
  return fmt::format("{}{}, {} to {}, {:.3f} mm drawn, {} ________", first && drawn_mm > 0 ? "" : drawn_mm > 0 ? "and " : "less ", NameWords(FeatureId(term.from.part.text())),
                     NameWords(term.from.feature), NameWords(term.to.feature), std::abs(drawn_mm), measured);
}

// The part that a gasketed face of its own lets be made thicker or thinner.
const DistanceTerm* GasketIn(const Machine& machine, const std::vector<DistanceTerm>& terms) {
  const auto is_gasket = [&](const DistanceTerm& term) {
    return std::all_of(machine.joints.begin(), machine.joints.end(),
                       [&](const Joint& j) { return (j.fixed.part != term.from.part && j.moving.part != term.from.part) || j.kind == JointKind::kGasketedFace; }) &&
           std::any_of(machine.joints.begin(), machine.joints.end(), [&](const Joint& j) { return j.fixed.part == term.from.part || j.moving.part == term.from.part; });
  };
  const auto found = std::find_if(terms.begin(), terms.end(), is_gasket);
  return found == terms.end() ? nullptr : &*found;
}

std::string LimitsOf(const Requirement& r, double sign) {
  const double a = sign * (sign > 0 ? r.lower.value_or(0) : r.upper.value_or(0));
  const double b = sign * (sign > 0 ? r.upper.value_or(0) : r.lower.value_or(0));
  if (r.lower && r.upper) return fmt::format("{:.3f} mm to {:.3f} mm will do", a, b);
  const bool at_most = r.upper.has_value() == (sign > 0);
  return fmt::format("{} {:.3f} mm will do", at_most ? "at most" : "at least", sign * r.upper.value_or(r.lower.value_or(0)));
}

Step SumStep(const Machine& machine, const Shop& shop, const Plan& plan, const Requirement& r, const std::vector<DistanceTerm>& terms) {
  double drawn = 0;
  for (const DistanceTerm& term : terms) drawn += term.drawn_mm;
  const double sign = drawn < 0 ? -1 : 1;
  std::vector<DistanceTerm> sorted = terms;  // what counts towards it first
  std::stable_partition(sorted.begin(), sorted.end(), [&](const DistanceTerm& t) { return sign * t.drawn_mm > 0; });
  std::string sum;
  for (const DistanceTerm& term : sorted) sum += (sum.empty() ? "" : "; ") + TermWords(plan, term, sign * term.drawn_mm, sum.empty());
  std::string out = "what can be cut again is cut, the one that is furthest off first; else that one is made again";
  if (const DistanceTerm* gasket = GasketIn(machine, terms))
    out = fmt::format("{} of sheet that is as much thicker or thinner puts it right, as far as such is sold; else {}", NameWords(FeatureId(gasket->from.part.text())), out);
  Step step;
  step.operation = Operation::kMeasure;
  step.words = fmt::format("Before anything goes together add up what {} comes to, {}: {}. Together {:.3f} mm drawn, ________ as measured; {}. Where it does not: {}.", r.name.text(), r.words, sum,
                           sign * drawn, LimitsOf(r, sign), out);
  step.time_min = shop.times.measure;
  return step;
}

}  // namespace

std::vector<Step> SumsBefore(const Machine& machine, const Shop& shop, const Settled& settled, const Plan& plan) {
  std::vector<Step> steps;
  for (const Requirement& r : machine.requirements) {
    if (r.derived || r.words.empty() || std::find(settled.begin(), settled.end(), r.name) != settled.end()) continue;
    const std::vector<DistanceTerm> terms = TermsOfDistance(machine, r);
    if (std::count_if(terms.begin(), terms.end(), [](const DistanceTerm& t) { return !t.given; }) < kFewest) continue;
    if (std::any_of(terms.begin(), terms.end(), [&](const DistanceTerm& t) { return IsShutIn(plan, t); })) continue;
    steps.push_back(SumStep(machine, shop, plan, r, terms));
  }
  return steps;
}

}  // namespace fitwright::planner
