// Elementary solids. Lengths in mm, angles in rad, all in the caller's frame. Sizes that are not
// finite or leave no volume give Error{kOutOfRange}; the kernel's own failures give Error{kKernel}.
#pragma once

#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/solid/solid.h"
#include "fitwright/units/geometry.h"

namespace fitwright::solid {

Result<Solid> MakeBox(const Box3& box);

// from_mm < to_mm along axis.direction from axis.point_mm, as in all that follows.
Result<Solid> MakeCylinder(const Axis3& axis, double from_mm, double to_mm, double diameter_mm);

// Cylinder with a hole; inner_mm = 0 gives the full cylinder.
Result<Solid> MakeRing(const Axis3& axis, double from_mm, double to_mm, double outer_mm,
                       double inner_mm);

// Cone frustum; one of the two diameters may be 0, equal ones give a cylinder.
Result<Solid> MakeFrustum(const Axis3& axis, double from_mm, double to_mm, double from_diameter_mm,
                          double to_diameter_mm);

// Straight prism on a simple polygon. `frame` X_FQ takes the polygon's plane (x, y, 0) to the
// caller's frame; the prism stands from z = from_mm to z = to_mm of that plane's frame. Either
// winding.
Result<Solid> MakePrism(const Pose& frame, const std::vector<Vec2>& polygon_mm, double from_mm,
                        double to_mm);

// A simple polygon given as (r, z), r >= 0, turned through a full circle about the axis; z counts
// along axis.direction from axis.point_mm. Either winding. The seam lies at an angle that depends
// on the axis direction alone, so that coaxial solids share it.
Result<Solid> MakeRevolve(const Axis3& axis, const std::vector<Vec2>& polygon_rz_mm);

// Obround prism: a cylinder of diameter width_mm moved from a to b (both in one plane square to
// `up`, a != b), standing from a by height_mm along `up` (unit, square to b - a).
Result<Solid> MakeObround(const Vec3& a_mm, const Vec3& b_mm, const Vec3& up, double width_mm,
                          double height_mm);

// Rectangle length x width with rounded corners (0 <= corner_radius <= width/2) about `centre`, the
// length along `along`, standing from centre by height_mm along `up`.
struct RoundedRectangle {
  Vec3 centre_mm = Vec3::Zero();
  Vec3 along = Vec3::UnitX();
  Vec3 up = Vec3::UnitZ();
  double length_mm = 0;
  double width_mm = 0;
  double corner_radius_mm = 0;
  double height_mm = 0;
};
Result<Solid> MakeRoundedRectangle(const RoundedRectangle& shape);

// What lies beyond the plane through `point` on the side that `normal` (any length > 0) points to:
// a box square to the plane, reach_mm deep and 2 * reach_mm wide about the point.
Result<Solid> MakeBeyond(const Vec3& point_mm, const Vec3& normal, double reach_mm = 2000);

}  // namespace fitwright::solid
