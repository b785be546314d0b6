#pragma once

#include <string>

#include "fitwright/units/geometry.h"

namespace fitwright::planner {

inline const Vec3 kZ = Vec3::UnitZ();
inline constexpr double kDial_mm = 1e-9;  // exact arithmetic on drawn numbers

inline bool Says(const std::string& words, const std::string& what) {
  return words.find(what) != std::string::npos;
}

}  // namespace fitwright::planner
