#include <algorithm>
#include <numeric>

#include "fitwright/variation/odds.h"
#include "fitwright/variation/outcomes.h"

namespace fitwright::variation {
namespace {

constexpr int kMostQuickBuilds = 4096;

class QuickBuilds {
 public:
  QuickBuilds(const Analysis& analysis, const QuickOptions& options, OutcomeMemo& memo)
      : analysis_(analysis), outcomes_(analysis, memo) {
    wanted_.seed = options.seed;
    wanted_.draws = Draws::kStratified;
    wanted_.threads = 1;
    wanted_.builds = kLanes;
    while (wanted_.builds < options.builds && wanted_.builds < kMostQuickBuilds) wanted_.builds *= 2;
  }

  QuickOdds Odds() {
    AddRequirements();
    AddWorkedSizes();
    const auto n = static_cast<double>(wanted_.builds);
    quick_.remedy_min /= n;
    quick_.rework_min /= n;
    return quick_;
  }

 private:
  void AddRequirements() {
    Question every{analysis_.figures, std::vector<std::size_t>(analysis_.requirements.size())};
    std::iota(every.requirements.begin(), every.requirements.end(), std::size_t{0});
    const auto outcomes = outcomes_.Of({every}, wanted_).front();
    Bits all(static_cast<std::size_t>(wanted_.builds / kLanes), ~std::uint64_t{0});
    for (std::size_t r = 0; r < outcomes.size(); ++r) {
      const Bits& met = outcomes[r]->met;
      quick_.per_requirement.push_back(ShareOf(met));
      for (std::size_t w = 0; w < all.size(); ++w) all[w] &= met[w];
      const RequirementForms& forms = analysis_.requirements[r];
      const double remedy = RemedyMinutes(forms, ShareOf(met));
      if (remedy > 0)
        quick_.remedy_min += static_cast<double>(CountOf(FailedOf(forms, met))) * remedy;
    }
    quick_.all = ShareOf(all);
  }

  // Builds that do not meet the requirement, but those where one of its worked sizes is spoiled:
  // that part is made again already.
  Bits FailedOf(const RequirementForms& r, const Bits& met) {
    Bits failed(met.size());
    for (std::size_t w = 0; w < met.size(); ++w) failed[w] = ~met[w];
    for (const SourceIndex source : r.worked) {
      const Bits& spoiled = outcomes_.OfWorked(source, wanted_)->spoiled;
      for (std::size_t w = 0; w < failed.size(); ++w) failed[w] &= ~spoiled[w];
    }
    return failed;
  }

  void AddWorkedSizes() {
    Bits any(static_cast<std::size_t>(wanted_.builds / kLanes), 0);
    for (std::size_t s = 0; s < analysis_.sources.size(); ++s) {
      const Source& source = analysis_.sources[static_cast<SourceIndex>(s)];
      if (source.law != Law::kWorked) continue;
      const WorkedSize& size = analysis_.sources.worked()[static_cast<std::size_t>(source.worked)];
      const auto built = outcomes_.OfWorked(static_cast<SourceIndex>(s), wanted_);
      quick_.rework_min += static_cast<double>(built->recuts) * size.recut_min;
      for (std::size_t w = 0; w < any.size(); ++w) any[w] |= built->spoiled[w];
      if (size.part >= 0) {
        quick_.rework_min += static_cast<double>(CountOf(built->spoiled)) *
                             analysis_.parts[static_cast<std::size_t>(size.part)].minutes;
      }
    }
    quick_.scrap_chance = ShareOf(any);
  }

  double ShareOf(const Bits& bits) const {
    return static_cast<double>(CountOf(bits)) / static_cast<double>(wanted_.builds);
  }

  const Analysis& analysis_;
  Outcomes outcomes_;
  BuildsWanted wanted_;
  QuickOdds quick_;
};

}  // namespace

Result<QuickOdds> CalcQuickOdds(const Machine& machine, const Shop& shop, const Plan& plan,
                                const QuickOptions& options, OutcomeMemo* memo) {
  const Result<Analysis> analysis = Analyse(machine, shop, plan);
  if (!analysis) return Unexpected(analysis.error());
  OutcomeMemo own;
  return QuickBuilds(*analysis, options, memo == nullptr ? own : *memo).Odds();
}

}  // namespace fitwright::variation
