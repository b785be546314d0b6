// Private to this layer: elementary surfaces and curves through sampled points, by least squares.
#pragma once

#include <optional>
#include <vector>

#include "fitwright/solid/face_graph.h"

namespace fitwright::solid {

// Points of a surface and its unit normals there, all to one side of it.
struct SurfaceSamples {
  std::vector<Vec3> points;
  std::vector<Vec3> normals;
};

// Signed distance from the surface, positive on the side away from its axis (plane: of its normal).
double CalcDistance_mm(const Surface& surface, const Vec3& point);

// The simplest elementary surface that no sample is farther from than the tolerance and whose normals
// agree; a less simple one when it fits a hundred times better. Directions by face_graph.h's rule.
std::optional<Surface> FitSurface(const SurfaceSamples& samples, double tolerance_mm);

// The helical surface that the normals of the samples speak of, to within a degree each: a turn about an
// axis with an advance moves every point along the surface. Nothing for surfaces that more than one such
// movement keeps (elementary ones do).
std::optional<Surface> FitScrew(const SurfaceSamples& samples);

struct FittedCurve {
  CurveKind kind = CurveKind::kOther;
  Axis3 axis;
  double radius_mm = 0;
};
// A line, circle or ellipse that no point of the curve is farther from than the tolerance, else kOther.
FittedCurve FitCurve(const std::vector<Vec3>& points, double tolerance_mm);

}  // namespace fitwright::solid
