// Plane triangles from any three parts of them that fix one.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "fitwright/base/result.h"

namespace fitwright::reckon {

// Sides a, b, c in mm; angle i, in rad, stands opposite side i.
struct Triangle {
  std::array<double, 3> side_mm{};
  std::array<double, 3> angle_rad{};
};
struct TriangleGiven {
  std::array<std::optional<double>, 3> side_mm;
  std::array<std::optional<double>, 3> angle_rad;
};

// All triangles with these parts: one, or two when two sides and the angle opposite the shorter are
// given. Errors: wrong_count (not three parts, or three angles), out_of_range (no such triangle).
Result<std::vector<Triangle>> SolveTriangle(const TriangleGiven& given);

double AreaOf_mm2(const Triangle& triangle);

}  // namespace fitwright::reckon
