// Unit directions and lengths of pieces that are alike. Private to this layer.
#pragma once

#include <cmath>

#include "fitwright/units/geometry.h"

namespace fitwright::planner {

inline constexpr double kSameDirection = 1e-9;
inline constexpr double kSame_mm = 1e-6;

inline bool SameWay(const Vec3& a, const Vec3& b) { return a.dot(b) > 1 - kSameDirection; }
inline bool Parallel(const Vec3& a, const Vec3& b) { return std::abs(std::abs(a.dot(b)) - 1) < kSameDirection; }

}  // namespace fitwright::planner
