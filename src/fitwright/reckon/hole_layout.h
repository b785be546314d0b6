// Holes by coordinates: on a circle, along an arc, in a grid. Closed forms; exact to rounding
// noise.
#pragma once

#include <vector>

#include "fitwright/units/geometry.h"

namespace fitwright::reckon {

// Points on a circle about `centre_mm`: the first at `start_rad` from the X axis (towards Y), the
// others `step_rad` on. count >= 1.
std::vector<Vec2> PointsOnCircle(const Vec2& centre_mm, double radius_mm, int count,
                                 double start_rad, double step_rad);

// Straight from one hole to the next of `count` equally spaced on a circle: D sin(pi / count).
// count >= 2.
double ChordOf_mm(double diameter_mm, int count);

struct Grid {
  Vec2 first_mm = Vec2::Zero();
  int columns = 1;
  int rows = 1;
  Vec2 pitch_mm = Vec2::Zero();
  double turn_rad = 0;  // the whole grid about its first hole
};
// Row by row, columns forward in each.
std::vector<Vec2> PointsOfGrid(const Grid& grid);

}  // namespace fitwright::reckon
