#include "fitwright/variation/odds.h"

#include <algorithm>
#include <cmath>

#include "fitwright/base/hash.h"
#include "fitwright/stats/intervals.h"
#include "fitwright/variation/causes.h"
#include "fitwright/variation/tally.h"

namespace fitwright::variation {
namespace {

constexpr std::int64_t kLeastBuilds = 100;
constexpr std::int64_t kMostBuilds = 100'000'000;
// Virtual shops, and the builds each is judged on. The spread among shops is widened by sampling:
// at 1024 builds by at most 1.6 points, which the band leaves in.
constexpr std::uint64_t kShops = 96;
constexpr std::int64_t kBuildsPerShop = 1024;
constexpr std::int64_t kBuildsForValues = 1024;

Error Stopped() {
  return {ErrorCode::kStopped, "stopped before the odds were known", {}, "run it again", {}};
}

Chance ChanceOf(std::int64_t good, std::int64_t builds) {
  const stats::Interval i = stats::WilsonInterval(good, builds);
  Chance chance;
  chance.odds = static_cast<double>(good) / static_cast<double>(builds);
  chance.low = i.low;
  chance.high = i.high;
  chance.shop_low = chance.odds;
  chance.shop_high = chance.odds;
  return chance;
}

std::string LimitWords(const RequirementForms& r) {
  const bool has_low = r.lower > -1e299;
  const bool has_high = r.upper < 1e299;
  const bool angle = r.kind == RequirementKind::kSquare || r.kind == RequirementKind::kParallel ||
                     r.kind == RequirementKind::kAngle;
  const double unit = angle ? 1000 : 1;
  const std::string_view name = angle                                 ? "mrad"
                                : r.kind == RequirementKind::kFormula ? std::string_view(r.unit)
                                                                      : "mm";
  if (r.kind == RequirementKind::kScrewsEnter) return "every screw enters";
  if (has_low && has_high && r.lower == -r.upper)
    return fmt::format("within {:g} {}", r.upper * unit, name);
  if (has_low && has_high)
    return fmt::format("{:g} to {:g} {}", r.lower * unit, r.upper * unit, name);
  if (has_high) return fmt::format("at most {:g} {}", r.upper * unit, name);
  if (has_low) return fmt::format("at least {:g} {}", r.lower * unit, name);
  return "no limits";
}

// The band of what is not known of the shop: 2.5 and 97.5 in 100 of the virtual shops.
bool AddShopBand(const Shop& shop, const BuildRunner& runner, const OddsOptions& options,
                 Odds& odds) {
  const std::size_t count = odds.requirements.size();
  std::vector<std::vector<double>> seen(count + 1);
  TallyOptions tally;
  tally.builds = std::min(options.builds, kBuildsPerShop);
  tally.seed = options.seed;
  tally.threads = options.threads;
  tally.cancel = options.cancel;
  const std::uint64_t stream = MixKeys(options.seed, StableHash("virtual shops"));
  std::vector<Figures> shops;
  for (std::uint64_t s = 0; s < kShops; ++s) shops.push_back(DrawnFigures(shop, stream, s));
  for (const Tally& one : CountBuilds(runner, shops, tally)) {
    if (one.stopped) return false;
    const auto share = [&](std::int64_t good) {
      return static_cast<double>(good) / static_cast<double>(tally.builds);
    };
    for (std::size_t r = 0; r < count; ++r) seen[r].push_back(share(one.met[r]));
    seen[count].push_back(share(one.all));
  }
  for (std::size_t r = 0; r <= count; ++r) {
    std::sort(seen[r].begin(), seen[r].end());
    Chance& chance = r < count ? odds.requirements[r].chance : odds.all;
    chance.shop_low = std::min(chance.odds, stats::QuantileOfSorted(seen[r], 0.025));
    chance.shop_high = std::max(chance.odds, stats::QuantileOfSorted(seen[r], 0.975));
  }
  return true;
}

Odds OddsOf(const Analysis& analysis, const Tally& counted, const Tally& valued,
            const OddsOptions& options) {
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
    const bool screws = forms.test == TestKind::kScrews;
    one.mean = screws ? valued.mean[r] : counted.mean[r];
    one.sigma = screws ? valued.sigma[r] : counted.sigma[r];
    odds.requirements.push_back(std::move(one));
  }
  return odds;
}

}  // namespace

Result<Odds> CalcOdds(const Machine& machine, const Shop& shop, const Plan& plan,
                      const OddsOptions& options) {
  if (options.builds < kLeastBuilds || options.builds > kMostBuilds) {
    return Unexpected(Error{ErrorCode::kOutOfRange,
                            fmt::format("{} builds are not between {} and {}", options.builds,
                                        kLeastBuilds, kMostBuilds),
                            std::to_string(options.builds),
                            "20000 is usual",
                            {}});
  }
  const Result<Analysis> analysis = Analyse(machine, shop, plan);
  if (!analysis) return Unexpected(analysis.error());
  const BuildRunner runner(*analysis, false);
  TallyOptions tally;
  tally.builds = options.builds;
  tally.seed = options.seed;
  tally.threads = options.threads;
  tally.cancel = options.cancel;
  const Tally counted = CountBuilds(runner, {analysis->figures}, tally).front();
  tally.builds = std::min(options.builds, kBuildsForValues);
  tally.values = true;
  const bool any_screws =
      std::any_of(analysis->requirements.begin(), analysis->requirements.end(),
                  [](const RequirementForms& r) { return r.test == TestKind::kScrews; });
  const Tally valued =
      any_screws ? CountBuilds(runner, {analysis->figures}, tally).front() : counted;
  if (counted.stopped || valued.stopped) return Unexpected(Stopped());
  Odds odds = OddsOf(*analysis, counted, valued, options);
  if (options.shop_band && !AddShopBand(shop, runner, options, odds)) return Unexpected(Stopped());
  if (options.causes) {
    CauseOptions causes;
    causes.seed = options.seed;
    causes.threads = options.threads;
    causes.cancel = options.cancel;
    causes.builds = std::min(options.builds, causes.builds);
    auto lists = CalcCauses(shop, runner, causes);
    for (std::size_t r = 0; r < lists.size(); ++r)
      odds.requirements[r].causes = std::move(lists[r]);
    if (options.cancel != nullptr && options.cancel->cancelled()) return Unexpected(Stopped());
  }
  return odds;
}

}  // namespace fitwright::variation
