// Private to this layer: sampling of curves and tidying of drawn lines.
#pragma once

#include <vector>

#include "fitwright/solid/kernel.h"
#include "fitwright/solid/views.h"

namespace fitwright::solid {

// Points on the curve from its first to its last parameter, chords at most chord_mm off it.
std::vector<Vec3> SampleCurve(const BRepAdaptor_Curve& curve, double chord_mm);

// As few of the points as leave none further than chord_mm from the drawn line; both ends stay.
std::vector<Vec2> Thinned(const std::vector<Vec2>& points, double chord_mm);

// Each line without the stretches that lie within one_line_mm of a line before it, and without what
// is then shorter than speck_mm.
std::vector<DrawingLine> DropCovered(const std::vector<DrawingLine>& lines, double one_line_mm,
                                     double speck_mm);

}  // namespace fitwright::solid
