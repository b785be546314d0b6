// Private to this layer, and its only header that names the kernel's own: the shape behind a Solid,
// and the guard against the kernel's exceptions.
#pragma once

#include <BRepAdaptor_Curve.hxx>
#include <Standard_Failure.hxx>
#include <TopoDS_Face.hxx>
#include <TopoDS_Shape.hxx>
#include <atomic>
#include <exception>
#include <gp_Ax2.hxx>
#include <gp_Dir.hxx>
#include <gp_Pnt.hxx>
#include <gp_Trsf.hxx>
#include <limits>
#include <string>
#include <string_view>
#include <utility>

#include "fitwright/base/result.h"
#include "fitwright/solid/solid.h"
#include "fitwright/units/geometry.h"

namespace fitwright::solid {

// Always a TopoDS_Compound of TopoDS_Solids, at least one. The volumes are worked out once, when
// first wanted (NaN until then); two threads that meet there find the same number.
struct KernelShape {
  explicit KernelShape(TopoDS_Shape made) : shape(std::move(made)) {}
  TopoDS_Shape shape;
  mutable std::atomic<double> volume_mm3{std::numeric_limits<double>::quiet_NaN()};
  mutable std::atomic<double> quick_volume_mm3{std::numeric_limits<double>::quiet_NaN()};
};

// The solids in the shape, as a Solid; empty when there are none.
Solid Wrap(const TopoDS_Shape& shape);
// Share of the volume to which the quadrature refines each face. Without it faces bordered by
// crossing bores are out by 1e-6 of the part; with it by 1e-10, at the same cost.
inline constexpr double kQuadrature = 1e-8;
// By the kernel's plain quadrature: out by up to 2e-6 where bores cross, a third of the cost.
double CalcQuickVolume_mm3(const Solid& solid);
// The kernel's shape; the solid must not be empty.
const TopoDS_Shape& ShapeOf(const Solid& solid);

Error KernelError(std::string_view what, std::string_view detail);
Error RangeError(std::string message, std::string value, std::string remedy);

inline constexpr double kOnSurface_mm = 1e-6;  // nearer than this to a surface is on it

inline gp_Pnt ToPnt(const Vec3& p) { return {p.x(), p.y(), p.z()}; }
inline gp_Dir ToDir(const Vec3& d) { return {d.x(), d.y(), d.z()}; }
inline Vec3 ToVec(const gp_Pnt& p) { return {p.X(), p.Y(), p.Z()}; }
gp_Trsf ToTrsf(const Pose& X_AB);
// Axis system on the axis whose x depends on the direction alone and avoids the frame's own axes,
// so that seams of round faces keep clear of the symmetry planes of drawn parts.
gp_Ax2 ToAx2(const Axis3& axis);

// Runs body() -> Result<T>; the kernel's and the library's exceptions become Error{kKernel}.
template <typename Body>
auto Guard(std::string_view what, Body&& body) -> decltype(body()) {
  try {
    return body();
  } catch (const Standard_Failure& failure) {
    const char* text = failure.GetMessageString();
    return Unexpected(KernelError(what, text != nullptr && *text != 0 ? text : "no detail"));
  } catch (const std::exception& failure) {
    return Unexpected(KernelError(what, failure.what()));
  }
}

}  // namespace fitwright::solid
