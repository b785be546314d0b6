#include "fitwright/variation/odds.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/base/hash.h"
#include "fitwright/base/parallel.h"
#include "fitwright/stats/intervals.h"
#include "fitwright/variation/causes.h"
#include "fitwright/variation/compiled_builds.h"
#include "fitwright/variation/met_counts.h"
#include "fitwright/variation/outcomes.h"
#include "fitwright/variation/rare_odds.h"

namespace fitwright::variation {
namespace {

constexpr std::int64_t kLeastBuilds = 100;
constexpr std::int64_t kMostBuilds = 100'000'000;
// Virtual shops, and the builds each is judged on. The spread among shops is widened by sampling:
// at 1024 builds by at most 1.6 points, which the band leaves in.
constexpr std::uint64_t kShops = 96;
constexpr std::int64_t kBuildsPerShop = 1024;
constexpr std::int64_t kBuildsForExcess = 1024;
constexpr std::int64_t kBuildsForValues = 1 << 14;

Error Stopped() {
  return {ErrorCode::kStopped, "stopped before the odds were known", {}, "run it again", {}};
}

Chance ChanceOf(std::int64_t good, std::int64_t builds) {
  const stats::Interval i = stats::CountedInterval(good, builds);
  Chance chance;
  chance.odds = static_cast<double>(good) / static_cast<double>(builds);
  chance.low = i.low;
  chance.high = i.high;
  chance.shop_low = chance.odds;
  chance.shop_high = chance.odds;
  return chance;
}

void SetMoments(double sum, double squares, std::int64_t builds, double origin,
                RequirementOdds& one) {
  const auto n = static_cast<double>(builds);
  const double mean = sum / n;
  one.mean = origin + mean;
  one.sigma = std::sqrt(std::max(0.0, squares / n - mean * mean));
}

std::string LimitWords(const RequirementForms& r) {
  const bool has_low = r.lower > -kUnlimited;
  const bool has_high = r.upper < kUnlimited;
  const bool angle = r.kind == RequirementKind::kSquare || r.kind == RequirementKind::kParallel ||
                     r.kind == RequirementKind::kAngle;
  const double unit = angle ? 1000 : 1;
  const std::string_view name = angle                                 ? "mrad"
                                : r.kind == RequirementKind::kFormula ? std::string_view(r.unit)
                                                                      : "mm";
  if (r.kind == RequirementKind::kScrewsEnter)
    return r.unit == "pin" ? "every pin goes in" : "every screw enters";
  if (has_low && has_high && r.lower == -r.upper)
    return fmt::format("within {:g} {}", r.upper * unit, name);
  if (has_low && has_high)
    return fmt::format("{:g} to {:g} {}", r.lower * unit, r.upper * unit, name);
  if (has_high) return fmt::format("at most {:g} {}", r.upper * unit, name);
  if (has_low) return fmt::format("at least {:g} {}", r.lower * unit, name);
  return "no limits";
}

MetWanted MetWantedOf(const OddsOptions& options, std::int64_t builds) {
  MetWanted wanted;
  wanted.builds = builds;
  wanted.seed = options.seed;
  wanted.threads = options.threads;
  wanted.cancel = options.cancel;
  return wanted;
}

// The band of what is not known of the shop: 2.5 and 97.5 in 100 of the virtual shops, each on the
// same random numbers. False when cancelled.
bool AddShopBand(const Shop& shop, const BuildCompiler& compiler, const OddsOptions& options,
                 Odds& odds) {
  const std::size_t count = odds.requirements.size();
  const std::uint64_t stream = MixKeys(options.seed, StableHash("virtual shops"));
  MetWanted wanted = MetWantedOf(options, std::min(options.builds, kBuildsPerShop));
  wanted.threads = 1;
  std::vector<std::optional<MetCounts>> shops(kShops);
  ParallelFor(kShops, options.threads, [&](std::size_t s) {
    shops[s] = CountMet(compiler, DrawnFigures(shop, stream, s), wanted);
  });
  std::vector<std::vector<double>> seen(count + 1);
  for (const auto& one : shops) {
    if (!one) return false;
    const auto share = [&](std::int64_t good) {
      return static_cast<double>(good) / static_cast<double>(one->builds);
    };
    for (std::size_t r = 0; r < count; ++r) seen[r].push_back(share(one->met[r]));
    seen[count].push_back(share(one->all));
  }
  for (std::size_t r = 0; r <= count; ++r) {
    std::sort(seen[r].begin(), seen[r].end());
    Chance& chance = r < count ? odds.requirements[r].chance : odds.all;
    chance.shop_low = std::min(chance.odds, stats::QuantileOfSorted(seen[r], 0.025));
    chance.shop_high = std::max(chance.odds, stats::QuantileOfSorted(seen[r], 0.975));
  }
  return true;
}

// Mean and sigma of what is measured: of screws, whose values are dear, from fewer builds, kept in
// `memo`. False when cancelled.
bool AddMoments(const BuildCompiler& compiler, const OddsOptions& options, OutcomeMemo& memo,
                std::vector<RequirementOdds>& requirements) {
  const Analysis& analysis = compiler.analysis();
  std::vector<std::size_t> screws;
  std::vector<bool> others;
  for (std::size_t r = 0; r < analysis.requirements.size(); ++r) {
    others.push_back(analysis.requirements[r].test != TestKind::kScrews);
    if (!others.back()) screws.push_back(r);
  }
  BuildsWanted wanted;
  wanted.builds = std::min(options.builds, kBuildsForExcess);
  wanted.seed = options.seed;
  wanted.threads = options.threads;
  wanted.cancel = options.cancel;
  wanted.values = true;
  const auto answers = Outcomes(analysis, memo).Of(screws, wanted);
  if (answers.size() != screws.size()) return false;
  for (std::size_t i = 0; i < screws.size(); ++i)
    SetMoments(answers[i]->sum, answers[i]->squares, wanted.builds,
               OriginOf(analysis.requirements[screws[i]]), requirements[screws[i]]);
  stats::TrialRun run;
  run.seed = options.seed;
  run.threads = options.threads;
  run.cancel = options.cancel;
  run.trials = std::max<std::int64_t>(kLanes, std::min(options.builds, kBuildsForValues) / kLanes * kLanes);
  const CompiledBuilds compiled = compiler.At(analysis.figures);
  const auto values = MeasuredValues(analysis, compiled, analysis.figures, run, others);
  if (values.empty() && !others.empty()) return false;
  for (std::size_t r = 0; r < others.size(); ++r) {
    if (!others[r]) continue;
    const double origin = OriginOf(analysis.requirements[r]);
    double sum = 0;
    double squares = 0;
    for (std::int64_t i = 0; i < run.trials; ++i) {
      const double v =
          values[r * static_cast<std::size_t>(run.trials) + static_cast<std::size_t>(i)] - origin;
      sum += v;
      squares += v * v;
    }
    SetMoments(sum, squares, run.trials, origin, requirements[r]);
  }
  return true;
}

Odds OddsOf(const Analysis& analysis, const MetCounts& counted, const OddsOptions& options) {
  Odds odds;
  odds.builds = options.builds;
  odds.seed = options.seed;
  odds.all = ChanceOf(counted.all, options.builds);
  odds.blunders_expected = analysis.blunders_expected;
  odds.assumed = analysis.assumed;
  for (std::size_t r = 0; r < analysis.requirements.size(); ++r) {
    const RequirementForms& forms = analysis.requirements[r];
    RequirementOdds one;
    one.name = forms.name;
    one.kind = forms.kind;
    one.limits = LimitWords(forms);
    one.chance = ChanceOf(counted.met[r], options.builds);
    odds.requirements.push_back(std::move(one));
  }
  return odds;
}

}  // namespace

Result<Odds> CalcOdds(const Machine& machine, const Shop& shop, const Plan& plan,
                      const OddsOptions& options, OutcomeMemo* memo) {
  const Result<Analysis> analysis = Analyse(machine, shop, plan);
  if (!analysis) return Unexpected(analysis.error());
  return CalcOddsOf(*analysis, shop, options, memo);
}

Result<Odds> CalcOddsOf(const Analysis& analysis, const Shop& shop, const OddsOptions& options,
                        OutcomeMemo* memo) {
  if (options.builds < kLeastBuilds || options.builds > kMostBuilds) {
    return Unexpected(Error{ErrorCode::kOutOfRange,
                            fmt::format("{} builds are not between {} and {}", options.builds,
                                        kLeastBuilds, kMostBuilds),
                            std::to_string(options.builds),
                            "20000 is usual",
                            {}});
  }
  OutcomeMemo own;
  OutcomeMemo& kept = memo == nullptr ? own : *memo;
  const BuildCompiler compiler(analysis);
  const std::optional<MetCounts> counted = CountMet(compiler, analysis.figures, MetWantedOf(options, options.builds));
  if (!counted) return Unexpected(Stopped());
  Odds odds = OddsOf(analysis, *counted, options);
  if (options.values && !AddMoments(compiler, options, kept, odds.requirements)) return Unexpected(Stopped());
  if (options.seldom) HandOverSeldom(analysis, odds);
  if (options.shop_band && !AddShopBand(shop, compiler, options, odds))
    return Unexpected(Stopped());
  if (options.causes) {
    CauseOptions causes;
    causes.seed = options.seed;
    causes.threads = options.threads;
    causes.cancel = options.cancel;
    causes.builds = std::min(options.builds, causes.builds);
    auto lists = CalcCauses(shop, analysis, causes);
    if (options.cancel != nullptr && options.cancel->cancelled()) return Unexpected(Stopped());
    for (std::size_t r = 0; r < lists.size(); ++r)
      odds.requirements[r].causes = std::move(lists[r]);
  }
  return odds;
}

}  // namespace fitwright::variation
