#include <BRep_Tool.hxx>
#include <TopLoc_Location.hxx>
#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

#include "fitwright/solid/face_graph_internal.h"

namespace fitwright::solid {
namespace {

// The raw faces in groups, each named by its first.
class Groups {
 public:
  explicit Groups(std::size_t count) : first_(count) { std::iota(first_.begin(), first_.end(), 0); }
  std::size_t Of(std::size_t i) const {
    while (first_[i] != i) i = first_[i];
    return i;
  }
  void Join(std::size_t a, std::size_t b) {
    a = Of(a);
    b = Of(b);
    first_[std::max(a, b)] = std::min(a, b);
  }

 private:
  std::vector<std::size_t> first_;
};

bool HaveOneSurface(const RawFace& a, const RawFace& b, double tolerance_mm) {
  if (!IsElementary(a.graph.surface.kind) && !IsElementary(b.graph.surface.kind)) {
    TopLoc_Location at_a;
    TopLoc_Location at_b;
    return BRep_Tool::Surface(a.face, at_a) == BRep_Tool::Surface(b.face, at_b) &&
           at_a.IsEqual(at_b);
  }
  return a.graph.hollow == b.graph.hollow &&
         IsSameSurface(a.graph.surface, b.graph.surface, std::max(a.extent_mm, b.extent_mm),
                       tolerance_mm);
}

Groups GroupFaces(const RawGraph& raw, double tolerance_mm) {
  Groups groups(raw.faces.size());
  for (const RawEdge& edge : raw.edges) {
    if (edge.seam || edge.graph.bend != Bend::kTangent) continue;
    const std::size_t a = edge.graph.face_a;
    const std::size_t b = edge.graph.face_b;
    if (HaveOneSurface(raw.faces[a], raw.faces[b], tolerance_mm)) groups.Join(a, b);
  }
  return groups;
}

// Share of the full turn that the members' intervals cover together.
double CoveredShare(const Surface& surface, const std::vector<const RawFace*>& members) {
  if (surface.kind == SurfaceKind::kSphere) {
    double area_mm2 = 0;
    for (const RawFace* member : members) area_mm2 += member->graph.area_mm2;
    return std::min(1.0, area_mm2 / (4 * kPi * surface.radius_mm * surface.radius_mm));
  }
  constexpr double kMeet_rad = 1e-6;
  const Vec3 x = surface.axis_F.direction.unitOrthogonal();
  const Vec3 y = surface.axis_F.direction.cross(x);
  std::vector<std::pair<double, double>> spans;  // within [0, 2 pi], cut at 0
  for (const RawFace* member : members) {
    const double half = member->turn_half_rad;
    if (half >= kPi - kMeet_rad) return 1;
    const Vec3 off = member->turn_middle_F - surface.axis_F.point_mm;
    double from = std::atan2(off.dot(y), off.dot(x)) - half;
    from -= 2 * kPi * std::floor(from / (2 * kPi));
    spans.emplace_back(from, std::min(from + 2 * half, 2 * kPi));
    if (from + 2 * half > 2 * kPi) spans.emplace_back(0, from + 2 * half - 2 * kPi);
  }
  std::sort(spans.begin(), spans.end());
  double covered = 0;
  double reached = 0;
  for (const auto& [from, to] : spans) {
    covered += std::max(0.0, to - std::max(from, reached));
    reached = std::max(reached, to);
  }
  return covered >= 2 * kPi - kMeet_rad ? 1 : covered / (2 * kPi);
}

GraphFace JoinMembers(const std::vector<const RawFace*>& members) {
  const RawFace& largest = **std::max_element(
      members.begin(), members.end(),
      [](const RawFace* a, const RawFace* b) { return a->graph.area_mm2 < b->graph.area_mm2; });
  GraphFace face = largest.graph;
  face.area_mm2 = 0;
  face.label.clear();
  face.sources.clear();
  for (const RawFace* member : members) {
    face.area_mm2 += member->graph.area_mm2;
    Include(member->graph.box_F.min_mm, face.box_F);
    Include(member->graph.box_F.max_mm, face.box_F);
    if (face.label.empty()) face.label = member->graph.label;
    face.sources.insert(face.sources.end(), member->graph.sources.begin(),
                        member->graph.sources.end());
  }
  const bool turns =
      face.surface.kind != SurfaceKind::kPlane && IsElementary(face.surface.kind);
  if (turns) face.turn_share = CoveredShare(face.surface, members);
  return face;
}

struct End {
  std::size_t edge = 0;
  bool at_end = false;
};

Vec3 RunAt(const RawEdge& edge, bool at_end) {
  const std::vector<Vec3>& line = edge.line_F;
  const std::size_t last = line.size() - 1;
  return (at_end ? line[last] - line[last - 1] : line[0] - line[1]).normalized();
}

// Both edges part the same two faces and are one curve across the vertex.
bool GoOn(const RawEdge& a, bool a_at_end, const RawEdge& b, bool b_at_end,
          const FaceGraphSettings& settings) {
  const FaceEdge& one = a.graph;
  const FaceEdge& other = b.graph;
  const bool same_faces =
      std::minmax(one.face_a, one.face_b) == std::minmax(other.face_a, other.face_b);
  if (!same_faces || one.kind != other.kind) return false;
  if (one.kind == CurveKind::kCircle) {
    return std::abs(one.radius_mm - other.radius_mm) <= settings.tolerance_mm &&
           (one.axis_F.point_mm - other.axis_F.point_mm).norm() <= settings.tolerance_mm &&
           one.axis_F.direction.cross(other.axis_F.direction).norm() <= settings.tangent_rad;
  }
  // Sampled curves turn a little from one sample to the next.
  const double bend = one.kind == CurveKind::kLine ? settings.tangent_rad : 0.2;
  return RunAt(a, a_at_end).dot(RunAt(b, b_at_end)) < -std::cos(bend);
}

// For each edge's two ends the end that it goes on to, where one does.
using Onward = std::map<std::pair<std::size_t, bool>, End>;

Onward FindOnward(const std::vector<RawEdge>& edges, const FaceGraphSettings& settings) {
  std::map<std::size_t, std::vector<End>> at_vertex;
  for (std::size_t i = 0; i < edges.size(); ++i) {
    if (edges[i].seam) continue;
    at_vertex[edges[i].start].push_back({i, false});
    at_vertex[edges[i].end].push_back({i, true});
  }
  Onward onward;
  for (const auto& [vertex, ends] : at_vertex) {
    if (ends.size() != 2 || ends[0].edge == ends[1].edge) continue;
    const End& a = ends[0];
    const End& b = ends[1];
    if (!GoOn(edges[a.edge], a.at_end, edges[b.edge], b.at_end, settings)) continue;
    onward[{a.edge, a.at_end}] = b;
    onward[{b.edge, b.at_end}] = a;
  }
  return onward;
}

// The edges that are one with `first`, in order along it.
std::vector<EdgeUse> Follow(std::size_t first, const Onward& onward) {
  EdgeUse at{first, false};
  // Back to where the curve begins, or once round.
  while (true) {
    const auto before = onward.find({at.edge, at.reversed});
    if (before == onward.end() || before->second.edge == first) break;
    at = {before->second.edge, !before->second.at_end};
  }
  std::vector<EdgeUse> chain = {at};
  while (true) {
    const auto next = onward.find({chain.back().edge, !chain.back().reversed});
    if (next == onward.end() || next->second.edge == chain.front().edge) break;
    chain.push_back({next->second.edge, next->second.at_end});
  }
  return chain;
}

Vec3 AlongCircle(const FaceEdge& circle, const std::vector<Vec3>& line, double by_mm) {
  const Vec3 off = line[0] - circle.axis_F.point_mm;
  const Vec3& axis = circle.axis_F.direction;
  const double sign = axis.cross(off).dot(line[1] - line[0]) < 0 ? -1 : 1;
  return circle.axis_F.point_mm + Eigen::AngleAxisd(sign * by_mm / circle.radius_mm, axis) * off;
}

Vec3 AlongLine(const std::vector<Vec3>& line, double by_mm) {
  for (std::size_t i = 1; i < line.size(); ++i) {
    const double step_mm = (line[i] - line[i - 1]).norm();
    if (by_mm <= step_mm) return line[i - 1] + by_mm / step_mm * (line[i] - line[i - 1]);
    by_mm -= step_mm;
  }
  return line.back();
}

RawEdge JoinChain(const std::vector<EdgeUse>& chain, const std::vector<RawEdge>& edges) {
  double length_mm = 0;
  for (const EdgeUse& use : chain) length_mm += edges[use.edge].graph.length_mm;
  RawEdge joined = edges[chain.front().edge];
  joined.line_F.clear();
  double reached_mm = 0;
  bool halved = false;
  for (const EdgeUse& use : chain) {
    const RawEdge& member = edges[use.edge];
    std::vector<Vec3> line = member.line_F;
    if (use.reversed) std::reverse(line.begin(), line.end());
    const double half_mm = 0.5 * length_mm - reached_mm;
    if (!halved && half_mm <= member.graph.length_mm) {
      halved = true;
      joined.graph = member.graph;
      joined.graph.middle_F_mm = member.graph.kind == CurveKind::kCircle
                                     ? AlongCircle(member.graph, line, half_mm)
                                     : AlongLine(line, half_mm);
    }
    reached_mm += member.graph.length_mm;
    joined.line_F.insert(joined.line_F.end(), line.begin(), line.end());
    Include(member.box_F.min_mm, joined.box_F);
    Include(member.box_F.max_mm, joined.box_F);
  }
  const EdgeUse& last = chain.back();
  const EdgeUse& first = chain.front();
  joined.start = first.reversed ? edges[first.edge].end : edges[first.edge].start;
  joined.end = last.reversed ? edges[last.edge].start : edges[last.edge].end;
  joined.graph.length_mm = length_mm;
  joined.graph.closed = joined.start == joined.end;
  joined.graph.start_F_mm = joined.line_F.front();
  joined.graph.end_F_mm = joined.graph.closed ? joined.line_F.front() : joined.line_F.back();
  return joined;
}

// Edges in pieces made whole; `uses` follow.
void JoinEdges(const FaceGraphSettings& settings, RawGraph& graph) {
  const Onward onward = FindOnward(graph.edges, settings);
  std::vector<RawEdge> joined;
  std::map<std::size_t, EdgeUse> leader;  // first edge of a chain -> the joined edge, seen from it
  std::vector<bool> done(graph.edges.size(), false);
  for (std::size_t i = 0; i < graph.edges.size(); ++i) {
    if (done[i] || graph.edges[i].seam) continue;
    const std::vector<EdgeUse> chain = Follow(i, onward);
    for (const EdgeUse& use : chain) done[use.edge] = true;
    leader[chain.front().edge] = {joined.size(), chain.front().reversed};
    joined.push_back(chain.size() == 1 ? graph.edges[i] : JoinChain(chain, graph.edges));
  }
  for (std::vector<EdgeUse>& uses : graph.uses) {
    std::vector<EdgeUse> kept;
    for (const EdgeUse& use : uses) {
      const auto found = leader.find(use.edge);
      if (found == leader.end()) continue;
      kept.push_back({found->second.edge, use.reversed != found->second.reversed});
    }
    uses = std::move(kept);
  }
  graph.edges = std::move(joined);
}

}  // namespace

FaceGraph JoinFaces(RawGraph raw, const FaceGraphSettings& settings) {
  const Groups groups = GroupFaces(raw, settings.tolerance_mm);
  std::map<std::size_t, std::vector<const RawFace*>> members;
  std::map<std::size_t, std::vector<EdgeUse>> uses;
  for (std::size_t i = 0; i < raw.faces.size(); ++i) {
    members[groups.Of(i)].push_back(&raw.faces[i]);
    std::vector<EdgeUse>& all = uses[groups.Of(i)];
    all.insert(all.end(), raw.uses[i].begin(), raw.uses[i].end());
  }
  std::map<std::size_t, std::size_t> place;
  FaceGraph graph;
  RawGraph whole;
  for (const auto& [group, faces] : members) {
    place[group] = graph.faces.size();
    graph.faces.push_back(JoinMembers(faces));
    whole.uses.push_back(std::move(uses[group]));
  }
  for (RawEdge& edge : raw.edges) {
    edge.graph.face_a = place[groups.Of(edge.graph.face_a)];
    edge.graph.face_b = place[groups.Of(edge.graph.face_b)];
    edge.seam = edge.graph.face_a == edge.graph.face_b;
  }
  whole.edges = std::move(raw.edges);
  JoinEdges(settings, whole);
  for (std::size_t i = 0; i < graph.faces.size(); ++i) {
    GraphFace& face = graph.faces[i];
    const auto loops = ChainLoops(whole.uses[i], whole.edges);
    const std::vector<bool> outer = FindOuterLoops(face, whole.edges, loops);
    for (std::size_t loop = 0; loop < loops.size(); ++loop) {
      FaceLoop laid;
      laid.outer = outer[loop];
      for (const EdgeUse& use : loops[loop]) laid.edges.push_back(use.edge);
      face.loops.push_back(std::move(laid));
    }
    graph.area_mm2 += face.area_mm2;
  }
  for (const RawEdge& edge : whole.edges) graph.edges.push_back(edge.graph);
  return graph;
}

}  // namespace fitwright::solid
