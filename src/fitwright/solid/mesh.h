// A solid's surface as triangles and its edges as lines, to be turned on a screen.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/solid/solid.h"
#include "fitwright/units/geometry.h"

namespace fitwright::solid {

struct Mesh {
  std::vector<Vec3> points_mm;  // each face has its own, so that edges stay sharp under a light
  std::vector<std::array<std::uint32_t, 3>> triangles;  // counter-clockwise from outside
  std::vector<std::vector<Vec3>> edges_mm;              // without seams of round faces
};

// Chords at most chord_mm off the surface. Empty for an empty solid. Errors: kKernel.
Result<Mesh> MakeMesh(const Solid& solid, double chord_mm = 0.05);

}  // namespace fitwright::solid
