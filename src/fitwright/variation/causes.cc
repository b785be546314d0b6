#include "fitwright/variation/causes.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <set>
#include <string>

#include "fitwright/variation/draws.h"
#include "fitwright/variation/met_counts.h"

namespace fitwright::variation {
namespace {

constexpr double kSmallestShare = 0.005;
// Variances below this are rounding of forms that cancel (1e-9 mm or rad).
constexpr double kNothing = 1e-18;

using Weights = std::map<std::string_view, double>;

// The spread id that names a group for the reader.
SpreadId SpreadOfGroup(std::string_view group) {
  for (std::size_t i = 0; i < kSpreadCount; ++i) {
    if (GroupOf(static_cast<SpreadId>(i)) == group) return static_cast<SpreadId>(i);
  }
  return SpreadId::kJointPlay;
}

bool ReadsPlay(const Analysis& analysis, const Form& form) {
  return std::any_of(form.terms.begin(), form.terms.end(),
                     [&](const Term& t) { return analysis.sources[t.source].law == Law::kPlay; });
}

bool IsPlainLinear(const Analysis& analysis, const RequirementForms& r) {
  if (r.test != TestKind::kLinear && r.test != TestKind::kClearance &&
      r.test != TestKind::kFormula) {
    return false;
  }
  if (!r.vectors.empty()) return false;
  return !r.linear.empty() && std::none_of(r.linear.begin(), r.linear.end(),
                                           [&](const Form& f) { return ReadsPlay(analysis, f); });
}

double MeanOf(const Analysis& analysis, const Form& form) {
  double mean = form.constant;
  for (const Term& t : form.terms)
    mean += t.factor * MomentsOf(analysis.sources, t.source, analysis.figures).mean;
  return mean;
}

// The formula's value near the means of its names, as a form; nothing where it has no value there.
std::vector<Form> Tangent(const Analysis& analysis, const RequirementForms& r) {
  constexpr double kStep = 1e-5;
  std::vector<double> at;
  for (const Form& form : r.linear) at.push_back(MeanOf(analysis, form));
  FormSum sum;
  for (std::size_t i = 0; i < at.size(); ++i) {
    const double step = kStep * std::max(1.0, std::abs(at[i]));
    std::vector<double> up = at;
    std::vector<double> down = at;
    up[i] += step;
    down[i] -= step;
    const Result<double> high = r.formula->Evaluate(up);
    const Result<double> low = r.formula->Evaluate(down);
    if (!high || !low) return {};
    sum.Add(r.linear[i], (*high - *low) / (2 * step));
  }
  return {sum.Take()};
}

Weights LinearWeights(const Analysis& analysis, const RequirementForms& r) {
  Weights weights;
  for (const Form& form :
       r.test == TestKind::kFormula ? Tangent(analysis, r) : std::vector<Form>(r.linear)) {
    std::map<std::string_view, double> shift;
    for (const Term& t : form.terms) {
      const Moments m = MomentsOf(analysis.sources, t.source, analysis.figures);
      const std::string_view group = GroupOf(analysis.sources[t.source]);
      weights[group] += t.factor * t.factor * m.variance;
      shift[group] += t.factor * m.mean;
    }
    for (const auto& [group, mean] : shift) weights[group] += mean * mean;
  }
  return weights;
}

std::vector<CauseShare> Listed(const Shop& shop, const Weights& weights, std::size_t most) {
  double total = 0;
  for (const auto& [group, w] : weights) total += w;
  std::vector<CauseShare> shares;
  if (total > kNothing) {
    for (const auto& [group, w] : weights) {
      if (w / total < kSmallestShare) continue;
      shares.push_back({WordsOfSpread(shop, SpreadOfGroup(group)), std::string(group), w / total});
    }
  }
  std::stable_sort(shares.begin(), shares.end(), [](const CauseShare& a, const CauseShare& b) {
    return a.share != b.share ? a.share > b.share : a.group < b.group;
  });
  if (shares.size() > most) shares.resize(most);
  double named = 0;
  for (const CauseShare& s : shares) named += s.share;
  shares.push_back({"rest", "rest", std::max(0.0, 1 - named)});
  return shares;
}

// Groups of the sources that a requirement reads, however far back.
std::set<std::string_view> GroupsOf(const Analysis& analysis, std::size_t requirement) {
  std::set<std::string_view> groups;
  const SourceTable& sources = analysis.sources;
  const Wanted wanted = WantedOf(analysis, {requirement});
  for (std::size_t s = 0; s < sources.size(); ++s) {
    if (wanted.sources[s] == 0) continue;
    const Source& source = sources[static_cast<SourceIndex>(s)];
    groups.insert(GroupOf(source));
    if (source.law == Law::kWorked)
      groups.insert(GroupOf(sources.worked()[static_cast<std::size_t>(source.worked)].reading));
  }
  return groups;
}

Figures Silenced(Figures figures, std::string_view group) {
  for (std::size_t i = 0; i < kSpreadCount; ++i) {
    if (GroupOf(static_cast<SpreadId>(i)) == group &&
        static_cast<SpreadId>(i) != SpreadId::kThreadPlay)
      figures[i].spread = 0;
  }
  return figures;
}

// How many more builds meet the requirement when a group's spread is taken away. False: cancelled.
bool AddSampled(const Analysis& analysis, const std::vector<std::size_t>& sampled,
                const CauseOptions& options, std::vector<Weights>& weights) {
  std::map<std::string_view, std::vector<std::size_t>> read_by;  // places in `sampled`
  for (std::size_t i = 0; i < sampled.size(); ++i) {
    for (const std::string_view group : GroupsOf(analysis, sampled[i])) read_by[group].push_back(i);
  }
  const BuildCompiler compiler(analysis, sampled);
  MetWanted wanted;
  wanted.builds = options.builds;
  wanted.seed = options.seed;
  wanted.threads = options.threads;
  wanted.cancel = options.cancel;
  const std::optional<MetCounts> plain = CountMet(compiler, analysis.figures, wanted);
  if (!plain) return false;
  for (const auto& [group, requirements] : read_by) {
    wanted.only = requirements;
    const auto counts = CountMet(compiler, Silenced(analysis.figures, group), wanted);
    if (!counts) return false;
    for (const std::size_t i : requirements) {
      weights[sampled[i]][group] =
          static_cast<double>(std::max<std::int64_t>(0, counts->met[i] - plain->met[i]));
    }
  }
  return true;
}

}  // namespace

std::vector<std::vector<CauseShare>> CalcCauses(const Shop& shop, const Analysis& analysis,
                                                const CauseOptions& options) {
  std::vector<Weights> weights(analysis.requirements.size());
  std::vector<std::size_t> sampled;
  for (std::size_t r = 0; r < weights.size(); ++r) {
    if (IsPlainLinear(analysis, analysis.requirements[r])) {
      weights[r] = LinearWeights(analysis, analysis.requirements[r]);
    } else {
      sampled.push_back(r);
    }
  }
  if (!sampled.empty() && !AddSampled(analysis, sampled, options, weights)) return {};
  std::vector<std::vector<CauseShare>> causes;
  for (const Weights& w : weights) causes.push_back(Listed(shop, w, options.most));
  return causes;
}

}  // namespace fitwright::variation
