#pragma once

#include "fitwright/solid/primitives.h"
#include "fitwright/units/geometry.h"

namespace fitwright::solid {

inline constexpr double kRelative = 1e-9;
inline const Axis3 kUp{Vec3::Zero(), Vec3::UnitZ()};

inline Solid Box(const Vec3& low, const Vec3& high) { return *MakeBox({low, high}); }
inline double Area(double d) { return 0.25 * kPi * d * d; }

}  // namespace fitwright::solid
