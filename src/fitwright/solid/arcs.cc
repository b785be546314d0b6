#include "fitwright/solid/arcs.h"

#include <BRepBuilderAPI_MakeEdge.hxx>
#include <BRepBuilderAPI_MakeFace.hxx>
#include <BRepBuilderAPI_MakeWire.hxx>
#include <BRepPrimAPI_MakePrism.hxx>
#include <BRepPrimAPI_MakeRevol.hxx>
#include <GC_MakeArcOfCircle.hxx>
#include <cmath>
#include <gp_Pln.hxx>
#include <gp_Vec.hxx>

#include "fitwright/solid/planar.h"

namespace fitwright::solid {
namespace {

constexpr double kStraight_rad = 1e-9;

// The arc's middle lies to the right of the way where it turns left.
Vec2 MiddleOfArc(const Vec2& a, const Vec2& b, double turn_rad) {
  const Vec2 chord = b - a;
  const Vec2 right(chord.y(), -chord.x());
  return 0.5 * (a + b) + 0.5 * std::tan(0.25 * turn_rad) * right;
}

}  // namespace

TopoDS_Face MakeArcFace(const Pose& frame, const ArcOutline& outline) {
  const auto at = [&](const Vec2& p) { return ToPnt(frame * Vec3(p.x(), p.y(), 0)); };
  const std::size_t count = outline.points_mm.size();
  BRepBuilderAPI_MakeWire wire;
  for (std::size_t i = 0; i < count; ++i) {
    const Vec2& a = outline.points_mm[i];
    const Vec2& b = outline.points_mm[(i + 1) % count];
    const double turn = outline.turns_rad[i];
    if ((b - a).norm() < kGeometryNoise_mm) continue;
    if (std::abs(turn) < kStraight_rad) {
      wire.Add(BRepBuilderAPI_MakeEdge(at(a), at(b)).Edge());
    } else {
      const gp_Pnt middle = at(MiddleOfArc(a, b, turn));
      wire.Add(BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(at(a), middle, at(b)).Value()).Edge());
    }
  }
  const Vec3 normal = frame.linear().col(2);
  const gp_Pln plane(ToPnt(frame.translation()), ToDir(normal));
  return BRepBuilderAPI_MakeFace(plane, wire.Wire(), true).Face();
}

Result<Solid> MakeArcPrism(const Pose& frame, const ArcOutline& outline, double height_mm) {
  return Guard("prism", [&]() -> Result<Solid> {
    const Vec3 by = height_mm * frame.linear().col(2);
    const TopoDS_Face face = MakeArcFace(frame, outline);
    return WrapOutward(BRepPrimAPI_MakePrism(face, gp_Vec(by.x(), by.y(), by.z())).Shape());
  });
}

Result<Solid> MakeArcRevolve(const Axis3& axis, const ArcOutline& outline) {
  return Guard("revolve", [&]() -> Result<Solid> {
    const gp_Ax2 ax2 = ToAx2(axis);
    Pose frame = Pose::Identity();
    frame.linear().col(0) = Vec3(ax2.XDirection().X(), ax2.XDirection().Y(), ax2.XDirection().Z());
    frame.linear().col(1) = axis.direction.normalized();
    frame.linear().col(2) = frame.linear().col(0).cross(frame.linear().col(1));
    frame.translation() = axis.point_mm;
    const TopoDS_Face face = MakeArcFace(frame, outline);
    return WrapOutward(BRepPrimAPI_MakeRevol(face, ax2.Axis()).Shape());
  });
}

}  // namespace fitwright::solid
