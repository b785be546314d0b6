#include <BRepAdaptor_Curve.hxx>
#include <BRep_Tool.hxx>
#include <BndLib_Add3dCurve.hxx>
#include <Bnd_Box.hxx>
#include <GCPnts_AbscissaPoint.hxx>
#include <Geom2d_Curve.hxx>
#include <TopExp.hxx>
#include <TopExp_Explorer.hxx>
#include <TopoDS.hxx>
#include <TopoDS_Iterator.hxx>
#include <TopoDS_Vertex.hxx>
#include <algorithm>
#include <cmath>
#include <gp_Circ.hxx>
#include <limits>
#include <map>

#include "fitwright/solid/face_graph_internal.h"
#include "fitwright/solid/kernel.h"
#include "fitwright/solid/surface_fit.h"

namespace fitwright::solid {
namespace {

// A face's meeting with an edge at the edge's middle.
struct Side {
  std::size_t face = 0;
  std::size_t place = 0;  // in the face's list of uses
  bool reversed = false;
  Vec3 outward = Vec3::UnitZ();
  Vec3 into = Vec3::UnitX();  // from the edge into the face, square to the edge
};

Vec3 ToVec(const gp_Vec& v) { return {v.X(), v.Y(), v.Z()}; }

// The surface's normal; where it has none (a pole), the one a little way off.
Vec3 NormalAt(const BRepAdaptor_Surface& surface, double u, double v) {
  constexpr double kStep = 1e-4;
  for (int attempt = 0; attempt < 5; ++attempt) {
    gp_Pnt p;
    gp_Vec du, dv;
    surface.D1(u, v, p, du, dv);
    const gp_Vec normal = du.Crossed(dv);
    if (normal.Magnitude() > 1e-12 * std::max(1.0, du.Magnitude() * dv.Magnitude())) {
      return ToVec(normal).normalized();
    }
    const double u_middle = 0.5 * (surface.FirstUParameter() + surface.LastUParameter());
    const double v_middle = 0.5 * (surface.FirstVParameter() + surface.LastVParameter());
    u += kStep * (u_middle - u);
    v += kStep * (v_middle - v);
  }
  return Vec3::UnitZ();
}

int CountSamples(const BRepAdaptor_Curve& curve, double from, double to) {
  constexpr int kLeast = 17;
  constexpr int kMost = 513;
  switch (curve.GetType()) {
    case GeomAbs_Line:
      return 2;
    case GeomAbs_Circle:
    case GeomAbs_Ellipse:
      return 5 + static_cast<int>(std::ceil((to - from) / (kPi / 18)));
    case GeomAbs_BSplineCurve:
      return std::clamp(2 * curve.NbPoles(), kLeast, kMost);
    default:
      return 2 * kLeast;
  }
}

std::vector<Vec3> Sample(const BRepAdaptor_Curve& curve) {
  const double from = curve.FirstParameter();
  const double to = curve.LastParameter();
  const int count = CountSamples(curve, from, to);
  std::vector<Vec3> points;
  for (int i = 0; i < count; ++i) {
    points.push_back(solid::ToVec(curve.Value(from + (to - from) * i / (count - 1))));
  }
  return points;
}

Box3 BoxOf(const BRepAdaptor_Curve& curve, const std::vector<Vec3>& line) {
  Box3 box = EmptyBox();
  for (const Vec3& point : line) Include(point, box);
  if (curve.GetType() == GeomAbs_Line) return box;
  Bnd_Box found;
  BndLib_Add3dCurve::AddOptimal(curve, 1e-7, found);
  found.SetGap(0);
  if (found.IsVoid()) return box;
  return {solid::ToVec(found.CornerMin()), solid::ToVec(found.CornerMax())};
}

double MiddleParameter(const BRepAdaptor_Curve& curve, double length_mm) {
  const double from = curve.FirstParameter();
  const double to = curve.LastParameter();
  const bool even = curve.GetType() == GeomAbs_Line || curve.GetType() == GeomAbs_Circle;
  if (even) return 0.5 * (from + to);
  const GCPnts_AbscissaPoint half(curve, 0.5 * length_mm, from);
  return half.IsDone() ? half.Parameter() : 0.5 * (from + to);
}

void NameCurve(const BRepAdaptor_Curve& curve, const std::vector<Vec3>& line, double tolerance_mm,
               FaceEdge& edge) {
  switch (curve.GetType()) {
    case GeomAbs_Line:
      edge.kind = CurveKind::kLine;
      break;
    case GeomAbs_Circle: {
      edge.kind = CurveKind::kCircle;
      const gp_Ax1 axis = curve.Circle().Axis();
      const gp_Dir& d = axis.Direction();
      edge.axis_F = {solid::ToVec(axis.Location()), CanonicalDirection(Vec3(d.X(), d.Y(), d.Z()))};
      edge.radius_mm = curve.Circle().Radius();
      break;
    }
    case GeomAbs_Ellipse:
      edge.kind = CurveKind::kEllipse;
      break;
    default: {
      const FittedCurve fitted = FitCurve(line, tolerance_mm);
      edge.kind = fitted.kind;
      edge.axis_F = fitted.axis;
      edge.radius_mm = fitted.radius_mm;
    }
  }
}

// What the edge is by itself; `middle` is its parameter there.
RawEdge MakeRawEdge(const TopoDS_Edge& edge, const BRepAdaptor_Curve& curve, double tolerance_mm,
                    TopTools_IndexedMapOfShape& vertices, double& middle) {
  RawEdge raw;
  raw.edge = edge;
  raw.line_F = Sample(curve);
  NameCurve(curve, raw.line_F, tolerance_mm, raw.graph);
  raw.box_F = BoxOf(curve, raw.line_F);
  raw.graph.start_F_mm = raw.line_F.front();
  raw.graph.end_F_mm = raw.line_F.back();
  raw.graph.length_mm = GCPnts_AbscissaPoint::Length(curve);
  middle = MiddleParameter(curve, raw.graph.length_mm);
  raw.graph.middle_F_mm = solid::ToVec(curve.Value(middle));
  const TopoDS_Vertex first = TopExp::FirstVertex(edge);
  const TopoDS_Vertex last = TopExp::LastVertex(edge);
  raw.graph.closed = first.IsNull() || last.IsNull() || first.IsSame(last);
  if (!first.IsNull()) raw.start = static_cast<std::size_t>(vertices.Add(first));
  if (!last.IsNull()) raw.end = static_cast<std::size_t>(vertices.Add(last));
  if (raw.graph.closed) raw.graph.end_F_mm = raw.graph.start_F_mm;
  return raw;
}

Side LookFrom(const RawFace& face, const TopoDS_Edge& edge, double middle, const Vec3& along,
              Side side) {
  double from = 0;
  double to = 0;
  const Handle(Geom2d_Curve) on_face = BRep_Tool::CurveOnSurface(edge, face.face, from, to);
  if (!on_face.IsNull()) {
    const gp_Pnt2d uv = on_face->Value(middle);
    const BRepAdaptor_Surface surface(face.face, false);
    side.outward = face.outward * NormalAt(surface, uv.X(), uv.Y());
  }
  const Vec3 run = side.reversed ? Vec3(-along) : along;
  side.into = side.outward.cross(run).normalized();
  return side;
}

// Angle from one face through the material to the other, in (0, 2 pi).
double ThroughMaterial_rad(const Side& from, const Side& to) {
  const double angle = std::atan2(-to.into.dot(from.outward), to.into.dot(from.into));
  return angle <= 0 ? angle + 2 * kPi : angle;
}

void NameBend(const Side& a, const Side& b, double tangent_rad, FaceEdge& edge) {
  edge.turn_rad = std::atan2(a.outward.cross(b.outward).norm(), a.outward.dot(b.outward));
  if (edge.turn_rad <= tangent_rad) {
    edge.bend = Bend::kTangent;
  } else {
    edge.bend = ThroughMaterial_rad(a, b) < kPi ? Bend::kConvex : Bend::kConcave;
  }
}

using Uses = std::map<int, std::vector<Side>>;  // by the edge's number

// The edges of one wire, in its order; internal and shrunken ones are no border.
void CollectWire(const TopoDS_Shape& wire, std::vector<TopoDS_Edge>& found) {
  for (TopoDS_Iterator it(wire); it.More(); it.Next()) {
    const TopoDS_Edge& edge = TopoDS::Edge(it.Value());
    const bool border =
        edge.Orientation() == TopAbs_FORWARD || edge.Orientation() == TopAbs_REVERSED;
    if (border && !BRep_Tool::Degenerated(edge)) found.push_back(edge);
  }
}

// For each side the one that closes the same wedge of material with it.
std::vector<std::pair<Side, Side>> PairSides(std::vector<Side> sides) {
  std::vector<std::pair<Side, Side>> pairs;
  while (!sides.empty()) {
    const Side first = sides.front();
    sides.erase(sides.begin());
    auto mate = sides.end();
    for (auto it = sides.begin(); it != sides.end(); ++it) {
      if (it->reversed == first.reversed) continue;
      if (mate == sides.end() ||
          ThroughMaterial_rad(first, *it) < ThroughMaterial_rad(first, *mate)) {
        mate = it;
      }
    }
    pairs.emplace_back(first, mate == sides.end() ? first : *mate);
    if (mate != sides.end()) sides.erase(mate);
  }
  return pairs;
}

void AddPairs(const TopoDS_Edge& edge, std::vector<Side> sides, const FaceGraphSettings& settings,
              TopTools_IndexedMapOfShape& vertices, RawGraph& graph) {
  const BRepAdaptor_Curve curve(edge);
  double middle = 0;
  const RawEdge plain = MakeRawEdge(edge, curve, settings.tolerance_mm, vertices, middle);
  gp_Pnt p;
  gp_Vec d;
  curve.D1(middle, p, d);
  const Vec3 along = d.Magnitude() > 0 ? ToVec(d).normalized() : Vec3::UnitX();
  for (Side& side : sides) side = LookFrom(graph.faces[side.face], edge, middle, along, side);
  for (const auto& [a, b] : PairSides(std::move(sides))) {
    RawEdge raw = plain;
    raw.graph.face_a = a.face;
    raw.graph.face_b = b.face;
    raw.seam = a.face == b.face;
    NameBend(a, b, settings.tangent_rad, raw.graph);
    graph.uses[a.face][a.place].edge = graph.edges.size();
    graph.uses[b.face][b.place].edge = graph.edges.size();
    graph.edges.push_back(std::move(raw));
  }
}

}  // namespace

Box3 EmptyBox() {
  constexpr double kFar = std::numeric_limits<double>::infinity();
  return {Vec3::Constant(kFar), Vec3::Constant(-kFar)};
}

void Include(const Vec3& point, Box3& box) {
  box.min_mm = box.min_mm.cwiseMin(point);
  box.max_mm = box.max_mm.cwiseMax(point);
}

void AddEdges(const TopoDS_Solid& solid, const FaceGraphSettings& settings, RawGraph& graph) {
  TopTools_IndexedMapOfShape edges;
  TopExp::MapShapes(solid, TopAbs_EDGE, edges);
  Uses by_edge;
  graph.uses.assign(graph.faces.size(), {});
  for (std::size_t face = 0; face < graph.faces.size(); ++face) {
    std::vector<TopoDS_Edge> borders;
    for (TopExp_Explorer it(graph.faces[face].face, TopAbs_WIRE); it.More(); it.Next()) {
      CollectWire(it.Current(), borders);
    }
    for (const TopoDS_Edge& edge : borders) {
      Side side;
      side.face = face;
      side.place = graph.uses[face].size();
      side.reversed = edge.Orientation() == TopAbs_REVERSED;
      graph.uses[face].push_back({0, side.reversed});
      by_edge[edges.FindIndex(edge)].push_back(side);
    }
  }
  TopTools_IndexedMapOfShape vertices;
  for (auto& [number, sides] : by_edge) {
    const TopoDS_Edge edge = TopoDS::Edge(edges.FindKey(number).Oriented(TopAbs_FORWARD));
    AddPairs(edge, std::move(sides), settings, vertices, graph);
  }
}

}  // namespace fitwright::solid
