// Private to this layer: flat outlines of straight lines and arcs, and solids on them. mm, rad.
#pragma once

#include <vector>

#include "fitwright/solid/kernel.h"
#include "fitwright/solid/solid.h"
#include "fitwright/units/geometry.h"

namespace fitwright::solid {

// Closed; from points[i] the way goes to points[i + 1] (the last one back to the first) turning
// left by turns[i] (right when negative, 0 = straight). Must not cross itself.
struct ArcOutline {
  std::vector<Vec2> points_mm;
  std::vector<double> turns_rad;
  // The next point, and how the way turns after it.
  void To(const Vec2& point, double turn_rad = 0) {
    points_mm.push_back(point);
    turns_rad.push_back(turn_rad);
  }
};

// In the plane of frame's x and y. Throws the kernel's own exceptions; for use inside Guard.
TopoDS_Face MakeArcFace(const Pose& frame, const ArcOutline& outline);

// Standing from the plane of frame's x and y by height_mm along its z. Errors: kKernel.
Result<Solid> MakeArcPrism(const Pose& frame, const ArcOutline& outline, double height_mm);

// Points as (r, z), r >= 0, turned about the axis; the seam stands as MakeRevolve's. Errors:
// kKernel.
Result<Solid> MakeArcRevolve(const Axis3& axis, const ArcOutline& outline);

}  // namespace fitwright::solid
