#include "fitwright/model/shapes.h"

#include <algorithm>
#include <cmath>

namespace fitwright {
namespace {

struct Along {
  double from_mm = 0;
  double to_mm = 0;
};

bool SameLine(const Axis3& a, const Axis3& b) {
  const Vec3 apart = b.point_mm - a.point_mm;
  return a.direction.cross(b.direction).norm() < 1e-6 &&
         apart.cross(a.direction.normalized()).norm() < kDrawnAlike_mm;
}

// A stretch of one axis, counted along another on the same line.
Along CountedAlong(const Axis3& axis, const Axis3& own, double from_mm, double to_mm) {
  const double shift = (own.point_mm - axis.point_mm).dot(axis.direction);
  const double sense = own.direction.dot(axis.direction) < 0 ? -1.0 : 1.0;
  const double a = shift + sense * from_mm;
  const double b = shift + sense * to_mm;
  return {std::min(a, b), std::max(a, b)};
}

FeatureLine Round(const Axis3& axis, double from_mm, double to_mm) {
  return {{axis.point_mm + from_mm * axis.direction, axis.direction}, true, to_mm - from_mm, 1};
}

}  // namespace

std::optional<FeatureLine> FindLine(const Feature& feature) {
  if (const auto* face = std::get_if<PlanarFace>(&feature.shape))
    return FeatureLine{{face->at.middle_mm() * face->normal_P, face->normal_P}, false, 0, 1};
  if (const auto* hole = std::get_if<Hole>(&feature.shape)) {
    if (hole->entries_P_mm.empty()) return std::nullopt;
    return FeatureLine{{hole->entries_P_mm.front(), hole->into_P}, true, hole->depth_mm,
                       static_cast<int>(hole->entries_P_mm.size())};
  }
  if (const auto* outer = std::get_if<OuterDiameter>(&feature.shape))
    return Round(outer->axis_P, outer->from_mm, outer->to_mm);
  if (const auto* groove = std::get_if<Groove>(&feature.shape))
    return Round(groove->axis_P, groove->from_mm, groove->to_mm);
  if (const auto* taper = std::get_if<Taper>(&feature.shape))
    return Round(taper->axis_P, taper->from_mm, taper->to_mm);
  return std::nullopt;
}

double CoveringDiameter(const Part& part, const Axis3& axis_P, double from_mm, double to_mm) {
  double largest = 0;
  for (const Feature& feature : part.features) {
    const auto* outer = std::get_if<OuterDiameter>(&feature.shape);
    if (outer == nullptr || !SameLine(outer->axis_P, axis_P)) continue;
    const Along own = CountedAlong(axis_P, outer->axis_P, outer->from_mm, outer->to_mm);
    const double shared = std::min(own.to_mm, std::max(from_mm, to_mm)) -
                          std::max(own.from_mm, std::min(from_mm, to_mm));
    if (shared > kDrawnAlike_mm) largest = std::max(largest, outer->diameter.middle_mm());
  }
  return largest;
}

double GrooveSurfaceRadius(const Part& part, const Groove& groove) {
  if (!groove.internal)
    return CoveringDiameter(part, groove.axis_P, groove.from_mm, groove.to_mm) / 2;
  const double middle = 0.5 * (groove.from_mm + groove.to_mm);
  double surface = 0;
  for (const Feature& feature : part.features) {
    const auto* hole = std::get_if<Hole>(&feature.shape);
    if (hole == nullptr || hole->entries_P_mm.size() != 1) continue;
    const Axis3 own{hole->entries_P_mm.front(), hole->into_P};
    if (!SameLine(own, groove.axis_P)) continue;
    const Along along = CountedAlong(groove.axis_P, own, 0, hole->depth_mm);
    if (middle < along.from_mm || middle > along.to_mm) continue;
    surface = std::max(surface, hole->diameter.middle_mm() / 2);
  }
  return surface;
}

Vec3 FlatNormal(const Flats& flats, int index) {
  const double turn = 2 * kPi * index / flats.count;
  return Eigen::AngleAxisd(turn, flats.axis_P.direction.normalized()) * flats.first_normal_P;
}

double FlatDistance(const Part& part, const Flats& flats) {
  const double across = flats.across.middle_mm();
  if (flats.count % 2 == 0) return across / 2;
  return across - CoveringDiameter(part, flats.axis_P, flats.from_mm, flats.to_mm) / 2;
}

std::pair<bool, bool> OpenEnds(const Part& part, const Keyway& keyway) {
  const auto open = [&](double at, double outward) {
    return CoveringDiameter(part, keyway.axis_P, at, at + outward) <= 2 * keyway.floor_mm;
  };
  return {open(keyway.from_mm, -1), open(keyway.to_mm, 1)};
}

}  // namespace fitwright
