// The line round an Outline: its union of discs and bars with rounded inside corners, as straight lines
// and arcs. mm, rad, in the outline's own u and v.
#pragma once

#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/part.h"

namespace fitwright::planner {

// Closed, counter-clockwise. From points[i] to the next the way turns left by turns[i] (0 = straight,
// negative = right, as in a rounded inside corner).
struct ClosedWay {
  std::vector<Vec2> points_mm;
  std::vector<double> turns_rad;
};

// Signed distance of a point to the rim of a bar or disc, negative inside.
double DistanceTo(const Outline::Bar& bar, const Vec2& point_mm);
double DistanceTo(const Outline::Disc& disc, const Vec2& point_mm);

// Errors: kNoPlan where the discs and bars are not one piece or enclose a hole.
Result<ClosedWay> OutlineWay(const Outline& outline);

}  // namespace fitwright::planner
