#include "fitwright/model/gripped_ring.h"

#include <algorithm>
#include <cmath>

namespace fitwright {
namespace {

constexpr double kLeastInside_mm = 2;
constexpr double kSameAxis_mm = 0.02;
constexpr double kSquare = 1e-6;

}  // namespace

std::optional<GrippedRing> FindGrippedRing(const Shop& shop, const Setup& setup, const Hole& hole, const Pose& X_PS) {
  const HoldingDevice* chuck = shop.Find(setup.device);
  if (chuck == nullptr || chuck->kind != HoldingDeviceKind::kThreeJaw || chuck->soft_jaws || setup.parts.empty()) return std::nullopt;
  const Vec3 axis = X_PS.linear().col(2);
  if (hole.entries_P_mm.size() != 1 || std::abs(axis.dot(hole.into_P)) < 1 - kSquare) return std::nullopt;
  double low = 1e9;
  double high = -1e9;
  const Vec3& entry = hole.entries_P_mm.front();
  for (const Contact& c : setup.contacts) {
    const bool presses = c.kind == ContactKind::kChuckGrip || c.kind == ContactKind::kRough;
    if (!presses || c.surface.part != setup.parts.front().part || std::abs(c.normal_P.dot(axis)) > kSquare) continue;
    const Vec3 off = entry - (c.point_P_mm + c.normal_P * (setup.opening_mm / 2));
    if ((off - axis * axis.dot(off)).norm() > kSameAxis_mm) continue;
    low = std::min(low, axis.dot(c.point_P_mm));
    high = std::max(high, axis.dot(c.point_P_mm));
  }
  if (low > high) return std::nullopt;
  if (high - low < setup.grip_depth_mm / 2) {  // named at mid grip, not at its ends
    low = 0.5 * (low + high - setup.grip_depth_mm);
    high = low + setup.grip_depth_mm;
  }
  const double a = axis.dot(entry);
  const double b = a + axis.dot(hole.into_P) * hole.depth_mm;
  const double inside = std::min(high, std::max(a, b)) - std::max(low, std::min(a, b));
  const double inner = hole.diameter.middle_mm();
  if (inside < kLeastInside_mm || high - low < kLeastInside_mm || inner >= setup.opening_mm) return std::nullopt;
  return GrippedRing{setup.opening_mm, inner, high - low};
}

}  // namespace fitwright
