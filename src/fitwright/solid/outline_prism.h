// Upright prism on a closed outline of straight lines and arcs. mm, rad.
#pragma once

#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/solid/solid.h"
#include "fitwright/units/geometry.h"

namespace fitwright::solid {

// From points[i] the outline goes to points[i + 1] (the last one back to the first), turning left by
// turns[i] on its way (right when negative, 0 = straight). Counter-clockwise or clockwise; it must not
// cross itself. Two half circles between two points make a disc.
struct PlanOutline {
  std::vector<Vec2> points_mm;
  std::vector<double> turns_rad;
  double from_mm = 0;  // along z
  double to_mm = 0;
};
// Errors: kOutOfRange (too few points, a turn of a full circle or more, no height), kKernel.
Result<Solid> MakeOutlinePrism(const PlanOutline& outline);

}  // namespace fitwright::solid
