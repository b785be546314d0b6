#include "fitwright/variation/rare_odds.h"

#include <algorithm>
#include <optional>

#include "fitwright/stats/trial_margin.h"
#include "fitwright/variation/compiled_builds.h"
#include "fitwright/variation/fast_odds.h"

namespace fitwright::variation {
namespace {

constexpr std::int64_t kEvaluations = 30000;
constexpr std::size_t kMostDimensions =
    64;  // beyond, finding directions takes longer than it gains
constexpr double kLeastError = 1e-12;
// Intervals of lines hold the truth 83 to 98 in 100 of the time, the least where cells are very unequal (tests/stats/coverage_test.cc,
// docs/MEASURED.md): at twice their width they hold it over 95 there too, were their errors normal.
constexpr double kWidened = 2;

struct Miss {
  double chance = 0;
  stats::Interval interval;
};

std::optional<Miss> ByLaw(const Analysis& analysis, const RequirementForms& r, LawMemo& laws) {
  const auto one = FindOneQuantity(analysis.sources, r);
  if (!one || one->tilt) return std::nullopt;  // tilts are integrated too coarsely for tails
  const auto fast = CalcFastOdds(analysis.sources, analysis.figures, r, laws);
  if (!fast) return std::nullopt;
  const double miss = 1 - fast->odds;
  const double error = std::max(fast->error, kLeastError);
  return Miss{miss, {std::max(0.0, miss - error), std::min(1.0, miss + error)}};
}

std::optional<Miss> ByLines(const stats::TrialProgram& program, std::uint32_t outcome,
                            std::uint64_t seed) {
  if (!stats::HasMargin(program, outcome)) return std::nullopt;
  const stats::TrialMargin margin = stats::MarginOf(program, outcome);
  if (margin.dimensions == 0 || margin.dimensions > kMostDimensions) return std::nullopt;
  stats::RareOptions options;
  options.seed = seed;
  options.evaluations = kEvaluations;
  const stats::RareChance rare = stats::CalcRareChance(margin.margin, margin.dimensions, options);
  return Miss{rare.chance,
              {std::max(0.0, rare.chance - kWidened * (rare.chance - rare.interval.low)),
               std::min(1.0, rare.chance + kWidened * (rare.interval.high - rare.chance))}};
}

}  // namespace

void HandOverSeldom(const Analysis& analysis, std::uint64_t seed, Odds& odds) {
  LawMemo laws;
  std::optional<CompiledBuilds> compiled;
  for (std::size_t r = 0; r < analysis.requirements.size(); ++r) {
    Chance& chance = odds.requirements[r].chance;
    if (1 - chance.odds >= kSeldom) continue;
    std::optional<Miss> miss = ByLaw(analysis, analysis.requirements[r], laws);
    if (!miss) {
      if (!compiled) compiled = CompileBuilds(analysis, analysis.figures);
      const auto& known = compiled->requirements;
      const auto at = std::find(known.begin(), known.end(), r);
      if (at != known.end())
        miss = ByLines(compiled->program, static_cast<std::uint32_t>(at - known.begin()), seed);
    }
    if (!miss || miss->interval.high - miss->interval.low >= chance.high - chance.low) continue;
    chance.odds = 1 - miss->chance;
    chance.low = 1 - miss->interval.high;
    chance.high = 1 - miss->interval.low;
    chance.shop_low = std::min(chance.shop_low, chance.odds);
    chance.shop_high = std::max(chance.shop_high, chance.odds);
  }
}

}  // namespace fitwright::variation
