#include "fitwright/variation/odds.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>

#include "fitwright/base/hash.h"
#include "fitwright/stats/intervals.h"
#include "fitwright/variation/causes.h"
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
constexpr std::int64_t kBuildsForValues = 1024;
constexpr std::int64_t kBuildsAtOnce = 1 << 20;  // a multiple of kLanes; more are not remembered

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

void SetMoments(double sum, double squares, std::int64_t builds, double origin,
                RequirementOdds& one) {
  const auto n = static_cast<double>(builds);
  const double mean = sum / n;
  one.mean = origin + mean;
  one.sigma = std::sqrt(std::max(0.0, squares / n - mean * mean));
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
  if (r.kind == RequirementKind::kScrewsEnter) return r.unit == "pin" ? "every pin goes in" : "every screw enters";
  if (has_low && has_high && r.lower == -r.upper)
    return fmt::format("within {:g} {}", r.upper * unit, name);
  if (has_low && has_high)
    return fmt::format("{:g} to {:g} {}", r.lower * unit, r.upper * unit, name);
  if (has_high) return fmt::format("at most {:g} {}", r.upper * unit, name);
  if (has_low) return fmt::format("at least {:g} {}", r.lower * unit, name);
  return "no limits";
}

std::vector<std::size_t> EveryPlace(const Analysis& analysis) {
  std::vector<std::size_t> places(analysis.requirements.size());
  std::iota(places.begin(), places.end(), std::size_t{0});
  return places;
}

BuildsWanted WantedOf(const OddsOptions& options, std::int64_t builds) {
  BuildsWanted wanted;
  wanted.builds = builds;
  wanted.seed = options.seed;
  wanted.threads = options.threads;
  wanted.cancel = options.cancel;
  return wanted;
}

std::int64_t AllMet(const std::vector<std::shared_ptr<const Outcome>>& outcomes,
                    std::int64_t builds) {
  if (outcomes.empty()) return builds;
  Bits all = outcomes.front()->met;
  for (const auto& outcome : outcomes) {
    for (std::size_t w = 0; w < all.size(); ++w) all[w] &= outcome->met[w];
  }
  return CountOf(all);
}

// The band of what is not known of the shop: 2.5 and 97.5 in 100 of the virtual shops.
bool AddShopBand(const Shop& shop, const Analysis& analysis, const OddsOptions& options,
                 OutcomeMemo& memo, Odds& odds) {
  const std::size_t count = odds.requirements.size();
  const std::uint64_t stream = MixKeys(options.seed, StableHash("virtual shops"));
  std::vector<Question> questions;
  for (std::uint64_t s = 0; s < kShops; ++s)
    questions.push_back({DrawnFigures(shop, stream, s), EveryPlace(analysis)});
  const std::int64_t builds = std::min(options.builds, kBuildsPerShop);
  const auto answers = Outcomes(analysis, memo).Of(questions, WantedOf(options, builds));
  if (answers.empty()) return false;
  std::vector<std::vector<double>> seen(count + 1);
  const auto share = [&](std::int64_t good) {
    return static_cast<double>(good) / static_cast<double>(builds);
  };
  for (const auto& shop_outcomes : answers) {
    for (std::size_t r = 0; r < count; ++r) seen[r].push_back(share(CountOf(shop_outcomes[r]->met)));
    seen[count].push_back(share(AllMet(shop_outcomes, builds)));
  }
  for (std::size_t r = 0; r <= count; ++r) {
    std::sort(seen[r].begin(), seen[r].end());
    Chance& chance = r < count ? odds.requirements[r].chance : odds.all;
    chance.shop_low = std::min(chance.odds, stats::QuantileOfSorted(seen[r], 0.025));
    chance.shop_high = std::max(chance.odds, stats::QuantileOfSorted(seen[r], 0.975));
  }
  return true;
}

// Counts of the builds, piece by piece.
struct Counted {
  std::int64_t all = 0;
  std::vector<std::int64_t> met;
  std::vector<double> sum;
  std::vector<double> squares;
};

std::optional<Counted> Count(const Analysis& analysis, const OddsOptions& options,
                             OutcomeMemo& memo) {
  const std::size_t count = analysis.requirements.size();
  Counted counted;
  counted.met.resize(count);
  counted.sum.resize(count);
  counted.squares.resize(count);
  const Question every{analysis.figures, EveryPlace(analysis)};
  for (std::int64_t first = 0; first < options.builds; first += kBuildsAtOnce) {
    OutcomeMemo passing;
    BuildsWanted wanted = WantedOf(options, std::min(options.builds - first, kBuildsAtOnce));
    wanted.first = first;
    OutcomeMemo& kept = options.builds <= kBuildsAtOnce ? memo : passing;
    const auto answers = Outcomes(analysis, kept).Of({every}, wanted);
    if (answers.empty()) return std::nullopt;
    counted.all += AllMet(answers.front(), wanted.builds);
    for (std::size_t r = 0; r < count; ++r) {
      counted.met[r] += CountOf(answers.front()[r]->met);
      counted.sum[r] += answers.front()[r]->sum;
      counted.squares[r] += answers.front()[r]->squares;
    }
  }
  return counted;
}

// Values of screws are dear: from the first builds alone. Nothing when cancelled.
bool ValueScrews(const Analysis& analysis, const OddsOptions& options, OutcomeMemo& memo,
                 std::vector<RequirementOdds>& requirements) {
  Question screws{analysis.figures, {}};
  for (std::size_t r = 0; r < analysis.requirements.size(); ++r) {
    if (analysis.requirements[r].test == TestKind::kScrews) screws.requirements.push_back(r);
  }
  BuildsWanted wanted = WantedOf(options, std::min(options.builds, kBuildsForValues));
  wanted.values = true;
  const auto answers = Outcomes(analysis, memo).Of({screws}, wanted);
  if (answers.empty()) return false;
  for (std::size_t i = 0; i < screws.requirements.size(); ++i) {
    const std::size_t r = screws.requirements[i];
    const Outcome& outcome = *answers.front()[i];
    SetMoments(outcome.sum, outcome.squares, wanted.builds, OriginOf(analysis.requirements[r]),
               requirements[r]);
  }
  return true;
}

Odds OddsOf(const Analysis& analysis, const Counted& counted, const OddsOptions& options) {
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
    SetMoments(counted.sum[r], counted.squares[r], options.builds, OriginOf(forms), one);
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
  const std::optional<Counted> counted = Count(analysis, options, kept);
  if (!counted) return Unexpected(Stopped());
  Odds odds = OddsOf(analysis, *counted, options);
  if (options.screw_values && !ValueScrews(analysis, options, kept, odds.requirements))
    return Unexpected(Stopped());
  if (options.seldom) HandOverSeldom(analysis, options.seed, odds);
  if (options.shop_band && !AddShopBand(shop, analysis, options, kept, odds))
    return Unexpected(Stopped());
  if (options.causes) {
    CauseOptions causes;
    causes.seed = options.seed;
    causes.threads = options.threads;
    causes.cancel = options.cancel;
    causes.builds = std::min(options.builds, causes.builds);
    auto lists = CalcCauses(shop, analysis, causes, kept);
    if (options.cancel != nullptr && options.cancel->cancelled()) return Unexpected(Stopped());
    for (std::size_t r = 0; r < lists.size(); ++r)
      odds.requirements[r].causes = std::move(lists[r]);
  }
  return odds;
}

}  // namespace fitwright::variation
