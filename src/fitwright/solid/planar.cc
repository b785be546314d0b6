#include "fitwright/solid/planar.h"

#include <BOPAlgo_Builder.hxx>
#include <BRepAlgoAPI_Fuse.hxx>
#include <BRepBuilderAPI_MakeEdge.hxx>
#include <BRepBuilderAPI_MakeFace.hxx>
#include <BRepBuilderAPI_MakePolygon.hxx>
#include <BRepBuilderAPI_MakeWire.hxx>
#include <BRepGProp.hxx>
#include <BRep_Builder.hxx>
#include <GC_MakeArcOfCircle.hxx>
#include <GProp_GProps.hxx>
#include <ShapeUpgrade_UnifySameDomain.hxx>
#include <TopExp_Explorer.hxx>
#include <TopTools_ListOfShape.hxx>
#include <TopoDS.hxx>
#include <TopoDS_Compound.hxx>
#include <algorithm>
#include <array>
#include <gp_Pln.hxx>

#include "fitwright/solid/kernel.h"

namespace fitwright::solid {
namespace {

double Cross(const Vec2& a, const Vec2& b, const Vec2& c) {
  return (b - a).x() * (c - a).y() - (b - a).y() * (c - a).x();
}

bool InTriangle(const Vec2& p, const Vec2& a, const Vec2& b, const Vec2& c) {
  return Cross(a, b, p) >= 0 && Cross(b, c, p) >= 0 && Cross(c, a, p) >= 0;
}

bool IsEar(const std::vector<Vec2>& ring, std::size_t i) {
  const std::size_t n = ring.size();
  const Vec2& a = ring[(i + n - 1) % n];
  const Vec2& b = ring[i];
  const Vec2& c = ring[(i + 1) % n];
  if (Cross(a, b, c) <= 0) return false;
  for (std::size_t k = 0; k < n; ++k) {
    if (k == i || k == (i + 1) % n || k == (i + n - 1) % n) continue;
    const Vec2& p = ring[k];
    if (p == a || p == b || p == c) continue;
    if (InTriangle(p, a, b, c)) return false;
  }
  return true;
}

}  // namespace

double CalcPolygonArea(const std::vector<Vec2>& polygon) {
  double twice = 0;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Vec2& a = polygon[i];
    const Vec2& b = polygon[(i + 1) % polygon.size()];
    twice += a.x() * b.y() - a.y() * b.x();
  }
  return 0.5 * twice;
}

std::vector<Vec2> TidyPolygon(const std::vector<Vec2>& polygon) {
  std::vector<Vec2> ring = polygon;
  bool changed = true;
  while (changed && ring.size() >= 3) {
    changed = false;
    for (std::size_t i = 0; i < ring.size(); ++i) {
      const Vec2& a = ring[(i + ring.size() - 1) % ring.size()];
      const Vec2& c = ring[(i + 1) % ring.size()];
      const double base = (c - a).norm();
      const double off = base > kGeometryNoise_mm ? std::abs(Cross(a, ring[i], c)) / base : 0.0;
      if ((ring[i] - a).norm() > kGeometryNoise_mm && off > 0.1 * kGeometryNoise_mm) continue;
      ring.erase(ring.begin() + static_cast<std::ptrdiff_t>(i));
      changed = true;
      break;
    }
  }
  return ring;
}

std::vector<Vec2> CalcConvexHull(std::vector<Vec2> points) {
  std::sort(points.begin(), points.end(), [](const Vec2& a, const Vec2& b) {
    return a.x() != b.x() ? a.x() < b.x() : a.y() < b.y();
  });
  std::vector<Vec2> hull;
  const auto add = [&](const Vec2& p, std::size_t floor) {
    while (hull.size() >= floor + 2 && Cross(hull[hull.size() - 2], hull.back(), p) <= 0) {
      hull.pop_back();
    }
    hull.push_back(p);
  };
  for (const Vec2& p : points) add(p, 0);
  const std::size_t floor = hull.size() - 1;
  for (std::size_t i = points.size() - 1; i-- > 0;) add(points[i], floor);
  hull.pop_back();
  return TidyPolygon(hull);
}

std::vector<Vec2> ClipToPositiveX(const std::vector<Vec2>& convex) {
  std::vector<Vec2> kept;
  for (std::size_t i = 0; i < convex.size(); ++i) {
    const Vec2& a = convex[i];
    const Vec2& b = convex[(i + 1) % convex.size()];
    if (a.x() >= 0) kept.push_back(a);
    if ((a.x() < 0) != (b.x() < 0)) {
      const double t = a.x() / (a.x() - b.x());
      kept.emplace_back(0.0, a.y() + t * (b.y() - a.y()));
    }
  }
  return TidyPolygon(kept);
}

