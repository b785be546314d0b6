#include "fitwright/solid/outline_prism.h"

#include <BRepBuilderAPI_MakeEdge.hxx>
#include <BRepBuilderAPI_MakeFace.hxx>
#include <BRepBuilderAPI_MakeWire.hxx>
#include <BRepPrimAPI_MakePrism.hxx>
#include <GC_MakeArcOfCircle.hxx>
#include <cmath>
#include <gp_Vec.hxx>

#include "fitwright/solid/kernel.h"
#include "fitwright/solid/planar.h"

namespace fitwright::solid {
namespace {

Vec3 At(const Vec2& p, double z_mm) { return {p.x(), p.y(), z_mm}; }

// The arc's middle lies to the right of the way where it turns left.
Vec2 MiddleOfArc(const Vec2& a, const Vec2& b, double turn_rad) {
  const Vec2 chord = b - a;
  const Vec2 right(chord.y(), -chord.x());
  return 0.5 * (a + b) + 0.5 * std::tan(0.25 * turn_rad) * right;
}

}  // namespace

Result<Solid> MakeOutlinePrism(const PlanOutline& outline) {
  const std::size_t count = outline.points_mm.size();
  if (count < 2 || outline.turns_rad.size() != count)
    return Unexpected(RangeError("an outline needs two points or more, each with its turn", fmt::format("{}", count), "add points"));
  if (!(outline.to_mm - outline.from_mm > kGeometryNoise_mm)) {
    return Unexpected(RangeError("an outline prism has no height", fmt::format("{:.6g} mm", outline.to_mm - outline.from_mm),
                                 "let it end above where it begins"));
  }
  for (const double turn : outline.turns_rad) {
    if (std::abs(turn) < 2 * kPi - 1e-6) continue;
    return Unexpected(RangeError("an arc of an outline turns a full circle", fmt::format("{:.6g} rad", turn), "split it in two"));
  }
  return Guard("outline prism", [&]() -> Result<Solid> {
    BRepBuilderAPI_MakeWire wire;
    for (std::size_t i = 0; i < count; ++i) {
      const Vec2& a = outline.points_mm[i];
      const Vec2& b = outline.points_mm[(i + 1) % count];
      const double turn = outline.turns_rad[i];
      const gp_Pnt from = ToPnt(At(a, outline.from_mm));
      const gp_Pnt to = ToPnt(At(b, outline.from_mm));
      if (std::abs(turn) < 1e-9) {
        wire.Add(BRepBuilderAPI_MakeEdge(from, to).Edge());
      } else {
        const gp_Pnt middle = ToPnt(At(MiddleOfArc(a, b, turn), outline.from_mm));
        wire.Add(BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(from, middle, to).Value()).Edge());
      }
    }
    const TopoDS_Face face = BRepBuilderAPI_MakeFace(wire.Wire(), true).Face();
    return WrapOutward(BRepPrimAPI_MakePrism(face, gp_Vec(0, 0, outline.to_mm - outline.from_mm)).Shape());
  });
}

}  // namespace fitwright::solid
