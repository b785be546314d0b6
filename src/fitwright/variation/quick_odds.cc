#include <algorithm>
#include <numeric>
#include <set>

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
    return quick_;
  }

 private:
  std::vector<std::shared_ptr<const Outcome>> EveryOutcome() {
    std::vector<std::size_t> every(analysis_.requirements.size());
    std::iota(every.begin(), every.end(), std::size_t{0});
    return outcomes_.Of(every, wanted_);
  }

  void AddRequirements() {
    const auto outcomes = EveryOutcome();
    Bits all(static_cast<std::size_t>(wanted_.builds / kLanes), ~std::uint64_t{0});
    for (std::size_t r = 0; r < outcomes.size(); ++r) {
      const Bits& met = outcomes[r]->met;
      quick_.per_requirement.push_back(ShareOf(met));
      for (std::size_t w = 0; w < all.size(); ++w) all[w] &= met[w];
      quick_.remedies_min.push_back(RemedyOf(analysis_.requirements[r], met));
      quick_.remedy_min += quick_.remedies_min.back();
    }
    quick_.all = ShareOf(all);
  }

  // Minutes a build that the requirement's remedy takes.
  double RemedyOf(const RequirementForms& r, const Bits& met) {
    const double remedy = RemedyMinutes(r, ShareOf(met));
    return remedy > 0 ? ShareOf(FailedOf(r, met)) * remedy : 0;
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

  // Minutes a build of extra cuts, and of the part made again, for a worked size.
  double ReworkOf(SourceIndex source) {
    const auto worked = static_cast<std::size_t>(analysis_.sources[source].worked);
    const WorkedSize& size = analysis_.sources.worked()[worked];
    const auto built = outcomes_.OfWorked(source, wanted_);
    const double recuts =
        static_cast<double>(built->recuts) / static_cast<double>(wanted_.builds) * size.recut_min;
    if (size.part < 0) return recuts;
    return recuts + ShareOf(built->spoiled) *
                        analysis_.parts[static_cast<std::size_t>(size.part)].minutes;
  }

  void AddWorkedSizes() {
    quick_.rework_min = analysis_.setting_min;
    Bits any(static_cast<std::size_t>(wanted_.builds / kLanes), 0);
    for (std::size_t s = 0; s < analysis_.sources.size(); ++s) {
      const auto index = static_cast<SourceIndex>(s);
      if (analysis_.sources[index].law != Law::kWorked) continue;
      quick_.rework_min += ReworkOf(index);
      const Bits& spoiled = outcomes_.OfWorked(index, wanted_)->spoiled;
      for (std::size_t w = 0; w < any.size(); ++w) any[w] |= spoiled[w];
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
                                const QuickOptions& options, OutcomeMemo* memo,
                                const KnownSetups* known) {
  const Result<Analysis> analysis = Analyse(machine, shop, plan, known);
  if (!analysis) return Unexpected(analysis.error());
  OutcomeMemo own;
  return QuickBuilds(*analysis, options, memo == nullptr ? own : *memo).Odds();
}

}  // namespace fitwright::variation
