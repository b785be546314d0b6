#include "fitwright/review/wall_points.h"

#include <algorithm>
#include <cmath>

#include "fitwright/model/shapes.h"
#include "fitwright/review/bores.h"

namespace fitwright::review {
namespace {

constexpr double kStep_mm = 1;
constexpr int kLeastAround = 24;
constexpr int kMostAround = 120;
constexpr int kDepths = 3;
constexpr double kOnAxis_mm = 0.01;

using Points = std::vector<WallPoint>;

int AroundOf(double radius) {
  return std::clamp(4 * static_cast<int>(std::ceil(2 * kPi * radius / kStep_mm / 4)), kLeastAround,
                    kMostAround);
}

double DepthOf(int k, double depth_mm) { return depth_mm * (k + 0.5) / kDepths; }

void AddRound(Points& points, const Vec3& entry, const Vec3& into, double radius, double depth_mm) {
  Vec3 u;
  Vec3 v;
  MakeSquare(into, u, v);
  const int around = AroundOf(radius);
  for (int k = 0; k < kDepths; ++k) {
    const Vec3 centre = entry + DepthOf(k, depth_mm) * into;
    for (int i = 0; i < around; ++i) {
      const double angle = 2 * kPi * i / around;
      const Vec3 out = std::cos(angle) * u + std::sin(angle) * v;
      points.push_back({centre + radius * out, out, into});
    }
  }
}

// A straight side from a to b, looking out.
void AddSide(Points& points, const Vec3& a, const Vec3& b, const Vec3& out, const Vec3& into,
             double depth_mm) {
  const int count = std::max(1, static_cast<int>((b - a).norm() / kStep_mm));
  for (int k = 0; k < kDepths; ++k) {
    for (int i = 0; i <= count; ++i) {
      const Vec3 on = a + (b - a) * i / count;
      points.push_back({on + DepthOf(k, depth_mm) * into, out, into});
    }
  }
}

struct Rectangle {
  Vec3 centre = Vec3::Zero();
  Vec3 into = -Vec3::UnitZ();
  Vec3 along = Vec3::UnitX();
  double half_length = 0;
  double half_width = 0;
  double corner = 0;
  double depth = 0;
  bool open = false;  // through
};

void AddRectangle(Points& points, const Rectangle& r) {
  const Vec3 side = r.into.cross(r.along);
  const double u = r.half_length - r.corner;
  const double v = r.half_width - r.corner;
  for (const double sense : {-1.0, 1.0}) {
    const Vec3 end = r.centre + sense * r.half_length * r.along;
    const Vec3 flank = r.centre + sense * r.half_width * side;
    if (v > 0) AddSide(points, end - v * side, end + v * side, sense * r.along, r.into, r.depth);
    if (u > 0)
      AddSide(points, flank - u * r.along, flank + u * r.along, sense * side, r.into, r.depth);
    for (const double other : {-1.0, 1.0}) {
      if (r.corner <= 0) continue;
      const Vec3 middle = r.centre + sense * u * r.along + other * v * side;
      for (int i = 0; i <= 6; ++i) {
        const double angle = 0.5 * kPi * i / 6;
        const Vec3 out = sense * std::cos(angle) * r.along + other * std::sin(angle) * side;
        const Vec3 on = middle + r.corner * out;
        AddSide(points, on, on, out, r.into, r.depth);
      }
    }
  }
  if (r.open) return;
  for (const double share : {-0.5, 0.0, 0.5}) {
    points.push_back(
        {r.centre + share * r.half_length * r.along + r.depth * r.into, r.into, r.along, true});
  }
}

void AddGroove(Points& points, const Groove& groove, double surface_radius) {
  const Vec3& axis = groove.axis_P.direction;
  const double floor = 0.5 * groove.diameter.middle_mm();
  const double middle = 0.5 * (surface_radius + floor);
  const double inward = groove.internal ? 1 : -1;  // from the mouth to the floor
  Vec3 u;
  Vec3 v;
  MakeSquare(axis, u, v);
  const int around = AroundOf(floor);
  for (int i = 0; i < around; ++i) {
    const double angle = 2 * kPi * i / around;
    const Vec3 out = std::cos(angle) * u + std::sin(angle) * v;
    const auto at = [&](double along, double radius) {
      return Vec3(groove.axis_P.point_mm + along * axis + radius * out);
    };
    points.push_back({at(groove.from_mm, middle), -axis, Vec3::Zero()});
    points.push_back({at(groove.to_mm, middle), axis, Vec3::Zero()});
    points.push_back(
        {at(0.5 * (groove.from_mm + groove.to_mm), floor), inward * out, Vec3::Zero()});
  }
}

}  // namespace

std::vector<WallPoint> WallPointsOf(const Part& part, const Feature& feature) {
  Points points;
  if (const auto* hole = std::get_if<Hole>(&feature.shape)) {
    for (const Vec3& entry : hole->entries_P_mm) {
      AddRound(points, entry, hole->into_P, 0.5 * hole->diameter.middle_mm(), hole->depth_mm);
    }
    if (hole->through) return points;
    Vec3 u;
    Vec3 v;
    MakeSquare(hole->into_P, u, v);
    for (const Bore& bore : BoresOf(part)) {
      if (bore.feature != &feature) continue;
      const Vec3 tip = bore.entry_mm + (bore.depth_mm + bore.cone_mm) * bore.into;
      points.push_back({tip, bore.into, u, true});
    }
  } else if (const auto* slot = std::get_if<Slot>(&feature.shape)) {
    const double radius = 0.5 * slot->width.middle_mm();
    AddRectangle(points, {slot->centre_P_mm, slot->into_P, slot->along_P, 0.5 * slot->length_mm,
                          radius, radius, slot->depth_mm, slot->through});
  } else if (const auto* pocket = std::get_if<Pocket>(&feature.shape)) {
    AddRectangle(points,
                 {pocket->centre_P_mm, pocket->into_P, pocket->along_P, 0.5 * pocket->length_mm,
                  0.5 * pocket->width_mm, pocket->corner_radius_mm, pocket->depth_mm, false});
  } else if (const auto* groove = std::get_if<Groove>(&feature.shape)) {
    AddGroove(points, *groove, GrooveSurfaceRadius(part, *groove));
  }
  return points;
}

Result<std::optional<double>> FindThinWall_mm(const std::vector<WallPoint>& points, double least_mm,
                                              const MetalBehind& metal) {
  std::optional<double> thin;
  for (const WallPoint& p : points) {
    const auto straight = metal(p.at_mm, p.out);
    if (!straight) return straight;
    if (!*straight || **straight >= thin.value_or(least_mm)) continue;
    double wall = **straight;
    for (const double sense : {-1.0, 1.0}) {
      if (p.along.isZero()) break;
      const auto slanting = metal(p.at_mm, (p.out + sense * p.along).normalized());
      if (!slanting) return slanting;
      if (*slanting) wall = std::max(wall, **slanting / std::sqrt(2.0));
    }
    if (wall < thin.value_or(least_mm)) thin = wall;
  }
  return thin;
}

double LeastWallOf(const Part& part, const Feature& feature, const ReviewLimits& limits) {
  const auto* hole = std::get_if<Hole>(&feature.shape);
  if (hole == nullptr || part.envelope != EnvelopeKind::kTurned) return limits.wall_mm;
  const Axis3& axis = part.turning_axis_P;
  const bool on_axis =
      std::all_of(hole->entries_P_mm.begin(), hole->entries_P_mm.end(), [&](const Vec3& entry) {
        return (entry - axis.point_mm).cross(axis.direction).norm() < kOnAxis_mm &&
               hole->into_P.cross(axis.direction).norm() < kOnAxis_mm;
      });
  return on_axis ? limits.ring_wall_mm : limits.wall_mm;
}

}  // namespace fitwright::review
