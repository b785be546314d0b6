#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/solid/face_graph_internal.h"

namespace fitwright::solid {
namespace {

std::size_t FirstVertex(const EdgeUse& use, const std::vector<RawEdge>& edges) {
  return use.reversed ? edges[use.edge].end : edges[use.edge].start;
}
std::size_t LastVertex(const EdgeUse& use, const std::vector<RawEdge>& edges) {
  return use.reversed ? edges[use.edge].start : edges[use.edge].end;
}

std::vector<Vec3> LoopLine(const std::vector<EdgeUse>& loop, const std::vector<RawEdge>& edges) {
  std::vector<Vec3> line;
  for (const EdgeUse& use : loop) {
    const std::vector<Vec3>& one = edges[use.edge].line_F;
    if (use.reversed) {
      line.insert(line.end(), one.rbegin(), one.rend());
    } else {
      line.insert(line.end(), one.begin(), one.end());
    }
  }
  return line;
}

double Length_mm(const std::vector<EdgeUse>& loop, const std::vector<RawEdge>& edges) {
  double length_mm = 0;
  for (const EdgeUse& use : loop) length_mm += edges[use.edge].graph.length_mm;
  return length_mm;
}

// Positive when the line runs anticlockwise seen against the normal.
double SignedArea_mm2(const std::vector<Vec3>& line, const Vec3& normal) {
  Vec3 sum = Vec3::Zero();
  for (std::size_t i = 0; i < line.size(); ++i) {
    const Vec3& next = line[(i + 1) % line.size()];
    sum += (line[i] - line.front()).cross(next - line.front());
  }
  return 0.5 * sum.dot(normal);
}

double Unwrapped(double angle, double before) {
  return angle - 2 * kPi * std::round((angle - before) / (2 * kPi));
}

// A line on a surface of revolution: how often it goes round, and the area it encloses in the plane
// of turn and height, positive when the part of the surface that it bounds lies inside.
struct Unrolled {
  bool round = false;
  double area = 0;
};

Unrolled Unroll(const std::vector<Vec3>& line, const GraphFace& face) {
  const Axis3& axis = face.surface.axis_F;
  const Vec3 x = axis.direction.unitOrthogonal();
  const Vec3 y = axis.direction.cross(x);
  const bool torus = face.surface.kind == SurfaceKind::kTorus;
  std::vector<Vec2> flat;
  for (std::size_t i = 0; i <= line.size(); ++i) {
    const Vec3 off = line[i % line.size()] - axis.point_mm;
    const double out = std::hypot(off.dot(x), off.dot(y));
    double turn = std::atan2(off.dot(y), off.dot(x));
    double height = off.dot(axis.direction);
    if (torus) height = std::atan2(height, out - face.surface.radius_mm);
    if (!flat.empty()) {
      const bool on_axis = out < kGeometryNoise_mm;
      turn = on_axis ? flat.back().x() : Unwrapped(turn, flat.back().x());
      if (torus) height = Unwrapped(height, flat.back().y());
    }
    flat.emplace_back(turn, height);
  }
  Unrolled found;
  const Vec2 over = flat.back() - flat.front();
  found.round = std::abs(over.x()) > kPi || (torus && std::abs(over.y()) > kPi);
  for (std::size_t i = 1; i < flat.size(); ++i) {
    const Vec2 a = flat[i - 1] - flat.front();
    const Vec2 b = flat[i] - flat.front();
    found.area += 0.5 * (a.x() * b.y() - a.y() * b.x());
  }
  if (face.hollow) found.area = -found.area;
  return found;
}

}  // namespace

std::vector<std::vector<EdgeUse>> ChainLoops(const std::vector<EdgeUse>& uses,
                                             const std::vector<RawEdge>& edges) {
  std::vector<std::vector<EdgeUse>> loops;
  std::vector<bool> used(uses.size(), false);
  for (std::size_t first = 0; first < uses.size(); ++first) {
    if (used[first]) continue;
    std::vector<EdgeUse> loop;
    std::optional<std::size_t> at = first;
    while (at) {
      used[*at] = true;
      loop.push_back(uses[*at]);
      if (edges[uses[*at].edge].graph.closed) break;
      const std::size_t vertex = LastVertex(uses[*at], edges);
      const std::size_t from = *at;
      at.reset();
      if (vertex == FirstVertex(loop.front(), edges)) break;
      // The one next in the wire is tried first: loops may touch themselves at a vertex.
      for (std::size_t step = 1; step < uses.size() && !at; ++step) {
        const std::size_t next = (from + step) % uses.size();
        if (!used[next] && FirstVertex(uses[next], edges) == vertex) at = next;
      }
    }
    loops.push_back(std::move(loop));
  }
  return loops;
}

std::vector<bool> FindOuterLoops(const GraphFace& face, const std::vector<RawEdge>& edges,
                                 const std::vector<std::vector<EdgeUse>>& loops) {
  std::vector<bool> outer(loops.size(), false);
  const SurfaceKind kind = face.surface.kind;
  if (kind == SurfaceKind::kSphere || !IsElementary(kind)) {
    const auto longest = std::max_element(
        loops.begin(), loops.end(),
        [&](const auto& a, const auto& b) { return Length_mm(a, edges) < Length_mm(b, edges); });
    if (longest != loops.end()) outer[static_cast<std::size_t>(longest - loops.begin())] = true;
    return outer;
  }
  for (std::size_t i = 0; i < loops.size(); ++i) {
    const std::vector<Vec3> line = LoopLine(loops[i], edges);
    if (kind == SurfaceKind::kPlane) {
      outer[i] = SignedArea_mm2(line, face.normal_F) > 0;
    } else {
      const Unrolled unrolled = Unroll(line, face);
      outer[i] = unrolled.round || unrolled.area > 0;
    }
  }
  return outer;
}

}  // namespace fitwright::solid
