#include "fitwright/variation/rare_odds.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/stats/trial_margin.h"
#include "fitwright/variation/compiled_builds.h"
#include "fitwright/variation/fast_odds.h"

namespace fitwright::variation {
namespace {

constexpr std::int64_t kEvaluations = 30000;
constexpr std::size_t kMostDimensions = 256;  // beyond, few points say too little of directions
constexpr double kLeastError = 1e-12;

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

// By draws where it fails; nothing where those cannot be trusted or builds were counted that speak
// against them.
std::optional<Miss> ByDraws(const stats::TrialProgram& program, std::uint32_t outcome,
                            const Odds& odds, const Chance& counted) {
  if (!stats::HasMargin(program, outcome)) return std::nullopt;
  const stats::TrialMargin margin = stats::MarginOf(program, outcome);
  if (margin.dimensions == 0 || margin.dimensions > kMostDimensions) return std::nullopt;
  stats::RareOptions options;
  options.seed = odds.seed;
  options.evaluations = kEvaluations;
  const stats::RareChance rare = stats::CalcRareChance(margin.margin, margin.dimensions, options);
  const std::int64_t missed =
      odds.builds - std::llround(counted.odds * static_cast<double>(odds.builds));
  if (!rare.trusted || !stats::Agrees(rare.interval, missed, odds.builds)) return std::nullopt;
  return Miss{rare.chance, rare.interval};
}

}  // namespace

void HandOverSeldom(const Analysis& analysis, Odds& odds) {
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
        miss = ByDraws(compiled->program, static_cast<std::uint32_t>(at - known.begin()), odds,
                       chance);
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
