#include "fitwright/rework/standing_odds.h"

#include <algorithm>
#include <cmath>

#include "fitwright/rework/standing_project.h"
#include "fitwright/rework/weighed_builds.h"
#include "fitwright/stats/intervals.h"

namespace fitwright::rework {
namespace {

// The plan's errors, and what the readings say of them.
Result<PlanKnown> Know(const Standing& standing) {
  auto analysis = variation::Analyse(*standing.machine, *standing.shop, *standing.plan);
  if (!analysis) return Unexpected(analysis.error());
  const Observed observed =
      Observe(*standing.machine, *standing.shop, *standing.plan, standing.readings, *analysis);
  Conditioning given(*analysis, observed);
  return PlanKnown{*std::move(analysis), std::move(given)};
}

WeighedBuilds Build(const PlanKnown& known, std::int64_t builds, std::uint64_t seed) {
  BuildsAsked asked;
  asked.requirements = EveryPlace(known.analysis);
  asked.builds = builds;
  asked.seed = seed;
  return BuildGiven(known.analysis, known.given, asked);
}

// Chances of builds that do not count alike, in the place of those that were counted evenly.
void Weigh(const WeighedBuilds& built, const std::vector<std::uint8_t>& good, Chance& chance) {
  const auto trials = static_cast<std::int64_t>(std::max(1.0, built.effective));
  chance.odds = built.Chance(good);
  const auto met = static_cast<std::int64_t>(std::llround(chance.odds * static_cast<double>(trials)));
  const stats::Interval interval = stats::WilsonInterval(std::min(met, trials), trials);
  chance.low = interval.low;
  chance.high = interval.high;
  chance.shop_low = std::min(chance.shop_low, chance.odds);
  chance.shop_high = std::max(chance.shop_high, chance.odds);
}

}  // namespace

std::vector<std::uint8_t> AllMet(const WeighedBuilds& built) {
  std::vector<std::uint8_t> all(built.builds, 1);
  for (const auto& met : built.met) {
    for (std::size_t b = 0; b < all.size(); ++b) all[b] &= met[b];
  }
  return all;
}

Result<StandingOdds> CalcStandingOdds(const Standing& standing, std::int64_t builds,
                                      std::uint64_t seed) {
  const auto known = Know(standing);
  if (!known) return Unexpected(known.error());
  variation::QuickOptions quick;
  quick.builds = static_cast<int>(std::min<std::int64_t>(builds, 512));
  quick.seed = seed;
  const auto planned =
      variation::CalcQuickOdds(*standing.machine, *standing.shop, *standing.plan, quick);
  if (!planned) return Unexpected(planned.error());
  const WeighedBuilds built = Build(*known, builds, seed);
  StandingOdds odds;
  odds.all = built.Chance(AllMet(built));
  odds.rework_min = planned->rework_min;
  odds.effective_builds = built.effective;
  for (std::size_t r = 0; r < built.met.size(); ++r) {
    const double met = built.Chance(built.met[r]);
    odds.per_requirement.push_back(met);
    odds.remedies_min.push_back((1 - met) *
                                variation::RemedyMinutes(known->analysis.requirements[r], met));
  }
  return odds;
}

namespace {

Result<Odds> CalcOddsOfKnown(const Result<PlanKnown>& known, const Shop& shop,
                             const variation::OddsOptions& options) {
  if (!known) return Unexpected(known.error());
  const variation::Analysis now = known->given.Given(known->analysis, EveryPlace(known->analysis));
  Result<Odds> odds = variation::CalcOddsOf(now, shop, options);
  if (!odds || known->given.misses().empty()) return odds;
  const WeighedBuilds built = Build(*known, options.builds, options.seed);
  Weigh(built, AllMet(built), odds->all);
  for (std::size_t r = 0; r < built.met.size(); ++r)
    Weigh(built, built.met[r], odds->requirements[r].chance);
  return odds;
}

}  // namespace

Result<Odds> CalcOddsGiven(const Standing& standing, const variation::OddsOptions& options) {
  return CalcOddsOfKnown(Know(standing), *standing.shop, options);
}

Result<Odds> CalcOddsGiven(const variation::Project& project, const Standing& standing,
                           const variation::OddsOptions& options) {
  return CalcOddsOfKnown(KnowPlan(project, standing), project.shop, options);
}

}  // namespace fitwright::rework
