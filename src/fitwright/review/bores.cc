#include "fitwright/review/bores.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace fitwright::review {
namespace {

constexpr double kStep_mm = 0.5;
constexpr int kAroundBore = 48;
constexpr double kCoaxial_mm = 0.01;
constexpr double kParallel = 1e-6;

double ConeLength_mm(const Hole& hole) {
  if (hole.through || hole.bottom == HoleBottom::kFlat) return 0;
  const double point_deg = hole.bottom == HoleBottom::kPoint118 ? 118 : 135;
  return 0.5 * hole.diameter.middle_mm() / std::tan(0.5 * point_deg * kRadPerDeg);
}

}  // namespace

void MakeSquare(const Vec3& axis, Vec3& u, Vec3& v) {
  u = std::abs(axis.x()) < 0.9 ? Vec3::UnitX() : Vec3::UnitY();
  u = (u - axis * axis.dot(u)).normalized();
  v = axis.cross(u);
}

std::vector<Bore> BoresOf(const Part& part) {
  std::vector<Bore> bores;
  for (const Feature& feature : part.features) {
    const auto* hole = std::get_if<Hole>(&feature.shape);
    if (hole == nullptr) continue;
    for (std::size_t i = 0; i < hole->entries_P_mm.size(); ++i) {
      bores.push_back({&feature, hole, static_cast<int>(i), hole->entries_P_mm[i], hole->into_P,
                       0.5 * hole->diameter.middle_mm(), hole->depth_mm, ConeLength_mm(*hole)});
    }
  }
  return bores;
}

double DistanceTo(const Bore& bore, const Vec3& point_mm) {
  const Vec3 from = point_mm - bore.entry_mm;
  const double along = from.dot(bore.into);
  const double across = (from - along * bore.into).norm();
  const double dx = across - bore.radius_mm;
  const double dz = std::max(-along, along - bore.depth_mm);
  double box = std::max(dx, dz);
  if (dx > 0 && dz > 0) box = std::hypot(dx, dz);
  if (bore.cone_mm <= 0 || along <= bore.depth_mm) return box;
  // Beyond the full diameter: the slant from the rim to the tip.
  const Vec2 slant(-bore.radius_mm, bore.cone_mm);
  const Vec2 from_rim(across - bore.radius_mm, along - bore.depth_mm);
  const double share = std::clamp(from_rim.dot(slant) / slant.squaredNorm(), 0.0, 1.0);
  const double off = (from_rim - share * slant).norm();
  const bool inside = slant.x() * from_rim.y() - slant.y() * from_rim.x() > 0;
  return inside ? -off : off;
}

double CalcWall_mm(const Bore& a, const Bore& b) {
  Vec3 u;
  Vec3 v;
  MakeSquare(a.into, u, v);
  const double reach_a = a.depth_mm + a.cone_mm + 2 * a.radius_mm;
  const double reach_b = b.depth_mm + b.cone_mm + 2 * b.radius_mm;
  const double centres =
      (a.entry_mm + 0.5 * a.depth_mm * a.into - b.entry_mm - 0.5 * b.depth_mm * b.into).norm();
  if (centres > reach_a + reach_b) return std::numeric_limits<double>::infinity();
  double least = DistanceTo(b, a.entry_mm + (a.depth_mm + a.cone_mm) * a.into);
  const int rings = std::max(2, static_cast<int>(std::ceil(a.depth_mm / kStep_mm)) + 1);
  for (int k = 0; k < rings; ++k) {
    const Vec3 centre = a.entry_mm + a.depth_mm * k / (rings - 1) * a.into;
    for (int i = 0; i < kAroundBore; ++i) {
      const double angle = 2 * kPi * i / kAroundBore;
      const Vec3 rim = centre + a.radius_mm * (std::cos(angle) * u + std::sin(angle) * v);
      least = std::min(least, DistanceTo(b, rim));
    }
  }
  return least;
}

bool Coaxial(const Bore& a, const Bore& b) {
  if (a.into.cross(b.into).norm() > kParallel) return false;
  const Vec3 between = b.entry_mm - a.entry_mm;
  return (between - between.dot(a.into) * a.into).norm() < kCoaxial_mm;
}

bool AxisEnters(const Bore& a, const Bore& b) {
  const int steps = std::max(1, static_cast<int>(std::ceil(a.depth_mm / kStep_mm)));
  for (int k = 0; k <= steps; ++k) {
    if (DistanceTo(b, a.entry_mm + a.depth_mm * k / steps * a.into) < 1e-6) return true;
  }
  return false;
}

}  // namespace fitwright::review