std::vector<std::vector<Vec2>> Triangulate(const std::vector<Vec2>& polygon) {
  std::vector<Vec2> ring = TidyPolygon(polygon);
  if (CalcPolygonArea(ring) < 0) std::reverse(ring.begin(), ring.end());
  std::vector<std::vector<Vec2>> triangles;
  while (ring.size() > 3) {
    std::size_t ear = ring.size();
    for (std::size_t i = 0; i < ring.size() && ear == ring.size(); ++i) {
      if (IsEar(ring, i)) ear = i;
    }
    if (ear == ring.size()) return {};
    const std::size_t n = ring.size();
    triangles.push_back({ring[(ear + n - 1) % n], ring[ear], ring[(ear + 1) % n]});
    ring.erase(ring.begin() + static_cast<std::ptrdiff_t>(ear));
    ring = TidyPolygon(ring);
  }
  if (ring.size() == 3) triangles.push_back(ring);
  return triangles;
}

TopoDS_Face MakePolygonFace(const Pose& frame, const std::vector<Vec2>& polygon) {
  BRepBuilderAPI_MakePolygon wire;
  for (const Vec2& p : polygon) wire.Add(ToPnt(frame * Vec3(p.x(), p.y(), 0)));
  wire.Close();
  const Vec3 normal = frame.linear().col(2);
  const gp_Pln plane(ToPnt(frame.translation()), ToDir(normal));
  return BRepBuilderAPI_MakeFace(plane, wire.Wire(), true).Face();
}

TopoDS_Face MakeRoundedFace(const RoundedRectangle& shape) {
  const Vec3 x = shape.along.normalized();
  const Vec3 y = shape.up.normalized().cross(x);
  const double r =
      std::min(shape.corner_radius_mm, 0.5 * std::min(shape.length_mm, shape.width_mm));
  const double dx = 0.5 * shape.length_mm;
  const double dy = 0.5 * shape.width_mm;
  const auto at = [&](double u, double v) { return ToPnt(shape.centre_mm + u * x + v * y); };
  BRepBuilderAPI_MakeWire wire;
  const auto line = [&](double u0, double v0, double u1, double v1) {
    if (std::hypot(u1 - u0, v1 - v0) < kGeometryNoise_mm) return;
    wire.Add(BRepBuilderAPI_MakeEdge(at(u0, v0), at(u1, v1)).Edge());
  };
  // Corner about (cu, cv), starting in the direction start_rad, a quarter turn (half when ends
  // meet).
  const auto arc = [&](double cu, double cv, double start_rad, double turn_rad) {
    if (r < kGeometryNoise_mm) return;
    const auto on = [&](double a) { return at(cu + r * std::cos(a), cv + r * std::sin(a)); };
    const Handle(Geom_TrimmedCurve) curve =
        GC_MakeArcOfCircle(on(start_rad), on(start_rad + 0.5 * turn_rad), on(start_rad + turn_rad))
            .Value();
    wire.Add(BRepBuilderAPI_MakeEdge(curve).Edge());
  };
  const bool round_ends = dy - r < kGeometryNoise_mm;
  line(-dx + r, -dy, dx - r, -dy);
  if (round_ends) {
    arc(dx - r, 0, -0.5 * kPi, kPi);
  } else {
    arc(dx - r, -dy + r, -0.5 * kPi, 0.5 * kPi);
    line(dx, -dy + r, dx, dy - r);
    arc(dx - r, dy - r, 0, 0.5 * kPi);
  }
  line(dx - r, dy, -dx + r, dy);
  if (round_ends) {
    arc(-dx + r, 0, 0.5 * kPi, kPi);
  } else {
    arc(-dx + r, dy - r, 0.5 * kPi, 0.5 * kPi);
    line(-dx, dy - r, -dx, -dy + r);
    arc(-dx + r, -dy + r, kPi, 0.5 * kPi);
  }
  const gp_Pln plane(ToPnt(shape.centre_mm), ToDir(shape.up.normalized()));
  return BRepBuilderAPI_MakeFace(plane, wire.Wire(), true).Face();
}

TopoDS_Shape FuseFaces(const std::vector<TopoDS_Shape>& faces) {
  if (faces.size() == 1) return faces.front();
  TopTools_ListOfShape first;
  TopTools_ListOfShape others;
  first.Append(faces.front());
  for (std::size_t i = 1; i < faces.size(); ++i) others.Append(faces[i]);
  BRepAlgoAPI_Fuse fuse;
  fuse.SetArguments(first);
  fuse.SetTools(others);
  fuse.SetNonDestructive(true);
  fuse.Build();
  if (!fuse.IsDone() || fuse.HasErrors()) throw Standard_Failure("faces do not join");
  ShapeUpgrade_UnifySameDomain unify(fuse.Shape(), true, true, false);
  unify.Build();
  return unify.Shape();
}

TopoDS_Shape FuseConvex(const Pose& frame, const std::vector<std::vector<Vec2>>& polygons) {
  std::vector<TopoDS_Shape> faces;
  for (const auto& polygon : polygons) faces.push_back(MakePolygonFace(frame, polygon));
  return FuseFaces(faces);
}

Solid WrapOutward(const TopoDS_Shape& shape) {
  BRep_Builder builder;
  TopoDS_Compound compound;
  builder.MakeCompound(compound);
  for (TopExp_Explorer it(shape, TopAbs_SOLID); it.More(); it.Next()) {
    GProp_GProps props;
    BRepGProp::VolumeProperties(it.Current(), props);
    builder.Add(compound, props.Mass() < 0 ? it.Current().Reversed() : it.Current());
  }
  return Wrap(compound);
}

}  // namespace fitwright::solid
