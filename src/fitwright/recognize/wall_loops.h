// Private to the reading of outlines and cutouts: how the walls that stand along one axis go round
// the material at one level, as closed lines.
#pragma once

#include <vector>

#include "fitwright/model/closed_line.h"
#include "fitwright/recognize/placed_graph.h"

namespace fitwright::recognize {

// A wall's stretch at the level, material to the left of its way.
struct WallStretch {
  std::size_t face = 0;
  Vec2 from_mm = Vec2::Zero();
  Vec2 to_mm = Vec2::Zero();
  double turn_rad = 0;  // 0 = a plane's
};
// Anticlockwise round material, clockwise round a hollow.
using WallLoop = std::vector<WallStretch>;

// Coordinates square to axis of P (0 x, 1 y, 2 z): u along the next one of x y z, v along the one after.
Vec2 Across(const Vec3& p, int axis);
// A plane or cylinder that stands along the axis.
bool StandsAlong(const PlacedFace& face, int axis);
// Only loops that walls make alone, meeting in straight edges: what crosses a wall, as a hole does, is
// not looked at.
std::vector<WallLoop> FindWallLoops(const PlacedGraph& graph, int axis, double level_mm);
// Between the ends of walls, the longest first, at most `most`.
std::vector<double> ChooseLevels(const PlacedGraph& graph, int axis, std::size_t most);

}  // namespace fitwright::recognize
