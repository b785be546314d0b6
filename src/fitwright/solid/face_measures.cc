#include <BRepBndLib.hxx>
#include <BRepGProp.hxx>
#include <BRepTools.hxx>
#include <BRepTopAdaptor_FClass2d.hxx>
#include <BRep_Tool.hxx>
#include <Bnd_Box.hxx>
#include <GProp_GProps.hxx>
#include <Geom2d_Curve.hxx>
#include <algorithm>
#include <cmath>

#include "fitwright/solid/face_graph_internal.h"
#include "fitwright/solid/kernel.h"
#include "fitwright/solid/surface_fit.h"

namespace fitwright::solid {
namespace {

struct UvBox {
  double u0 = 0;
  double u1 = 0;
  double v0 = 0;
  double v1 = 0;
};

UvBox UvOf(const TopoDS_Face& face) {
  UvBox uv;
  BRepTools::UVBounds(face, uv.u0, uv.u1, uv.v0, uv.v1);
  return uv;
}

double FromSegment_mm(const Vec3& point, const Vec3& a, const Vec3& b) {
  const Vec3 run = b - a;
  const double squared = run.squaredNorm();
  const double share = squared > 0 ? std::clamp((point - a).dot(run) / squared, 0.0, 1.0) : 0;
  return (point - a - share * run).norm();
}

double FromBorder_mm(const RawGraph& graph, std::size_t face, const Vec3& point) {
  double least = std::numeric_limits<double>::infinity();
  for (const EdgeUse& use : graph.uses[face]) {
    const RawEdge& edge = graph.edges[use.edge];
    if (edge.seam) continue;
    for (std::size_t i = 1; i < edge.line_F.size(); ++i) {
      least = std::min(least, FromSegment_mm(point, edge.line_F[i - 1], edge.line_F[i]));
    }
  }
  return least;
}

struct Inner {
  gp_Pnt2d uv;
  Vec3 point = Vec3::Zero();
};

// The point of a grid over the face that lies farthest from its edges; finer grids for narrow
// faces.
std::optional<Inner> FindInner(const RawGraph& graph, std::size_t face,
                               const BRepAdaptor_Surface& surface, const UvBox& uv,
                               const BRepTopAdaptor_FClass2d& trim) {
  for (const int count : {7, 23, 91}) {
    std::optional<Inner> best;
    double best_mm = kGeometryNoise_mm;
    for (int i = 0; i < count * count; ++i) {
      const int column = i % count, row = i / count;
      const double s = (column + 0.5) / count;
      const double t = (row + 0.5) / count;
      const gp_Pnt2d at(uv.u0 + s * (uv.u1 - uv.u0), uv.v0 + t * (uv.v1 - uv.v0));
      if (trim.Perform(at) != TopAbs_IN) continue;
      const Vec3 point = ToVec(surface.Value(at.X(), at.Y()));
      const double clear_mm = FromBorder_mm(graph, face, point);
      if (clear_mm <= best_mm) continue;
      best_mm = clear_mm;
      best = Inner{at, point};
    }
    if (best) return best;
  }
  return std::nullopt;
}

Vec3 OutwardAt(const RawFace& raw, const BRepAdaptor_Surface& surface, const gp_Pnt2d& uv) {
  gp_Pnt p;
  gp_Vec du, dv;
  surface.D1(uv.X(), uv.Y(), p, du, dv);
  const gp_Vec normal = du.Crossed(dv);
  if (normal.Magnitude() <= 0) return Vec3::UnitZ();
  return raw.outward / normal.Magnitude() * Vec3(normal.X(), normal.Y(), normal.Z());
}

Vec3 AwayFromMiddle(const Surface& surface, const Vec3& point) {
  const Vec3 off = point - surface.axis_F.point_mm;
  if (surface.kind == SurfaceKind::kSphere) return off;
  const Vec3& along = surface.axis_F.direction;
  const Vec3 radial = off - off.dot(along) * along;
  if (surface.kind != SurfaceKind::kTorus) return radial;
  return off - surface.radius_mm * radial.normalized();
}

double AreaOf(const RawFace& raw) {
  GProp_GProps props;
  if (!IsElementary(raw.graph.surface.kind)) {
    BRepGProp::SurfaceProperties(raw.face, props);
  } else {
    BRepGProp::SurfaceProperties(raw.face, props, QuadratureOf(raw.face));
  }
  return std::abs(props.Mass());
}

// Only spheres, tori and unnamed surfaces bulge beyond their borders.
Box3 BoxOf(const RawGraph& graph, std::size_t face, const RawFace& raw) {
  const SurfaceKind kind = raw.graph.surface.kind;
  const bool by_border =
      kind == SurfaceKind::kPlane || kind == SurfaceKind::kCylinder || kind == SurfaceKind::kCone;
  Box3 box = EmptyBox();
  if (by_border) {
    for (const EdgeUse& use : graph.uses[face]) {
      Include(graph.edges[use.edge].box_F.min_mm, box);
      Include(graph.edges[use.edge].box_F.max_mm, box);
    }
  }
  if (by_border && !graph.uses[face].empty()) return box;
  Bnd_Box found;
  BRepBndLib::AddOptimal(raw.face, found, false, false);
  found.SetGap(0);
  if (found.IsVoid()) return {};
  return {ToVec(found.CornerMin()), ToVec(found.CornerMax())};
}

std::vector<Vec3> BorderPoints(const RawGraph& graph, std::size_t face) {
  std::vector<Vec3> points;
  for (const EdgeUse& use : graph.uses[face]) {
    const std::vector<Vec3>& line = graph.edges[use.edge].line_F;
    points.insert(points.end(), line.begin(), line.end());
  }
  return points;
}

// The turn that a line on the face runs through about the axis, from its first point on.
struct Turn {
  double from_rad = 0;
  double to_rad = 0;
};

Turn TurnAlong(const Axis3& axis, const std::vector<Vec3>& line) {
  const Vec3 x = axis.direction.unitOrthogonal();
  const Vec3 y = axis.direction.cross(x);
  Turn turn;
  std::optional<double> before;
  for (const Vec3& point : line) {
    const Vec3 off = point - axis.point_mm;
    if (std::hypot(off.dot(x), off.dot(y)) < 1e-6) continue;
    double angle = std::atan2(off.dot(y), off.dot(x));
    if (before) angle -= 2 * kPi * std::round((angle - *before) / (2 * kPi));
    if (!before) turn = {angle, angle};
    before = angle;
    turn.from_rad = std::min(turn.from_rad, angle);
    turn.to_rad = std::max(turn.to_rad, angle);
  }
  return turn;
}

// The surface's own parameter is the angle about the axis, except where the surface was fitted:
// there by lines across the middle, one along each parameter.
void MeasureTurn(const BRepAdaptor_Surface& surface, const UvBox& uv, RawFace& raw) {
  constexpr int kSteps = 64;
  constexpr double kWhole_rad = 1e-6;
  const double u_middle = 0.5 * (uv.u0 + uv.u1);
  const double v_middle = 0.5 * (uv.v0 + uv.v1);
  if (surface.GetType() == GeomAbs_Cylinder || surface.GetType() == GeomAbs_Cone ||
      surface.GetType() == GeomAbs_Torus) {
    raw.turn_half_rad = std::min(0.5 * (uv.u1 - uv.u0), kPi);
    raw.turn_middle_F = ToVec(surface.Value(u_middle, v_middle));
    return;
  }
  std::vector<Vec3> along_u;
  std::vector<Vec3> along_v;
  for (int i = 0; i <= kSteps; ++i) {
    const double s = static_cast<double>(i) / kSteps;
    along_u.push_back(ToVec(surface.Value(uv.u0 + s * (uv.u1 - uv.u0), v_middle)));
    along_v.push_back(ToVec(surface.Value(u_middle, uv.v0 + s * (uv.v1 - uv.v0))));
  }
  const Axis3& axis = raw.graph.surface.axis_F;
  const Turn one = TurnAlong(axis, along_u);
  const Turn other = TurnAlong(axis, along_v);
  const Turn& turn = one.to_rad - one.from_rad >= other.to_rad - other.from_rad ? one : other;
  raw.turn_half_rad = 0.5 * (turn.to_rad - turn.from_rad);
  if (raw.turn_half_rad > kPi - kWhole_rad) raw.turn_half_rad = kPi;
  const double middle = 0.5 * (turn.from_rad + turn.to_rad);
  const Vec3 x = axis.direction.unitOrthogonal();
  raw.turn_middle_F =
      axis.point_mm + std::cos(middle) * x + std::sin(middle) * axis.direction.cross(x);
}

void AddSample(const RawFace& raw, const BRepAdaptor_Surface& surface, double u, double v,
               SurfaceSamples& samples) {
  gp_Pnt p;
  gp_Vec du, dv;
  surface.D1(u, v, p, du, dv);
  const gp_Vec normal = du.Crossed(dv);
  if (normal.Magnitude() <= 1e-9 * du.Magnitude() * dv.Magnitude()) return;
  samples.points.push_back(ToVec(p));
  samples.normals.push_back(raw.outward / normal.Magnitude() *
                            Vec3(normal.X(), normal.Y(), normal.Z()));
}

int CountSpans(int knots) { return std::clamp(2 * knots + 3, 13, 40); }

// Points over the trimmed face and along its borders.
SurfaceSamples SampleFace(const RawGraph& graph, std::size_t face, const RawFace& raw,
                          const BRepAdaptor_Surface& surface, const UvBox& uv,
                          const BRepTopAdaptor_FClass2d& trim) {
  constexpr int kOnEdge = 9;
  const bool splines = surface.GetType() == GeomAbs_BSplineSurface;
  const int rows = splines ? CountSpans(surface.NbUKnots()) : 13;
  const int columns = splines ? CountSpans(surface.NbVKnots()) : 13;
  SurfaceSamples samples;
  for (int i = 0; i < rows * columns; ++i) {
    const int row = i % rows, column = i / rows;
    const double u = uv.u0 + (row + 0.5) / rows * (uv.u1 - uv.u0);
    const double v = uv.v0 + (column + 0.5) / columns * (uv.v1 - uv.v0);
    if (trim.Perform(gp_Pnt2d(u, v)) == TopAbs_IN) AddSample(raw, surface, u, v, samples);
  }
  for (const EdgeUse& use : graph.uses[face]) {
    double from = 0;
    double to = 0;
    const Handle(Geom2d_Curve) border =
        BRep_Tool::CurveOnSurface(graph.edges[use.edge].edge, raw.face, from, to);
    for (int i = 0; i < kOnEdge && !border.IsNull(); ++i) {
      const gp_Pnt2d at = border->Value(from + (to - from) * i / (kOnEdge - 1));
      AddSample(raw, surface, at.X(), at.Y(), samples);
    }
  }
  return samples;
}

}  // namespace

void MeasureFace(const RawGraph& graph, std::size_t face, double tolerance_mm, RawFace& raw) {
  const BRepAdaptor_Surface surface(raw.face, false);
  const UvBox uv = UvOf(raw.face);
  const BRepTopAdaptor_FClass2d trim(raw.face, 1e-7);
  GraphFace& found = raw.graph;
  if (found.surface.kind == SurfaceKind::kOther) {
    const SurfaceSamples samples = SampleFace(graph, face, raw, surface, uv, trim);
    std::optional<Surface> fitted = FitSurface(samples, tolerance_mm);
    if (!fitted) fitted = FitScrew(samples);
    found.surface = fitted.value_or(Surface{});
  }
  found.area_mm2 = AreaOf(raw);
  found.box_F = BoxOf(graph, face, raw);
  raw.extent_mm = found.box_F.size_mm().norm();
  const gp_Pnt2d middle(0.5 * (uv.u0 + uv.u1), 0.5 * (uv.v0 + uv.v1));
  const Inner inner = FindInner(graph, face, surface, uv, trim)
                          .value_or(Inner{middle, ToVec(surface.Value(middle.X(), middle.Y()))});
  found.inner_F_mm = inner.point;
  found.normal_F = OutwardAt(raw, surface, inner.uv);
  if (!IsElementary(found.surface.kind)) return;
  if (found.surface.kind == SurfaceKind::kPlane) {
    Axis3& plane = found.surface.axis_F;
    if (plane.direction.dot(found.normal_F) < 0) plane.direction *= -1;
    plane.point_mm = inner.point - CalcDistance_mm(found.surface, inner.point) * plane.direction;
    return;
  }
  found.hollow = AwayFromMiddle(found.surface, inner.point).dot(found.normal_F) < 0;
  CentreAxis(BorderPoints(graph, face), found.surface);
  MeasureTurn(surface, uv, raw);
}

}  // namespace fitwright::solid
