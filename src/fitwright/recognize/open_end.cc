// Where a hole has run out of all metal.
#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/recognize/stack_rings.h"

namespace fitwright::recognize {
namespace {

using solid::SurfaceKind;

// Even parts of a turn, so that ways along the axes of P are among them.
constexpr int kWays = 360;

// Places along the line point + s * direction where it meets the surface.
std::vector<double> Meet(const PlacedFace& face, const Vec3& point, const Vec3& direction) {
  const Vec3 off = point - face.axis_P.point_mm;
  const Vec3& n = face.axis_P.direction;
  if (face.kind == SurfaceKind::kPlane) {
    const double slope = direction.dot(n);
    if (std::abs(slope) < kSameWay_rad) return {};
    return {-off.dot(n) / slope};
  }
  double a = 0;
  double b = 0;
  double c = 0;
  if (face.kind == SurfaceKind::kCylinder || face.kind == SurfaceKind::kCone) {
    const double tangent = face.kind == SurfaceKind::kCone ? std::tan(face.half_angle_rad) : 0.0;
    const double along = off.dot(n);
    const double rise = direction.dot(n);
    const Vec3 p = off - along * n;
    const Vec3 v = direction - rise * n;
    const double radius = face.radius_mm + along * tangent;
    a = v.squaredNorm() - tangent * tangent * rise * rise;
    b = p.dot(v) - radius * tangent * rise;
    c = p.squaredNorm() - radius * radius;
  } else if (face.kind == SurfaceKind::kSphere) {
    a = 1;
    b = off.dot(direction);
    c = off.squaredNorm() - face.radius_mm * face.radius_mm;
  } else {
    return {};
  }
  if (std::abs(a) < 1e-12) return {};
  const double rest = b * b - a * c;
  if (rest < 0) return {};
  return {(-b - std::sqrt(rest)) / a, (-b + std::sqrt(rest)) / a};
}

// The extreme place at which the cylinder's lines meet the face that it runs out into at the edge.
std::optional<double> Extreme(const PlacedFace& round, const PlacedFace& beside,
                              const PlacedEdge& edge, int axis, bool high) {
  const Vec3 d = Vec3::Unit(axis);
  const Vec3 u = Vec3::Unit((axis + 1) % 3);
  const Vec3 v = Vec3::Unit((axis + 2) % 3);
  Vec3 base = round.axis_P.point_mm;
  base[axis] = 0;
  const double near = edge.middle_P_mm[axis];
  std::optional<double> extreme;
  for (int i = 0; i < kWays; ++i) {
    const double angle = 2 * kPi * i / kWays;
    const Vec3 point = base + round.radius_mm * (std::cos(angle) * u + std::sin(angle) * v);
    std::optional<double> met;
    for (const double s : Meet(beside, point, d)) {
      if (!met || std::abs(s - near) < std::abs(*met - near)) met = s;
    }
    if (!met || (extreme && (high ? *met <= *extreme : *met >= *extreme))) continue;
    extreme = met;
  }
  return extreme;
}

// Whether the edge ends the cylinder above its inner point: where the line through that point meets the
// face beyond the edge, for curves of two ends may overlap in height.
bool EndsAbove(const PlacedGraph& graph, std::size_t f, const PlacedEdge& edge, int axis) {
  const PlacedFace& round = graph.faces[f];
  Vec3 foot = round.inner_P_mm;
  foot[axis] = 0;
  std::optional<double> met;
  for (const double s : Meet(graph.faces[edge.Other(f)], foot, Vec3::Unit(axis))) {
    if (!met || std::abs(s - edge.middle_P_mm[axis]) < std::abs(*met - edge.middle_P_mm[axis])) met = s;
  }
  return met.value_or(edge.middle_P_mm[axis]) > round.inner_P_mm[axis];
}

}  // namespace

double OpenEndAt(const PlacedGraph& graph, std::size_t face, bool high) {
  const PlacedFace& round = graph.faces[face];
  const int axis = *AlongAxis(round.axis_P.direction);
  const std::optional<Span> whole = SpanAlong(graph, face, Vec3::Unit(axis));
  double end = high ? whole->to_mm : whole->from_mm;
  for (const std::size_t e : round.edges) {
    const PlacedEdge& edge = graph.edges[e];
    if (edge.kind == solid::CurveKind::kLine || EndsAbove(graph, face, edge, axis) != high) continue;
    const auto extreme = Extreme(round, graph.faces[edge.Other(face)], edge, axis, high);
    if (!extreme) continue;
    // A surface that leans little meets the lines far beyond the part.
    const double met = std::clamp(*extreme, graph.box_P.min_mm[axis], graph.box_P.max_mm[axis]);
    end = high ? std::max(end, met) : std::min(end, met);
  }
  return end;
}

}  // namespace fitwright::recognize
