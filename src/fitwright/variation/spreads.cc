#include "fitwright/variation/spreads.h"

#include <algorithm>
#include <cmath>

#include "fitwright/base/hash.h"
#include "fitwright/stats/random.h"

namespace fitwright::variation {
namespace {

constexpr std::array<std::string_view, kSpreadCount> kIds = {
#define FW_SPREAD(name, text) text,
#include "fitwright/variation/spreads.inc"
#undef FW_SPREAD
};
constexpr std::string_view kOversizeGroup = "drill_oversize";
// A figure found by measuring this shop may still be off by this share.
constexpr double kMeasuredDoubt = 0.1;

const Spread* Row(const Shop& shop, SpreadId id) {
  const auto it = shop.spreads.find(std::string(IdOf(id)));
  return it == shop.spreads.end() ? nullptr : &it->second;
}

// A lognormal's spread is the sigma of a logarithm: it has no unit.
SpreadFigure InUnits(const Spread& row, SpreadFigure figure) {
  const double factor = UnitFactor(row.unit);
  figure.mean *= factor;
  if (row.distribution != SpreadDistribution::kLognormal) figure.spread *= factor;
  return figure;
}

double LogBetween(double a, double b, double share) {
  if (a <= 0 || b <= 0) return a + share * (b - a);
  return a * std::pow(b / a, share);
}

SpreadFigure Between(const SpreadFigure& a, const SpreadFigure& b, double share) {
  return {LogBetween(a.mean, b.mean, share), LogBetween(a.spread, b.spread, share)};
}

SpreadFigure AtLevel(const Shop& shop, const Spread& row, double u) {
  if (row.origin == SpreadOrigin::kStated) return row.usual;
  if (row.origin == SpreadOrigin::kMeasured) {
    const double factor = std::exp(kMeasuredDoubt * (2 * u - 1));
    return {row.usual.mean * factor, row.usual.spread * factor};
  }
  if (shop.level == ShopLevel::kCareful) return Between(row.careful, row.usual, u);
  if (shop.level == ShopLevel::kWorn) return Between(row.usual, row.worn, u);
  return u < 0.5 ? Between(row.careful, row.usual, 2 * u) : Between(row.usual, row.worn, 2 * u - 1);
}

}  // namespace

std::string_view IdOf(SpreadId id) { return kIds[Place(id)]; }

bool IsOwnLimits(SpreadId id) {
  return id == SpreadId::kScrewLimits || id == SpreadId::kJointPlay ||
         id == SpreadId::kBoughtLimits || id == SpreadId::kSuppliedSection ||
         id == SpreadId::kBearingPlay || id == SpreadId::kLeftBySetting;
}

std::string_view GroupOf(SpreadId id) {
  const std::string_view text = IdOf(id);
  return text.starts_with(kOversizeGroup) ? kOversizeGroup : text;
}

std::string WordsOfSpread(const Shop& shop, SpreadId id) {
  if (id == SpreadId::kScrewLimits) return "size of the screws themselves inside 6g";
  if (id == SpreadId::kJointPlay) return "play of the joint, left to chance";
  if (id == SpreadId::kBoughtLimits) return "bought parts inside their makers' limits";
  if (id == SpreadId::kSuppliedSection) return "stock surfaces left as supplied";
  if (id == SpreadId::kBearingPlay) return "play inside the bearings";
  if (id == SpreadId::kLeftBySetting) return "what is left where it is set by the indicator";
  if (GroupOf(id) == kOversizeGroup) return "drills cutting over size";
  const Spread* row = Row(shop, id);
  return row == nullptr || row->words.empty() ? std::string(IdOf(id)) : row->words;
}

double UnitFactor(std::string_view unit) {
  if (unit == "mm/m" || unit == "mrad") return 1e-3;
  if (unit == "percent") return 0.01;
  if (unit == "arcmin") return kRadPerDeg / 60;
  if (unit == "arcsec") return kRadPerDeg / 3600;
  return 1;
}

Figures FiguresOf(const Shop& shop) {
  Figures figures{};
  for (std::size_t i = 0; i < kSpreadCount; ++i) {
    const auto id = static_cast<SpreadId>(i);
    if (IsOwnLimits(id)) {
      figures[i].spread = shop.spread_scale > 0 ? 1 : 0;
    } else if (const Spread* row = Row(shop, id)) {
      figures[i] = InUnits(*row, FigureOf(shop, *row));
    }
  }
  return figures;
}

Figures DrawnFigures(const Shop& shop, std::uint64_t stream, std::uint64_t index) {
  Figures figures = FiguresOf(shop);
  for (std::size_t i = 0; i < kSpreadCount; ++i) {
    const auto id = static_cast<SpreadId>(i);
    const Spread* row = Row(shop, id);
    if (row == nullptr) continue;
    const std::uint64_t key = stats::StreamKey(stream, StableHash(GroupOf(id)));
    Spread drawn = *row;
    drawn.usual = AtLevel(shop, *row, stats::Uniform(key, index));
    drawn.origin = SpreadOrigin::kStated;
    figures[i] = InUnits(*row, FigureOf(shop, drawn));
  }
  return figures;
}

std::vector<SpreadId> DefaultedSpreads(const Shop& shop) {
  std::vector<SpreadId> ids;
  for (std::size_t i = 0; i < kSpreadCount; ++i) {
    const auto id = static_cast<SpreadId>(i);
    const Spread* row = Row(shop, id);
    if (row != nullptr && row->origin == SpreadOrigin::kDefault) ids.push_back(id);
  }
  return ids;
}

}  // namespace fitwright::variation
