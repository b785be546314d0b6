// Private to this layer: polygons in the plane and faces made of them.
#pragma once

#include <vector>

#include "fitwright/solid/kernel.h"
#include "fitwright/solid/primitives.h"
#include "fitwright/solid/solid.h"
#include "fitwright/units/geometry.h"

namespace fitwright::solid {

// Signed, counter-clockwise positive, mm2.
double CalcPolygonArea(const std::vector<Vec2>& polygon);

// Without repeated points and without points on the straight line between their neighbours.
std::vector<Vec2> TidyPolygon(const std::vector<Vec2>& polygon);

// Counter-clockwise convex hull, without points on its edges; ties by x, then y.
std::vector<Vec2> CalcConvexHull(std::vector<Vec2> points);

// The part of a convex polygon with x >= 0.
std::vector<Vec2> ClipToPositiveX(const std::vector<Vec2>& convex);

// Triangles that tile a simple polygon of either winding (ear clipping); counter-clockwise.
std::vector<std::vector<Vec2>> Triangulate(const std::vector<Vec2>& polygon);

// Union of convex polygons lying in the plane of `frame`'s x and y, as a compound of faces.
TopoDS_Shape FuseConvex(const Pose& frame, const std::vector<std::vector<Vec2>>& polygons);

TopoDS_Face MakePolygonFace(const Pose& frame, const std::vector<Vec2>& polygon);

// The base of a rounded rectangle, square to shape.up.
TopoDS_Face MakeRoundedFace(const RoundedRectangle& shape);

// Faces of one plane joined into as few as possible.
TopoDS_Shape FuseFaces(const std::vector<TopoDS_Shape>& faces);

// Turned outward where the making left a solid inside out, then wrapped.
Solid WrapOutward(const TopoDS_Shape& shape);

}  // namespace fitwright::solid
