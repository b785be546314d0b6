#include <algorithm>
#include <cmath>

#include "fitwright/model/already_made.h"
#include "fitwright/model/material.h"
#include "fitwright/model/shapes.h"
#include "fitwright/model/validate_internal.h"

namespace fitwright {
namespace {

struct Shortage {
  std::string key;
  std::string words;  // empty when nothing is short
};

Shortage BoxShortage(const Stock& stock, const Box3& need) {
  const std::string key = stock.form == StockForm::kCasting ? "allowance" : "size";
  for (int k = 0; k < 3; ++k) {
    const double short_mm =
        std::max(stock.box_P.min_mm[k] - need.min_mm[k], need.max_mm[k] - stock.box_P.max_mm[k]);
    if (short_mm > kGeometryNoise_mm) {
      return {key, fmt::format("{} mm short along {}", Trim(short_mm), "xyz"[k])};
    }
  }
  return {};
}

// How far outside the bar's section a point is that lies this far from its axis, over the whole
// width.
double ShortAcross(const Stock& stock, const Vec3& out) {
  if (stock.form != StockForm::kHex) return 2 * out.norm() - stock.diameter_mm;
  double short_mm = -stock.diameter_mm;
  for (int flat = 0; flat < 3; ++flat) {
    const Vec3 normal =
        Eigen::AngleAxisd(flat * kPi / 3, stock.axis_P.direction) * stock.flat_normal_P;
    short_mm = std::max(short_mm, 2 * std::abs(out.dot(normal)) - stock.diameter_mm);
  }
  return short_mm;
}

// The corners of a block; the ends and the largest diameter of turned work, whose corners are air.
Shortage BarShortage(const Part& part, const Box3& need) {
  const Stock& stock = part.stock;
  double ends_mm = 0;
  double across_mm = 0;
  for (int corner = 0; corner < 8; ++corner) {
    const Vec3 point(corner & 1 ? need.max_mm.x() : need.min_mm.x(),
                     corner & 2 ? need.max_mm.y() : need.min_mm.y(),
                     corner & 4 ? need.max_mm.z() : need.min_mm.z());
    const Vec3 offset = point - stock.axis_P.point_mm;
    const double along = offset.dot(stock.axis_P.direction);
    ends_mm = std::max({ends_mm, stock.from_mm - along, along - stock.to_mm});
    if (part.envelope != EnvelopeKind::kBlock) continue;
    across_mm = std::max(across_mm, ShortAcross(stock, offset - along * stock.axis_P.direction));
  }
  for (const Feature& feature : part.features) {
    const auto* outer = std::get_if<OuterDiameter>(&feature.shape);
    if (outer == nullptr || part.envelope != EnvelopeKind::kTurned) continue;
    across_mm = std::max(across_mm, outer->diameter.middle_mm() - stock.diameter_mm);
  }
  if (across_mm > kGeometryNoise_mm) {
    const std::string key = stock.form == StockForm::kHex       ? "across"
                            : stock.form == StockForm::kTube    ? "outer"
                            : stock.form == StockForm::kCasting ? "allowance"
                                                                : "diameter";
    return {key, fmt::format("{} mm short across it", Trim(across_mm))};
  }
  if (ends_mm > kGeometryNoise_mm) {
    return {stock.form == StockForm::kCasting ? "allowance" : "length",
            fmt::format("{} mm short at an end", Trim(ends_mm))};
  }
  return {};
}

struct Line {
  double from_mm = 0;  // along the stock's axis
  double to_mm = 0;
};

bool OnAxis(const Axis3& axis, const Vec3& point, const Vec3& direction) {
  const Vec3 apart = point - axis.point_mm;
  return direction.cross(axis.direction).norm() < 1e-6 &&
         apart.cross(axis.direction).norm() < kDrawnAlike_mm;
}

// The stretch along the stock's axis of a hole on it at least as wide as the stock's hole.
std::optional<Line> WideHole(const Stock& stock, const Feature& feature) {
  const auto* hole = std::get_if<Hole>(&feature.shape);
  if (hole == nullptr || hole->entries_P_mm.size() != 1) return std::nullopt;
  const Vec3& entry = hole->entries_P_mm.front();
  if (!OnAxis(stock.axis_P, entry, hole->into_P)) return std::nullopt;
  if (hole->diameter.middle_mm() < stock.inner_diameter_mm - kDrawnAlike_mm) return std::nullopt;
  const double a = (entry - stock.axis_P.point_mm).dot(stock.axis_P.direction);
  const double b = a + hole->depth_mm * hole->into_P.dot(stock.axis_P.direction);
  return Line{std::min(a, b), std::max(a, b)};
}

// The hole that the stock has already must be air in the part, over its whole length.
void CheckCore(const Part& part, std::vector<ModelFault>& faults) {
  const Stock& stock = part.stock;
  if (stock.inner_diameter_mm <= 0) return;
  const Box3 box = CalcEnvelope(part);
  const Vec3& d = stock.axis_P.direction;
  const double low = d.cwiseMax(0).dot(box.min_mm) + d.cwiseMin(0).dot(box.max_mm);
  const double high = d.cwiseMax(0).dot(box.max_mm) + d.cwiseMin(0).dot(box.min_mm);
  const double shift = d.dot(stock.axis_P.point_mm);
  double reached_mm = low - shift;
  std::vector<Line> lines;
  for (const Feature& feature : part.features) {
    if (const auto line = WideHole(stock, feature)) lines.push_back(*line);
  }
  std::sort(lines.begin(), lines.end(),
            [](const Line& a, const Line& b) { return a.from_mm < b.from_mm; });
  for (const Line& line : lines) {
    if (line.from_mm <= reached_mm + kDrawnAlike_mm) reached_mm = std::max(reached_mm, line.to_mm);
  }
  if (reached_mm >= high - shift - kDrawnAlike_mm) return;
  faults.push_back(ModelFault{ErrorCode::kBadStock,
                              fmt::format("parts.{}.stock.inner", part.name.text()),
                              "the stock's hole is wider than the part's own bore somewhere",
                              "take one with a smaller hole, or a solid bar", ""});
}

// The stock's own planes, as normal and place along it.
bool IsStockPlane(const Stock& stock, const PlanarFace& face) {
  const Vec3& n = face.normal_P;
  const auto there = [&](const Vec3& normal, double at_mm) {
    return n.dot(normal) > 1 - 1e-6 && std::abs(face.at.middle_mm() - at_mm) < kDrawnAlike_mm;
  };
  const Vec3& d = stock.axis_P.direction;
  if (!stock.IsBar()) {
    for (int k = 0; k < 3; ++k) {
      if (there(Vec3::Unit(k), stock.box_P.max_mm[k])) return true;
      if (there(-Vec3::Unit(k), -stock.box_P.min_mm[k])) return true;
    }
    return false;
  }
  const double base = d.dot(stock.axis_P.point_mm);
  if (there(d, base + stock.to_mm) || there(-d, -base - stock.from_mm)) return true;
  if (stock.form != StockForm::kHex) return false;
  for (int flat = 0; flat < 6; ++flat) {
    const Vec3 normal = Eigen::AngleAxisd(flat * kPi / 3, d) * stock.flat_normal_P;
    if (there(normal, normal.dot(stock.axis_P.point_mm) + 0.5 * stock.diameter_mm)) return true;
  }
  return false;
}

}  // namespace

bool IsStockSurface(const Part& part, const Feature& feature) {
  const Stock& stock = part.stock;
  const auto same = [](const Size& size, double mm) {
    return mm > 0 && std::abs(size.middle_mm() - mm) < kDrawnAlike_mm;
  };
  if (const auto* face = std::get_if<PlanarFace>(&feature.shape)) return IsStockPlane(stock, *face);
  if (const auto* outer = std::get_if<OuterDiameter>(&feature.shape)) {
    return stock.IsRound() && same(outer->diameter, stock.diameter_mm) &&
           OnAxis(stock.axis_P, outer->axis_P.point_mm, outer->axis_P.direction);
  }
  if (const auto* hole = std::get_if<Hole>(&feature.shape)) {
    return stock.IsRound() && hole->entries_P_mm.size() == 1 &&
           same(hole->diameter, stock.inner_diameter_mm) &&
           OnAxis(stock.axis_P, hole->entries_P_mm.front(), hole->into_P);
  }
  if (const auto* flats = std::get_if<Flats>(&feature.shape)) {
    if (stock.form != StockForm::kHex || !same(flats->across, stock.diameter_mm)) return false;
    if (!OnAxis(stock.axis_P, flats->axis_P.point_mm, flats->axis_P.direction)) return false;
    const double cosine = std::clamp(flats->first_normal_P.dot(stock.flat_normal_P), -1.0, 1.0);
    const double sixths = std::acos(cosine) / (kPi / 3);
    return flats->count != 4 && std::abs(sixths - std::round(sixths)) < 1e-6;
  }
  return false;
}

void CheckStock(const Part& part, std::vector<ModelFault>& faults) {
  const Box3 need = CalcEnvelope(part);
  const Shortage shortage =
      part.stock.IsBar() ? BarShortage(part, need) : BoxShortage(part.stock, need);
  if (!shortage.words.empty()) {
    faults.push_back(ModelFault{
        ErrorCode::kStockTooSmall, fmt::format("parts.{}.stock.{}", part.name.text(), shortage.key),
        fmt::format("the part does not fit inside its stock: {}", shortage.words),
        "take the next size up, or leave [stock] out to have it proposed", ""});
    return;
  }
  CheckCore(part, faults);
  PartCheck check{part, faults};
  for (const Feature& feature : part.features) {
    if (feature.finish != Finish::kAsSupplied || IsStockSurface(part, feature)) continue;
    check.Add(ErrorCode::kNotOnStock, feature, "finish",
              "this surface is not one of the stock's own, so it must be cut",
              part.stock.proposed ? "write [stock] with the size that leaves it as supplied"
                                  : "mend the size in [stock] or here, or take finish out");
  }
}

}  // namespace fitwright
