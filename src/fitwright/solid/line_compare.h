// Solids compared along straight lines through meshes of their surfaces: the cost grows with faces
// and lines alone, where crossing whole solids of many unnamed faces (modelled threads) may take
// hours.
#pragma once

#include <array>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/solid/solid.h"
#include "fitwright/units/geometry.h"

namespace fitwright::solid {

// Triangles of the whole surface, no farther from it than the chord asked for.
struct SurfaceMesh {
  std::vector<std::array<Vec3, 3>> triangles;
  Box3 box;
};

// Errors: kKernel. Empty for the empty solid.
Result<SurfaceMesh> MakeSurfaceMesh(const Solid& solid, double chord_mm = 0.02);

// What of a box's volume lies in one and not in the other, or in both, by `across` x `across` lines
// along each of the three axes, whose mean is taken. Out by about the meshes' chord times the area
// in the box, and by a line's share. Points of `except` do not count.
struct LineComparison {
  double only_a_mm3 = 0;
  double only_b_mm3 = 0;
  double shared_mm3 = 0;
};
LineComparison CompareByLines(const SurfaceMesh& a, const SurfaceMesh& b, const Box3& box,
                              int across, const std::vector<SurfaceMesh>& except = {});

// Whether the straight way between two points crosses the surface.
bool CrossesBetween(const SurfaceMesh& mesh, const Vec3& from_mm, const Vec3& to_mm);

}  // namespace fitwright::solid
