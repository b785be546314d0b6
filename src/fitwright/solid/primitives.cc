#include "fitwright/solid/primitives.h"

#include <BRepBuilderAPI_MakeEdge.hxx>
#include <BRepBuilderAPI_MakeFace.hxx>
#include <BRepBuilderAPI_MakePolygon.hxx>
#include <BRepBuilderAPI_MakeWire.hxx>
#include <BRepPrimAPI_MakeBox.hxx>
#include <BRepPrimAPI_MakePrism.hxx>
#include <BRepPrimAPI_MakeRevol.hxx>
#include <GC_MakeArcOfCircle.hxx>
#include <TopoDS_Face.hxx>
#include <TopoDS_Wire.hxx>
#include <algorithm>
#include <cmath>
#include <gp_Ax1.hxx>
#include <gp_Vec.hxx>

#include "fitwright/solid/kernel.h"
#include "fitwright/solid/planar.h"

namespace fitwright::solid {
namespace {

Error NoVolume(const char* what, double value) {
  return RangeError(fmt::format("{} leaves no volume", what), fmt::format("{:.6g} mm", value),
                    "give a size above zero");
}

bool Usable(double size_mm) { return std::isfinite(size_mm) && size_mm > kGeometryNoise_mm; }

Result<Solid> Extrude(const TopoDS_Face& face, const Vec3& by) {
  return WrapOutward(BRepPrimAPI_MakePrism(face, gp_Vec(by.x(), by.y(), by.z())).Shape());
}

}  // namespace

Result<Solid> MakeBox(const Box3& box) {
  const Vec3 size = box.size_mm();
  if (!Usable(size.minCoeff())) return Unexpected(NoVolume("a box side", size.minCoeff()));
  return Guard("box", [&]() -> Result<Solid> {
    return Wrap(BRepPrimAPI_MakeBox(ToPnt(box.min_mm), ToPnt(box.max_mm)).Solid());
  });
}

Result<Solid> MakeRevolve(const Axis3& axis, const std::vector<Vec2>& polygon_rz_mm) {
  const std::vector<Vec2> polygon = TidyPolygon(polygon_rz_mm);
  const double area = polygon.size() < 3 ? 0 : std::abs(CalcPolygonArea(polygon));
  if (!(area > kGeometryNoise_mm)) return Unexpected(NoVolume("a turned outline's area", area));
  for (const Vec2& p : polygon) {
    if (p.x() < -kGeometryNoise_mm) return Unexpected(NoVolume("a negative radius", p.x()));
  }
  return Guard("revolve", [&]() -> Result<Solid> {
    const gp_Ax2 ax2 = ToAx2(axis);
    const Vec3 radial(ax2.XDirection().X(), ax2.XDirection().Y(), ax2.XDirection().Z());
    const Vec3 up = axis.direction.normalized();
    BRepBuilderAPI_MakePolygon wire;
    for (const Vec2& p : polygon) {
      const double r = p.x() < kGeometryNoise_mm ? 0.0 : p.x();
      wire.Add(ToPnt(axis.point_mm + r * radial + p.y() * up));
    }
    wire.Close();
    const TopoDS_Face face = BRepBuilderAPI_MakeFace(wire.Wire(), true).Face();
    return WrapOutward(BRepPrimAPI_MakeRevol(face, ax2.Axis()).Shape());
  });
}

Result<Solid> MakeFrustum(const Axis3& axis, double from_mm, double to_mm, double from_diameter_mm,
                          double to_diameter_mm) {
  if (!Usable(to_mm - from_mm)) return Unexpected(NoVolume("a length", to_mm - from_mm));
  const double largest = std::max(from_diameter_mm, to_diameter_mm);
  if (!Usable(largest)) return Unexpected(NoVolume("a diameter", largest));
  std::vector<Vec2> outline = {{0, from_mm}};
  if (from_diameter_mm > kGeometryNoise_mm) outline.emplace_back(0.5 * from_diameter_mm, from_mm);
  if (to_diameter_mm > kGeometryNoise_mm) outline.emplace_back(0.5 * to_diameter_mm, to_mm);
  outline.emplace_back(0, to_mm);
  return MakeRevolve(axis, outline);
}

Result<Solid> MakeCylinder(const Axis3& axis, double from_mm, double to_mm, double diameter_mm) {
  return MakeFrustum(axis, from_mm, to_mm, diameter_mm, diameter_mm);
}

Result<Solid> MakeRing(const Axis3& axis, double from_mm, double to_mm, double outer_mm,
                       double inner_mm) {
  if (!Usable(to_mm - from_mm)) return Unexpected(NoVolume("a length", to_mm - from_mm));
  if (!Usable(outer_mm - inner_mm)) return Unexpected(NoVolume("a ring", outer_mm - inner_mm));
  const double r = 0.5 * std::max(inner_mm, 0.0);
  const double big = 0.5 * outer_mm;
  return MakeRevolve(axis, {{r, from_mm}, {big, from_mm}, {big, to_mm}, {r, to_mm}});
}

Result<Solid> MakePrism(const Pose& frame, const std::vector<Vec2>& polygon_mm, double from_mm,
                        double to_mm) {
  const std::vector<Vec2> polygon = TidyPolygon(polygon_mm);
  const double area = polygon.size() < 3 ? 0 : std::abs(CalcPolygonArea(polygon));
  if (!(area > kGeometryNoise_mm)) return Unexpected(NoVolume("a prism's area", area));
  if (!Usable(to_mm - from_mm)) return Unexpected(NoVolume("a prism's height", to_mm - from_mm));
  return Guard("prism", [&]() -> Result<Solid> {
    BRepBuilderAPI_MakePolygon wire;
    for (const Vec2& p : polygon) wire.Add(ToPnt(frame * Vec3(p.x(), p.y(), from_mm)));
    wire.Close();
    const TopoDS_Face face = BRepBuilderAPI_MakeFace(wire.Wire(), true).Face();
    const Vec3 by = frame.linear() * Vec3(0, 0, to_mm - from_mm);
    return WrapOutward(BRepPrimAPI_MakePrism(face, gp_Vec(by.x(), by.y(), by.z())).Shape());
  });
}

Result<Solid> MakeObround(const Vec3& a_mm, const Vec3& b_mm, const Vec3& up, double width_mm,
                          double height_mm) {
  const Vec3 along = b_mm - a_mm;
  if (!Usable(along.norm())) return MakeCylinder({a_mm, up}, 0, height_mm, width_mm);
  return MakeRoundedRectangle({.centre_mm = 0.5 * (a_mm + b_mm),
                               .along = along,
                               .up = up,
                               .length_mm = along.norm() + width_mm,
                               .width_mm = width_mm,
                               .corner_radius_mm = 0.5 * width_mm,
                               .height_mm = height_mm});
}

Result<Solid> MakeRoundedRectangle(const RoundedRectangle& shape) {
  const double smallest = std::min({shape.length_mm, shape.width_mm, shape.height_mm});
  if (!Usable(smallest)) return Unexpected(NoVolume("a pocket or slot side", smallest));
  if (shape.corner_radius_mm < 0 ||
      2 * shape.corner_radius_mm > std::min(shape.width_mm, shape.length_mm) + kDrawnAlike_mm) {
    return Unexpected(RangeError("a corner radius must lie between 0 and half the width",
                                 fmt::format("{:.6g} mm", shape.corner_radius_mm),
                                 "give a smaller corner radius"));
  }
  return Guard("rounded rectangle", [&]() -> Result<Solid> {
    return Extrude(MakeRoundedFace(shape), shape.up.normalized() * shape.height_mm);
  });
}

Result<Solid> MakeBeyond(const Vec3& point_mm, const Vec3& normal, double reach_mm) {
  if (!(normal.norm() > 0)) return Unexpected(NoVolume("a direction", normal.norm()));
  const gp_Ax2 ax2 = ToAx2({point_mm, normal.normalized()});
  const Vec3 x(ax2.XDirection().X(), ax2.XDirection().Y(), ax2.XDirection().Z());
  Pose frame = Pose::Identity();
  frame.linear().col(0) = x;
  frame.linear().col(2) = normal.normalized();
  frame.linear().col(1) = normal.normalized().cross(x);
  frame.translation() = point_mm;
  const double w = reach_mm;
  return MakePrism(frame, {{-w, -w}, {w, -w}, {w, w}, {-w, w}}, 0, reach_mm);
}

}  // namespace fitwright::solid
