// Closed lines in a plane, of straight stretches and arcs, as the border of an outline or a cutout. mm, rad.
#pragma once

#include <optional>
#include <utility>
#include <vector>

#include "fitwright/units/geometry.h"

namespace fitwright {

// From here the line goes to the next corner (the last one's next is the first), turning left by
// turn_rad on its way: 0 = straight, right when negative, less than a full circle.
struct LineCorner {
  Vec2 at_mm = Vec2::Zero();
  double turn_rad = 0;
};
// Either way round; must not cross itself.
using ClosedLine = std::vector<LineCorner>;

// The half way point of the stretch that begins at corner i.
Vec2 MiddleOf(const ClosedLine& line, std::size_t i);
// The area within, above 0 where the line runs anticlockwise.
double AreaWithin_mm2(const ClosedLine& line);
// Least and greatest u and v.
std::pair<Vec2, Vec2> ReachOf(const ClosedLine& line);
bool Encloses(const ClosedLine& line, const Vec2& point_mm);
// To the nearest point of the line, negative within.
double DistanceTo(const ClosedLine& line, const Vec2& point_mm);
// The stretches of point + s * direction (not of unit length: s scales) within the line, ascending,
// from and to; all of it or nothing where the direction is zero.
std::vector<std::pair<double, double>> StretchesWithin(const ClosedLine& line, const Vec2& point_mm,
                                                       const Vec2& direction);
// Two stretches that meet elsewhere than at a corner they share; arcs by chords of a sixteenth.
bool CrossesItself(const ClosedLine& line);
// Seen in a mirror: v is counted the other way.
ClosedLine Mirrored(ClosedLine line);

// The turn of an arc between two points by its radius (above 0 turning left), never over half a
// circle; nothing where the points are farther apart than the circle is wide.
std::optional<double> TurnOfArc(const Vec2& from_mm, const Vec2& to_mm, double radius_mm);
// The other way: 0 for a straight stretch.
double RadiusOf(const ClosedLine& line, std::size_t i);

}  // namespace fitwright
