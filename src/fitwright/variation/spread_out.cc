#include "fitwright/variation/spread_out.h"

#include <algorithm>
#include <cmath>

#include "fitwright/variation/fast_odds.h"
#include "fitwright/variation/odds.h"

namespace fitwright::variation {
namespace {

constexpr double kNone = 1e300;
constexpr double kSigmas = 4;
constexpr double kStill = 1e-9;  // mm or the formula's unit: what spreads less is rounding
constexpr double kLimitsWithin = 9;  // sigma: limits further off are left off the drawing
constexpr int kExactCells = 96;
constexpr int kCountedCells = 32;

bool HasLow(const RequirementForms& r) { return r.lower > -kUnlimited; }
bool HasHigh(const RequirementForms& r) { return r.upper < kUnlimited; }
double Middle(const RequirementForms& r) { return 0.5 * (r.lower + r.upper); }

Quantity QuantityOf(const RequirementForms& r) {
  if (r.test == TestKind::kScrews) return Quantity::kSpare;
  if (r.test == TestKind::kLinear && r.linear.size() > 1) {
    if (HasLow(r) && HasHigh(r)) return Quantity::kFurthest;
    return HasLow(r) ? Quantity::kLeast : Quantity::kGreatest;
  }
  return Quantity::kValue;
}

// The same requirement true exactly where its quantity is at most x; for kLeast and clearances with
// tilt, at least.
RequirementForms HeldAt(const RequirementForms& r, Quantity quantity, double x) {
  RequirementForms held = r;
  if (quantity == Quantity::kSpare) {
    // Spare is at least x where the screws still enter with so much less room.
    const auto narrow = [x](FloatLimits& limits) {
      for (FloatLimit& l : limits.limits) {
        if (l.screw >= 0) l.room.constant -= x;
      }
    };
    narrow(held.screws);
    for (FloatLimits& limits : held.stack) narrow(limits);
    return held;
  }
  held.lower = -kNone;
  held.upper = kNone;
  if (quantity == Quantity::kFurthest) {
    held.lower = Middle(r) - x;
    held.upper = Middle(r) + x;
  } else if (quantity == Quantity::kLeast || r.test == TestKind::kClearance) {
    held.lower = x;
  } else {
    held.upper = x;
  }
  return held;
}

bool CountsDown(const RequirementForms& r, Quantity quantity) {
  return quantity == Quantity::kSpare || quantity == Quantity::kLeast ||
         (quantity == Quantity::kValue && r.test == TestKind::kClearance);
}

void SetLimits(const RequirementForms& r, SpreadOut& out) {
  if (out.quantity == Quantity::kSpare) {
    out.lower = 0;
  } else if (out.quantity == Quantity::kFurthest) {
    out.upper = 0.5 * (r.upper - r.lower);
  } else {
    if (HasLow(r)) out.lower = r.lower;
    if (HasHigh(r)) out.upper = r.upper;
  }
}

// Even edges over the quantity and those of its limits that are near.
void SetEdges(double mean, double sigma, int cells, bool from_zero, SpreadOut& out) {
  double from = mean - kSigmas * sigma;
  double to = mean + kSigmas * sigma;
  for (const std::optional<double>& limit : {out.lower, out.upper}) {
    if (!limit || std::abs(*limit - mean) > kLimitsWithin * sigma) continue;
    from = std::min(from, *limit - 0.5 * sigma);
    to = std::max(to, *limit + 0.5 * sigma);
  }
  if (from_zero) from = std::max(from, 0.0);
  for (int i = 0; i <= cells; ++i) out.edges.push_back(from + (to - from) * i / cells);
}

std::optional<SpreadOut> ByLaw(const Analysis& analysis, const RequirementForms& r) {
  const auto one = FindOneQuantity(analysis.sources, r);
  if (!one || one->tilt) return std::nullopt;
  LawMemo memo;
  const auto law = LawOf(analysis.sources, one->form, analysis.figures, memo);
  if (!law || law->variance() <= kStill * kStill) return std::nullopt;
  SpreadOut out;
  out.exact = true;
  if (one->lower > -kUnlimited) out.lower = one->lower;
  if (one->upper < kUnlimited) out.upper = one->upper;
  SetEdges(law->mean(), std::sqrt(law->variance()), kExactCells, false, out);
  std::vector<double> middles;
  for (std::size_t i = 0; i + 1 < out.edges.size(); ++i)
    middles.push_back(0.5 * (out.edges[i] + out.edges[i + 1]));
  out.shares = law->Densities(middles);
  for (double& share : out.shares) share *= out.edges[1] - out.edges[0];
  return out;
}

}  // namespace

Result<std::optional<SpreadOut>> CalcSpreadOut(const Analysis& analysis, const Shop& shop,
                                               std::size_t requirement, const RequirementOdds& odds,
                                               std::uint64_t seed, std::int64_t builds) {
  const RequirementForms& r = analysis.requirements[requirement];
  if (auto exact = ByLaw(analysis, r)) return exact;
  SpreadOut out;
  out.quantity = QuantityOf(r);
  SetLimits(r, out);
  double mean = out.quantity == Quantity::kSpare ? -odds.mean : odds.mean;
  if (out.quantity == Quantity::kFurthest) mean = std::abs(odds.mean - Middle(r));
  if (!(odds.sigma > kStill) || !std::isfinite(mean)) return std::optional<SpreadOut>();
  const bool from_zero = out.quantity == Quantity::kFurthest || r.test == TestKind::kMagnitude;
  SetEdges(mean, odds.sigma, kCountedCells, from_zero, out);
  Analysis cut;
  cut.sources = analysis.sources;
  cut.figures = analysis.figures;
  cut.plays = analysis.plays;
  cut.parts = analysis.parts;
  for (const double x : out.edges) cut.requirements.push_back(HeldAt(r, out.quantity, x));
  OddsOptions options;
  options.builds = builds;
  options.seed = seed;
  options.shop_band = options.causes = options.values = options.seldom = false;
  const Result<Odds> counted = CalcOddsOf(cut, shop, options, nullptr);
  if (!counted) return Unexpected(counted.error());
  const double sign = CountsDown(r, out.quantity) ? -1 : 1;
  for (std::size_t i = 0; i + 1 < out.edges.size(); ++i) {
    const double between =
        counted->requirements[i + 1].chance.odds - counted->requirements[i].chance.odds;
    out.shares.push_back(std::max(0.0, sign * between));
  }
  return std::optional(std::move(out));
}

}  // namespace fitwright::variation
