// Paths of cutters over plane regions, and the order in which holes are visited. Setup frame S, mm.
#pragma once

#include <array>
#include <vector>

#include "fitwright/units/geometry.h"

namespace fitwright::planner {

// A rectangle in the xy plane of S, turned about z: u is its long or row direction.
struct FlatRegion {
  Vec2 centre_mm = Vec2::Zero();
  Vec2 u = Vec2::UnitX();  // unit
  double half_u_mm = 0;
  double half_v_mm = 0;
  Vec2 v() const { return {-u.y(), u.x()}; }
  Vec2 At(double a, double b) const { return centre_mm + u * a + v() * b; }
};

// One straight cut of a cutter's middle, from the first point to the second. All rows of a region
// run one way with the metal still to come off on their left, so that a cutter that turns
// right-handed always cuts against the feed.
using Row = std::array<Vec3, 2>;

// Rows along u that cover the whole region with a cutter of this diameter: they run past both ends
// by the radius plus run_mm; neighbours overlap by a fifth or more; the outer rows overhang by
// over_mm at least. Rows begin at -v. Needs diameter > 0.
std::vector<Row> CoverRows(const FlatRegion& region, double z_mm, double diameter_mm,
                           double run_mm, double over_mm);

// Row middles from lo to hi so that bands of this width cover the space between with an overlap of
// a fifth; lo and hi are the first and the last middle.
std::vector<double> RowMiddles(double lo_mm, double hi_mm, double width_mm);

// Rows of the cutter's middle over a rectangle of moves; the last row lies on +v, or on -v when
// ends_low.
std::vector<Row> StepRows(const FlatRegion& moves, double z_mm, double diameter_mm, bool ends_low);

// Clears a closed region whose cutter middle may move in the rectangle (half lengths of the
// middle's room): rows along u, then once round the edge. One point when the room is a point.
std::vector<Vec3> ClearRoom(const FlatRegion& room, double z_mm, double diameter_mm);

// Length of a polyline, and of all rows without the ways back.
double LengthOf(const std::vector<Vec3>& points);
double LengthOf(const std::vector<Row>& rows);

// Order of visit with short ways between, starting with place 0; ties by index. Nearest neighbour,
// then pairs of legs uncrossed until nothing gets shorter.
std::vector<int> TravelOrder(const std::vector<Vec2>& places_mm);

}  // namespace fitwright::planner
