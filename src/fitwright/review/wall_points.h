// Points on the walls of what is cut into a part, and the metal behind them. Private to this layer.
#pragma once

#include <functional>
#include <optional>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/part.h"
#include "fitwright/review/review.h"

namespace fitwright::review {

// Frame P. out: unit, into the metal; along: unit, in the wall, away from the mouth;
// zero where the wall runs right round and its mouth is no thinner than the rest.
struct WallPoint {
  Vec3 at_mm = Vec3::Zero();
  Vec3 out = Vec3::UnitX();
  Vec3 along = -Vec3::UnitZ();
  bool floor = false;  // at the bottom of a blind cut
};

// About one a millimetre round holes, slots and pockets at three depths, at the bottom of blind
// ones, and on the walls and the floor of grooves; none for other features.
std::vector<WallPoint> WallPointsOf(const Part& part, const Feature& feature);

// Metal from a point along a direction to the next surface; none where the point stands in air.
using MetalBehind =
    std::function<Result<std::optional<double>>(const Vec3& from, const Vec3& direction)>;

// Least metal behind the points where it is less than least_mm: straight out, and not thinner than
// what slanting looks show, so that the mouth of a hole in round work does not count as a wall.
// None when nothing is thinner.
Result<std::optional<double>> FindThinWall_mm(const std::vector<WallPoint>& points, double least_mm,
                                              const MetalBehind& metal);

// What is asked of the walls of this feature.
double LeastWallOf(const Part& part, const Feature& feature, const ReviewLimits& limits);

}  // namespace fitwright::review
