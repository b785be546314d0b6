#include "fitwright/recognize/placed_graph.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

namespace fitwright::recognize {
namespace {

using solid::CurveKind;
using solid::SurfaceKind;

Vec3 SnapDirection(const Vec3& direction) {
  const std::optional<int> axis = AlongAxis(direction);
  if (!axis) return direction.normalized();
  return direction[*axis] < 0 ? Vec3(-Vec3::Unit(*axis)) : Vec3(Vec3::Unit(*axis));
}

Axis3 PlaceAxis(const Axis3& axis_F, const Pose& X_PF) {
  return {X_PF * axis_F.point_mm, SnapDirection(X_PF.linear() * axis_F.direction)};
}

PlacedFace PlaceFace(const solid::GraphFace& face, const Pose& X_PF) {
  PlacedFace placed;
  placed.kind = face.surface.kind;
  placed.axis_P = PlaceAxis(face.surface.axis_F, X_PF);
  placed.radius_mm = face.surface.radius_mm;
  placed.minor_radius_mm = face.surface.minor_radius_mm;
  placed.half_angle_rad = face.surface.half_angle_rad;
  placed.pitch_mm = face.surface.pitch_mm;
  placed.reach_mm = face.surface.reach_mm;
  placed.hollow = face.hollow;
  placed.area_mm2 = face.area_mm2;
  placed.turn_share = face.turn_share;
  placed.inner_P_mm = X_PF * face.inner_F_mm;
  placed.normal_P = SnapDirection(X_PF.linear() * face.normal_F);
  for (const solid::FaceLoop& loop : face.loops) {
    placed.edges.insert(placed.edges.end(), loop.edges.begin(), loop.edges.end());
  }
  std::sort(placed.edges.begin(), placed.edges.end());
  placed.edges.erase(std::unique(placed.edges.begin(), placed.edges.end()), placed.edges.end());
  return placed;
}

PlacedEdge PlaceEdge(const solid::FaceEdge& edge, const Pose& X_PF) {
  PlacedEdge placed;
  placed.kind = edge.kind;
  placed.face_a = edge.face_a;
  placed.face_b = edge.face_b;
  placed.start_P_mm = X_PF * edge.start_F_mm;
  placed.end_P_mm = X_PF * edge.end_F_mm;
  placed.middle_P_mm = X_PF * edge.middle_F_mm;
  placed.closed = edge.closed;
  placed.length_mm = edge.length_mm;
  placed.axis_P = PlaceAxis(edge.axis_F, X_PF);
  placed.radius_mm = edge.radius_mm;
  placed.bend = edge.bend;
  return placed;
}

// Whether the point of the circle lies on the edge, between its ends on the middle's side.
bool IsOnArc(const PlacedEdge& edge, const Vec3& point) {
  if (edge.closed) return true;
  const Vec3 u = (edge.start_P_mm - edge.axis_P.point_mm).normalized();
  const Vec3 v = edge.axis_P.direction.cross(u);
  const auto angle = [&](const Vec3& p) {
    const Vec3 out = p - edge.axis_P.point_mm;
    const double a = std::atan2(v.dot(out), u.dot(out));
    return a < 0 ? a + 2 * kPi : a;
  };
  const double middle = angle(edge.middle_P_mm);
  const double end = angle(edge.end_P_mm);
  const double at = angle(point);
  return middle <= end ? at <= end : at >= end;
}

// Rounded well above the noise of moving a part about.
long long Coarse(double mm) { return std::llround(mm * 1e3); }

std::vector<std::size_t> OrderByPlace(const PlacedGraph& graph) {
  using Key = std::array<long long, 9>;
  std::vector<std::pair<Key, std::size_t>> keys;
  for (std::size_t f = 0; f < graph.faces.size(); ++f) {
    const PlacedFace& face = graph.faces[f];
    Key key{};
    for (int axis = 0; axis < 3; ++axis) {
      const std::optional<Span> span = SpanAlong(graph, f, Vec3::Unit(2 - axis));
      key[static_cast<std::size_t>(axis)] = span ? Coarse(span->from_mm) : 0;
      key[static_cast<std::size_t>(axis) + 3] = span ? Coarse(span->to_mm) : 0;
    }
    key[6] = static_cast<long long>(face.kind);
    key[7] = Coarse(face.radius_mm);
    key[8] = Coarse(face.area_mm2);
    keys.emplace_back(key, f);
  }
  std::sort(keys.begin(), keys.end());
  std::vector<std::size_t> order;
  for (const auto& [key, f] : keys) order.push_back(f);
  return order;
}

}  // namespace

PlacedGraph Place(const solid::FaceGraph& graph, const Pose& X_PF, const Box3& box_P) {
  PlacedGraph given;
  for (const solid::GraphFace& face : graph.faces) given.faces.push_back(PlaceFace(face, X_PF));
  for (const solid::FaceEdge& edge : graph.edges) given.edges.push_back(PlaceEdge(edge, X_PF));
  PlacedGraph placed;
  placed.box_P = box_P;
  std::vector<std::size_t> now(given.faces.size());
  for (const std::size_t f : OrderByPlace(given)) {
    now[f] = placed.faces.size();
    placed.sources.push_back({f});
    placed.faces.push_back(std::move(given.faces[f]));
  }
  placed.edges = std::move(given.edges);
  for (PlacedEdge& edge : placed.edges) {
    edge.face_a = now[edge.face_a];
    edge.face_b = now[edge.face_b];
  }
  return placed;
}

Span SpanAlong(const PlacedEdge& edge, const Vec3& direction) {
  const double start = direction.dot(edge.start_P_mm);
  const double end = direction.dot(edge.end_P_mm);
  const double middle = direction.dot(edge.middle_P_mm);
  Span span{std::min({start, end, middle}), std::max({start, end, middle})};
  if (edge.kind != CurveKind::kCircle) return span;
  const Vec3& n = edge.axis_P.direction;
  const Vec3 across = direction - direction.dot(n) * n;
  if (across.norm() < kSameWay_rad) return span;
  for (const double sense : {-1.0, 1.0}) {
    const Vec3 point = edge.axis_P.point_mm + sense * edge.radius_mm * across.normalized();
    if (!IsOnArc(edge, point)) continue;
    span.from_mm = std::min(span.from_mm, direction.dot(point));
    span.to_mm = std::max(span.to_mm, direction.dot(point));
  }
  return span;
}

std::optional<Span> SpanAlong(const PlacedGraph& graph, std::size_t face, const Vec3& direction) {
  std::optional<Span> whole;
  for (const std::size_t e : graph.faces[face].edges) {
    const Span span = SpanAlong(graph.edges[e], direction);
    if (!whole) whole = span;
    whole->from_mm = std::min(whole->from_mm, span.from_mm);
    whole->to_mm = std::max(whole->to_mm, span.to_mm);
  }
  return whole;
}

std::optional<int> AlongAxis(const Vec3& direction) {
  int axis = 0;
  const double most = direction.cwiseAbs().maxCoeff(&axis);
  Vec3 rest = direction;
  rest[axis] = 0;
  if (!(rest.norm() <= kSameWay_rad * most)) return std::nullopt;
  return axis;
}

bool IsAlong(const Vec3& a, const Vec3& b) { return a.cross(b).norm() <= kSameWay_rad; }
bool IsSquareTo(const Vec3& a, const Vec3& b) { return std::abs(a.dot(b)) <= kSameWay_rad; }
bool IsSame(double a_mm, double b_mm) { return std::abs(a_mm - b_mm) <= kSamePlace_mm; }

double DistanceFromAxis(const Axis3& axis, const Vec3& point_mm) {
  return (point_mm - axis.point_mm).cross(axis.direction).norm();
}

bool AreCoaxial(const Axis3& a, const Axis3& b) {
  return IsAlong(a.direction, b.direction) && DistanceFromAxis(a, b.point_mm) <= kSamePlace_mm;
}

double ConeRadiusAt(const PlacedFace& cone, const Vec3& point_mm) {
  const double along = cone.axis_P.direction.dot(point_mm - cone.axis_P.point_mm);
  return cone.radius_mm + along * std::tan(cone.half_angle_rad);
}

Vec3 ConeTip(const PlacedFace& cone) {
  return cone.axis_P.point_mm -
         cone.radius_mm / std::tan(cone.half_angle_rad) * cone.axis_P.direction;
}

bool IsPlane(const PlacedFace& face) { return face.kind == SurfaceKind::kPlane; }
bool IsCylinder(const PlacedFace& face) { return face.kind == SurfaceKind::kCylinder; }
bool IsHollowCylinder(const PlacedFace& face) { return IsCylinder(face) && face.hollow; }
double PlaceOf(const PlacedFace& plane) {
  return plane.axis_P.direction.dot(plane.axis_P.point_mm);
}

bool IsFillet(const PlacedGraph& graph, std::size_t face) {
  const PlacedFace& round = graph.faces[face];
  if (!IsHollowCylinder(round) || round.turn_share > 0.5 + 1e-3) return false;
  for (const std::size_t e : round.edges) {
    const PlacedEdge& edge = graph.edges[e];
    if (edge.kind == CurveKind::kLine && edge.bend == solid::Bend::kTangent) return true;
  }
  return false;
}

double Tidy(double mm) {
  constexpr double kNoise_mm = 5e-8;
  const double whole = std::round(mm * 1e6) / 1e6;
  return (std::abs(mm - whole) <= kNoise_mm ? whole : mm) + 0.0;
}
Vec3 Tidy(const Vec3& mm) { return {Tidy(mm.x()), Tidy(mm.y()), Tidy(mm.z())}; }

}  // namespace fitwright::recognize
