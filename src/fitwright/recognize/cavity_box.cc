#include "fitwright/recognize/cavity_box.h"

#include <algorithm>
#include <cmath>

namespace fitwright::recognize {
namespace {

using solid::Bend;

// Most pairings of walls that are looked at in one group of faces.
constexpr std::size_t kMostPairings = 512;

bool IsOnBox(const PlacedGraph& graph, const PlacedFace& plane) {
  const std::optional<int> axis = AlongAxis(plane.axis_P.direction);
  if (!axis) return false;
  const double at = plane.axis_P.point_mm[*axis];
  const bool up = plane.axis_P.direction[*axis] > 0;
  return IsSame(at, up ? graph.box_P.max_mm[*axis] : graph.box_P.min_mm[*axis]);
}

// A wall, a floor or a round between two of them.
bool Bounds(const Draft& draft, std::size_t f, bool thorough) {
  const PlacedFace& face = draft.graph.faces[f];
  if ((!thorough && !draft.IsFree(f)) || !AlongAxis(face.axis_P.direction)) return false;
  if (IsPlane(face)) return !IsOnBox(draft.graph, face);
  return IsFillet(draft.graph, f);
}

std::vector<std::vector<std::size_t>> Group(const Draft& draft, bool thorough) {
  const PlacedGraph& graph = draft.graph;
  std::vector<bool> seen(graph.faces.size(), false);
  std::vector<std::vector<std::size_t>> groups;
  for (std::size_t f = 0; f < graph.faces.size(); ++f) {
    if (seen[f] || !Bounds(draft, f, thorough)) continue;
    std::vector<std::size_t> group = {f};
    seen[f] = true;
    for (std::size_t i = 0; i < group.size(); ++i) {
      for (const std::size_t e : graph.faces[group[i]].edges) {
        const std::size_t next = graph.edges[e].Other(group[i]);
        if (graph.edges[e].bend == Bend::kConvex || seen[next] || !Bounds(draft, next, thorough)) continue;
        seen[next] = true;
        group.push_back(next);
      }
    }
    groups.push_back(std::move(group));
  }
  return groups;
}

struct WallsAt {
  double at_mm = 0;
  std::vector<std::size_t> faces;
};
using Places = std::array<std::vector<WallsAt>, 6>;

void AddPlace(Places& places, int side, double at_mm, std::size_t face) {
  std::vector<WallsAt>& list = places[static_cast<std::size_t>(side)];
  for (WallsAt& place : list) {
    if (!IsSame(place.at_mm, at_mm)) continue;
    place.faces.push_back(face);
    return;
  }
  list.push_back({at_mm, {face}});
}

// Across a half round, between the lines where it runs on smoothly: its inner point may lie far off the middle.
Vec3 ChordOf(const PlacedGraph& graph, std::size_t f, int axis) {
  Vec3 chord = Vec3::Zero();
  std::vector<Vec3> feet;
  for (const std::size_t e : graph.faces[f].edges) {
    const PlacedEdge& edge = graph.edges[e];
    if (edge.kind != solid::CurveKind::kLine) continue;
    Vec3 foot = edge.middle_P_mm;
    foot[axis] = 0;
    feet.push_back(foot);
  }
  for (const Vec3& a : feet) {
    for (const Vec3& b : feet) {
      if ((b - a).norm() > chord.norm()) chord = b - a;
    }
  }
  return chord;
}

// The sides that a round in a corner, or at a slot's end, reaches to.
void AddRound(const PlacedGraph& graph, std::size_t f, int axis, Places& places) {
  const PlacedFace& face = graph.faces[f];
  const Vec3 out = face.inner_P_mm - face.axis_P.point_mm;
  const int u = (axis + 1) % 3;
  const int v = (axis + 2) % 3;
  const bool half = face.turn_share > 0.4;
  const Vec3 chord = half ? ChordOf(graph, f, axis) : Vec3(Vec3::Zero());
  const int main = std::abs(chord[u]) < std::abs(chord[v]) ? u : v;
  for (const int i : {u, v}) {
    for (const bool high : {false, true}) {
      const bool reaches = (half && i != main) || (out[i] > 0) == high;
      if (!reaches) continue;
      const double at = face.axis_P.point_mm[i] + (high ? face.radius_mm : -face.radius_mm);
      AddPlace(places, 2 * i + (high ? 1 : 0), at, f);
    }
  }
}

// How the corners of one cavity are rounded.
struct Corner {
  int axis = 2;
  double radius_mm = 0;
  bool Fits(const PlacedFace& round) const {
    return AlongAxis(round.axis_P.direction) == axis && IsSame(round.radius_mm, radius_mm);
  }
};

std::vector<Corner> CornersOf(const PlacedGraph& graph, const std::vector<std::size_t>& group) {
  std::vector<Corner> corners;
  for (const std::size_t f : group) {
    const PlacedFace& face = graph.faces[f];
    const auto fits = [&](const Corner& corner) { return corner.Fits(face); };
    if (IsPlane(face) || std::any_of(corners.begin(), corners.end(), fits)) continue;
    corners.push_back({*AlongAxis(face.axis_P.direction), face.radius_mm});
  }
  return corners;
}

// The places of all planes, and of the rounds of that corner.
Places FindPlaces(const PlacedGraph& graph, const std::vector<std::size_t>& group, const std::optional<Corner>& corner) {
  Places places;
  for (const std::size_t f : group) {
    const PlacedFace& face = graph.faces[f];
    const int axis = *AlongAxis(face.axis_P.direction);
    if (IsPlane(face)) {
      AddPlace(places, 2 * axis + (face.axis_P.direction[axis] > 0 ? 0 : 1), face.axis_P.point_mm[axis], f);
    } else if (corner && corner->Fits(face)) {
      AddRound(graph, f, axis, places);
    }
  }
  return places;
}

void SetReach(const PlacedGraph& graph, Cavity& cavity) {
  for (int axis = 0; axis < 3; ++axis) {
    Span& reach = cavity.reach[static_cast<std::size_t>(axis)];
    reach = {1e300, -1e300};
    for (const std::size_t f : cavity.faces) {
      const auto span = SpanAlong(graph, f, Vec3::Unit(axis));
      if (!span) continue;
      reach.from_mm = std::min(reach.from_mm, span->from_mm);
      reach.to_mm = std::max(reach.to_mm, span->to_mm);
    }
  }
}

// Whether the face lies along the box of the walls, not beside it: a wall shares a stretch with the box
// both ways, a round lies inside.
bool Supports(const PlacedGraph& graph, const Cavity& cavity, std::size_t f) {
  const PlacedFace& face = graph.faces[f];
  for (int axis = 0; axis < 3; ++axis) {
    const auto& low = cavity.walls[2 * static_cast<std::size_t>(axis)];
    const auto& high = cavity.walls[2 * static_cast<std::size_t>(axis) + 1];
    const std::optional<Span> span = SpanAlong(graph, f, Vec3::Unit(axis));
    if (!span) return false;
    if (IsPlane(face) && AlongAxis(face.axis_P.direction) == axis) continue;
    if (!IsPlane(face) && low && span->from_mm < *low - kSamePlace_mm) return false;
    if (!IsPlane(face) && high && span->to_mm > *high + kSamePlace_mm) return false;
    if (low && span->to_mm < *low + kSamePlace_mm) return false;
    if (high && span->from_mm > *high - kSamePlace_mm) return false;
  }
  return true;
}

// The faces of the chosen places that support them; none when a wall has none.
std::optional<std::vector<std::size_t>> SupportingFaces(const PlacedGraph& graph, const Cavity& cavity, const Places& places) {
  std::vector<std::size_t> faces;
  for (std::size_t side = 0; side < places.size(); ++side) {
    if (!cavity.walls[side]) continue;
    bool any = false;
    for (const WallsAt& place : places[side]) {
      if (!IsSame(place.at_mm, *cavity.walls[side])) continue;
      for (const std::size_t f : place.faces) {
        if (!Supports(graph, cavity, f)) continue;
        faces.push_back(f);
        any = true;
      }
    }
    if (!any) return std::nullopt;
  }
  std::sort(faces.begin(), faces.end());
  faces.erase(std::unique(faces.begin(), faces.end()), faces.end());
  return faces;
}

// All ways to take one wall, or where there are several any one of them, on each side; thorough: or none.
std::vector<Cavity> Pair(const PlacedGraph& graph, const Cavity& plain, const Places& places, bool thorough) {
  std::vector<Cavity> pairings = {plain};
  for (std::size_t side = 0; side < places.size(); ++side) {
    if (places[side].empty()) continue;
    std::vector<Cavity> next;
    if (thorough) next = pairings;
    for (const Cavity& cavity : pairings) {
      for (const WallsAt& place : places[side]) {
        Cavity with = cavity;
        with.walls[side] = place.at_mm;
        const auto& below = with.walls[side - side % 2];
        const auto& above = with.walls[side - side % 2 + 1];
        if (!below || !above || *above - *below > kSamePlace_mm) next.push_back(std::move(with));
      }
    }
    pairings = std::move(next);
    if (pairings.size() > kMostPairings) return {};
  }
  std::vector<Cavity> sound;
  for (Cavity& cavity : pairings) {
    auto faces = SupportingFaces(graph, cavity, places);
    if (!faces || faces->size() < 2) continue;
    cavity.faces = *std::move(faces);
    SetReach(graph, cavity);
    sound.push_back(std::move(cavity));
  }
  return sound;
}

// Two walls that look at each other across a gap open all round.
void AddGaps(const Draft& draft, const std::vector<std::vector<std::size_t>>& groups, std::vector<Cavity>& cavities) {
  const PlacedGraph& graph = draft.graph;
  for (const auto& one : groups) {
    for (const auto& other : groups) {
      if (one.size() != 1 || other.size() != 1) continue;
      const PlacedFace& low = graph.faces[one.front()];
      const PlacedFace& high = graph.faces[other.front()];
      if (!IsPlane(low) || !IsPlane(high) || low.axis_P.direction.dot(high.axis_P.direction) > -1 + kSameWay_rad) continue;
      const int axis = *AlongAxis(low.axis_P.direction);
      const double from = low.axis_P.point_mm[axis];
      const double to = high.axis_P.point_mm[axis];
      if (low.axis_P.direction[axis] < 0 || to - from <= kSamePlace_mm) continue;
      Cavity gap;
      gap.walls[2 * static_cast<std::size_t>(axis)] = from;
      gap.walls[2 * static_cast<std::size_t>(axis) + 1] = to;
      gap.faces = {one.front(), other.front()};
      if (!Supports(graph, gap, one.front())) continue;
      SetReach(graph, gap);
      cavities.push_back(std::move(gap));
    }
  }
}

double Volume(const PlacedGraph& graph, const Cavity& cavity) {
  double volume = 1;
  for (int axis = 0; axis < 3; ++axis) {
    const auto& low = cavity.walls[2 * static_cast<std::size_t>(axis)];
    const auto& high = cavity.walls[2 * static_cast<std::size_t>(axis) + 1];
    volume *= high.value_or(graph.box_P.max_mm[axis]) - low.value_or(graph.box_P.min_mm[axis]);
  }
  return volume;
}

}  // namespace

int Cavity::CountOpen() const {
  return static_cast<int>(std::count(walls.begin(), walls.end(), std::nullopt));
}

bool HoldsMetal(const PlacedGraph& graph, const Box3& box, const Cavity& cavity) {
  Vec3 margin = Vec3::Constant(kSamePlace_mm);
  for (int axis = 0; axis < 3; ++axis) {
    if (cavity.corner_axis && *cavity.corner_axis != axis) margin[axis] += cavity.corner_mm;
  }
  const auto inside = [&](const Vec3& p) {
    return (p - box.min_mm - margin).minCoeff() > 0 && (box.max_mm - margin - p).minCoeff() > 0;
  };
  const auto holds_face = [&](const PlacedFace& face) { return inside(face.inner_P_mm); };
  const auto holds_edge = [&](const PlacedEdge& edge) {
    return inside(edge.start_P_mm) || inside(edge.middle_P_mm) || inside(edge.end_P_mm);
  };
  return std::any_of(graph.faces.begin(), graph.faces.end(), holds_face) ||
         std::any_of(graph.edges.begin(), graph.edges.end(), holds_edge);
}

std::vector<Cavity> FindCavities(const Draft& draft, bool thorough) {
  const PlacedGraph& graph = draft.graph;
  std::vector<Cavity> cavities;
  const std::vector<std::vector<std::size_t>> groups = Group(draft, thorough);
  for (const std::vector<std::size_t>& group : groups) {
    const bool has_free = std::any_of(group.begin(), group.end(), [&](std::size_t f) { return draft.IsFree(f); });
    const std::vector<Corner> corners = CornersOf(graph, group);
    if (!has_free || group.size() < 2 || (corners.size() > 1 && !thorough)) continue;
    std::vector<std::optional<Corner>> ways(corners.begin(), corners.end());
    if (corners.empty() || thorough) ways.push_back(std::nullopt);
    for (const std::optional<Corner>& corner : ways) {
      Cavity plain;
      if (corner) plain.corner_axis = corner->axis;
      if (corner) plain.corner_mm = corner->radius_mm;
      const std::vector<Cavity> pairings = Pair(graph, plain, FindPlaces(graph, group, corner), thorough);
      cavities.insert(cavities.end(), pairings.begin(), pairings.end());
    }
  }
  if (!thorough) AddGaps(draft, groups, cavities);
  std::stable_sort(cavities.begin(), cavities.end(), [&](const Cavity& a, const Cavity& b) {
    if (a.faces.size() != b.faces.size()) return a.faces.size() > b.faces.size();
    const double va = Volume(graph, a);
    const double vb = Volume(graph, b);
    if (std::abs(va - vb) > kSamePlace_mm) return va > vb;
    return a.walls < b.walls;
  });
  return cavities;
}

}  // namespace fitwright::recognize
