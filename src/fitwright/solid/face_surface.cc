#include <cmath>
#include <gp_Cone.hxx>
#include <gp_Cylinder.hxx>
#include <gp_Pln.hxx>
#include <gp_Sphere.hxx>
#include <gp_Torus.hxx>
#include <limits>

#include "fitwright/solid/face_graph_internal.h"
#include "fitwright/solid/kernel.h"

namespace fitwright::solid {
namespace {

Axis3 AxisOf(const gp_Ax1& axis) {
  const gp_Dir& d = axis.Direction();
  return {ToVec(axis.Location()), Vec3(d.X(), d.Y(), d.Z())};
}

Surface ConeOf(const gp_Cone& cone) {
  Surface found;
  found.kind = SurfaceKind::kCone;
  found.axis_F = AxisOf(cone.Axis());
  if (cone.SemiAngle() < 0) found.axis_F.direction *= -1;
  found.half_angle_rad = std::abs(cone.SemiAngle());
  found.radius_mm = cone.RefRadius();
  return found;
}

// Distance from a point to the axis' line.
double OffAxis_mm(const Axis3& axis, const Vec3& point) {
  return (point - axis.point_mm).cross(axis.direction).norm();
}

bool IsSameAxis(const Axis3& a, const Axis3& b, double extent_mm, double tolerance_mm) {
  return a.direction.cross(b.direction).norm() * extent_mm <= tolerance_mm &&
         OffAxis_mm(a, b.point_mm) <= tolerance_mm;
}

}  // namespace

Vec3 CanonicalDirection(const Vec3& direction) {
  constexpr double kZero = 1e-9;
  for (int i = 0; i < 3; ++i) {
    if (std::abs(direction[i]) > kZero) return direction[i] > 0 ? direction : Vec3(-direction);
  }
  return direction;
}

Surface ElementarySurface(const BRepAdaptor_Surface& surface) {
  Surface found;
  switch (surface.GetType()) {
    case GeomAbs_Plane:
      found.kind = SurfaceKind::kPlane;
      found.axis_F = AxisOf(surface.Plane().Axis());
      return found;
    case GeomAbs_Cylinder:
      found.kind = SurfaceKind::kCylinder;
      found.axis_F = AxisOf(surface.Cylinder().Axis());
      found.radius_mm = surface.Cylinder().Radius();
      break;
    case GeomAbs_Cone:
      return ConeOf(surface.Cone());
    case GeomAbs_Sphere:
      found.kind = SurfaceKind::kSphere;
      found.axis_F = {ToVec(surface.Sphere().Location()), Vec3::UnitZ()};
      found.radius_mm = surface.Sphere().Radius();
      return found;
    case GeomAbs_Torus:
      found.kind = SurfaceKind::kTorus;
      found.axis_F = AxisOf(surface.Torus().Axis());
      found.radius_mm = surface.Torus().MajorRadius();
      found.minor_radius_mm = surface.Torus().MinorRadius();
      break;
    default:
      return found;
  }
  found.axis_F.direction = CanonicalDirection(found.axis_F.direction);
  return found;
}

double QuadratureOf(const TopoDS_Face& face) {
  constexpr double kOnSplines = 1e-6;
  return BRepAdaptor_Surface(face, false).GetType() > GeomAbs_Torus ? kOnSplines : kQuadrature;
}

void CentreAxis(const std::vector<Vec3>& points, Surface& surface) {
  if (surface.kind != SurfaceKind::kCylinder && surface.kind != SurfaceKind::kCone) return;
  double from = std::numeric_limits<double>::infinity();
  double to = -from;
  for (const Vec3& point : points) {
    const double along = (point - surface.axis_F.point_mm).dot(surface.axis_F.direction);
    from = std::min(from, along);
    to = std::max(to, along);
  }
  if (from > to) return;
  const double middle = 0.5 * (from + to);
  surface.axis_F.point_mm += middle * surface.axis_F.direction;
  if (surface.kind == SurfaceKind::kCone) {
    surface.radius_mm += middle * std::tan(surface.half_angle_rad);
  }
}

bool IsSameSurface(const Surface& a, const Surface& b, double extent_mm, double tolerance_mm) {
  if (a.kind != b.kind) return false;
  const auto near = [&](double one, double other) { return std::abs(one - other) <= tolerance_mm; };
  switch (a.kind) {
    case SurfaceKind::kPlane:
      return a.axis_F.direction.dot(b.axis_F.direction) > 0 &&
             a.axis_F.direction.cross(b.axis_F.direction).norm() * extent_mm <= tolerance_mm &&
             std::abs((b.axis_F.point_mm - a.axis_F.point_mm).dot(a.axis_F.direction)) <=
                 tolerance_mm;
    case SurfaceKind::kCylinder:
      return near(a.radius_mm, b.radius_mm) &&
             IsSameAxis(a.axis_F, b.axis_F, extent_mm, tolerance_mm);
    case SurfaceKind::kCone: {
      if (a.axis_F.direction.dot(b.axis_F.direction) < 0) return false;
      const double along = (b.axis_F.point_mm - a.axis_F.point_mm).dot(a.axis_F.direction);
      return std::abs(a.half_angle_rad - b.half_angle_rad) * extent_mm <= tolerance_mm &&
             near(a.radius_mm + along * std::tan(a.half_angle_rad), b.radius_mm) &&
             IsSameAxis(a.axis_F, b.axis_F, extent_mm, tolerance_mm);
    }
    case SurfaceKind::kSphere:
      return near(a.radius_mm, b.radius_mm) &&
             (a.axis_F.point_mm - b.axis_F.point_mm).norm() <= tolerance_mm;
    case SurfaceKind::kTorus:
      return near(a.radius_mm, b.radius_mm) && near(a.minor_radius_mm, b.minor_radius_mm) &&
             (a.axis_F.point_mm - b.axis_F.point_mm).norm() <= tolerance_mm &&
             IsSameAxis(a.axis_F, b.axis_F, extent_mm, tolerance_mm);
    case SurfaceKind::kHelical:
    case SurfaceKind::kOther:
      return false;
  }
  return false;
}

}  // namespace fitwright::solid
