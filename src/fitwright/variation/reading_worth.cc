#include "fitwright/variation/reading_worth.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>

#include "fitwright/variation/fast_odds.h"

namespace fitwright::variation {
namespace {

constexpr double kMinutesInHour = 60;

// The feature's own finishing step, where it is worked to a size of its own.
const Step* WorkedTo(const Plan& plan, const FeatureRef& ref) {
  const Step* found = nullptr;
  for (const Setup& setup : plan.setups) {
    for (const Step& step : setup.steps) {
      if (!step.features.empty() && step.features.front() == ref && step.finishes) found = &step;
    }
  }
  const bool own = found != nullptr && !(found->aim && found->aim->kind == AimKind::kFitToMeasured);
  return own ? found : nullptr;
}

// The requirement's two features, of a joint or as named.
std::optional<std::pair<FeatureRef, FeatureRef>> EndsOf(const Machine& machine,
                                                        const RequirementId& name) {
  for (const Requirement& r : machine.requirements) {
    if (r.name != name) continue;
    if (!r.a.part.empty() && !r.b.part.empty()) return std::pair(r.a, r.b);
    for (const Joint& joint : machine.joints) {
      if (r.joint == joint.name) return std::pair(joint.fixed, joint.moving);
    }
  }
  return std::nullopt;
}

// The form without what one cut made of the size: that is known once it is read.
std::optional<Form> WithoutCut(const SourceTable& sources, const Form& form, const Form& size,
                               double& factor) {
  for (const Term& t : size.terms) {
    if (sources[t.source].law != Law::kWorked || FactorOf(form, t.source) == 0) continue;
    factor = FactorOf(form, t.source);
    return Plus(form, FormOf(t.source), -factor);
  }
  return std::nullopt;
}

class Worth {
 public:
  explicit Worth(const Analysis& analysis) : analysis_(analysis) {}

  struct Odds {
    double before = 0;
    double after = 0;
  };
  // Of the sizes alone, as they are worked, and when `read` is known but for its reading and its
  // mate is aimed at the middle.
  std::optional<Odds> Of(const RequirementForms& r, const FeatureRef& read) {
    const auto forms = analysis_.features.find(read);
    if (forms == analysis_.features.end() || r.linear.empty()) return std::nullopt;
    double factor = 0;
    const Form& size = r.linear.front();
    const auto left = WithoutCut(analysis_.sources, size, forms->second.size, factor);
    if (!left) return std::nullopt;
    auto known = LawOf(analysis_.sources, *left, analysis_.figures, laws_);
    const auto as_worked = LawOf(analysis_.sources, size, analysis_.figures, laws_);
    if (!known || !as_worked || r.lower < -kUnlimited || r.upper > kUnlimited) return std::nullopt;
    known->AddNormal(0, factor * analysis_.figures[Place(SpreadId::kMicrometer)].spread);
    known->AddFixed(0.5 * (r.lower + r.upper) - known->mean());
    return Odds{as_worked->Within(r.lower, r.upper).chance, known->Within(r.lower, r.upper).chance};
  }

 private:
  const Analysis& analysis_;
  LawMemo laws_;
};

}  // namespace

std::vector<ReadingWorth> FindReadings(const Project& project, const Analysis& analysis,
                                       const std::vector<double>& odds, std::size_t most) {
  Worth worth(analysis);
  std::vector<ReadingWorth> found;
  for (std::size_t i = 0; i < analysis.requirements.size(); ++i) {
    const RequirementForms& r = analysis.requirements[i];
    const auto ends = EndsOf(project.machine, r.name);
    if (!ends || odds[i] >= 1) continue;
    for (const auto& [read, suited] :
         {std::pair(ends->first, ends->second), {ends->second, ends->first}}) {
      if (WorkedTo(project.plan, read) == nullptr || WorkedTo(project.plan, suited) == nullptr)
        continue;
      const auto one = worth.Of(r, read);
      if (!one) continue;
      const double minutes = (1 - one->before) * RemedyMinutes(r, odds[i]) -
                             (1 - one->after) * RemedyMinutes(r, odds[i]) -
                             project.shop.times.measure;
      if (minutes > 0)
        found.push_back({r.name, read, suited, one->before, one->after, minutes / kMinutesInHour});
    }
  }
  std::stable_sort(found.begin(), found.end(), [](const ReadingWorth& a, const ReadingWorth& b) {
    return a.hours_saved > b.hours_saved;
  });
  std::set<std::string> seen;  // of the two ways round the better
  std::erase_if(found,
                [&](const ReadingWorth& w) { return !seen.insert(w.requirement.text()).second; });
  if (found.size() > most) found.resize(most);
  return found;
}

}  // namespace fitwright::variation
