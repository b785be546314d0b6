// Points, directions and poses. Lengths in mm, angles in rad. Frames are named in identifiers:
// W(orld: the assembled machine), P(art), S(etup), M(achine), T(ool). X_AB takes B coordinates to A.
#pragma once

#include <Eigen/Core>
#include <Eigen/Geometry>
#include <array>

namespace fitwright {

using Vec2 = Eigen::Vector2d;
using Vec3 = Eigen::Vector3d;
using Pose = Eigen::Isometry3d;

inline constexpr double kPi = 3.14159265358979323846;
inline constexpr double kMmPerInch = 25.4;  // exact
inline constexpr double kRadPerDeg = kPi / 180.0;

// Rounding noise of computed geometry, as opposed to differences a drawing means.
inline constexpr double kGeometryNoise_mm = 1e-7;
// Two drawn sizes closer than this are the same size.
inline constexpr double kDrawnAlike_mm = 1e-4;

// Axis-aligned box in one named frame.
struct Box3 {
  Vec3 min_mm = Vec3::Zero();
  Vec3 max_mm = Vec3::Zero();
  Vec3 size_mm() const { return max_mm - min_mm; }
  Vec3 centre_mm() const { return 0.5 * (min_mm + max_mm); }
  friend bool operator==(const Box3&, const Box3&) = default;
};

// A line with a direction; direction is of unit length.
struct Axis3 {
  Vec3 point_mm = Vec3::Zero();
  Vec3 direction = Vec3::UnitZ();
};

// The shortest turn that takes one direction to the other.
Eigen::Matrix3d ShortestTurn(const Vec3& from, const Vec3& to);

}  // namespace fitwright
