#include "fitwright/reckon/hole_layout.h"

#include <cmath>

#include "fitwright/base/check.h"

namespace fitwright::reckon {

std::vector<Vec2> PointsOnCircle(const Vec2& centre_mm, double radius_mm, int count,
                                 double start_rad, double step_rad) {
  FW_CHECK(count >= 1, count);
  std::vector<Vec2> points;
  for (int i = 0; i < count; ++i) {
    const double angle_rad = start_rad + i * step_rad;
    points.push_back(centre_mm + radius_mm * Vec2(std::cos(angle_rad), std::sin(angle_rad)));
  }
  return points;
}

double ChordOf_mm(double diameter_mm, int count) {
  FW_CHECK(count >= 2, count);
  return diameter_mm * std::sin(kPi / count);
}

std::vector<Vec2> PointsOfGrid(const Grid& grid) {
  const Vec2 along(std::cos(grid.turn_rad), std::sin(grid.turn_rad));
  const Vec2 across(-along.y(), along.x());
  std::vector<Vec2> points;
  for (int row = 0; row < grid.rows; ++row) {
    for (int column = 0; column < grid.columns; ++column) {
      points.push_back(grid.first_mm + column * grid.pitch_mm.x() * along +
                       row * grid.pitch_mm.y() * across);
    }
  }
  return points;
}

}  // namespace fitwright::reckon
