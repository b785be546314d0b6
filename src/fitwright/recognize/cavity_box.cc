#include "fitwright/recognize/cavity_box.h"

#include <algorithm>
#include <cmath>

namespace fitwright::recognize {
namespace {

using solid::Bend;

// Most pairings of walls that are looked at in one group of faces.
constexpr std::size_t kMostPairings = 64;

bool IsOnBox(const PlacedGraph& graph, const PlacedFace& plane) {
  const std::optional<int> axis = AlongAxis(plane.axis_P.direction);
  if (!axis) return false;
  const double at = plane.axis_P.point_mm[*axis];
  const bool up = plane.axis_P.direction[*axis] > 0;
  return IsSame(at, up ? graph.box_P.max_mm[*axis] : graph.box_P.min_mm[*axis]);
}

// A wall, a floor or a round between two of them.
bool Bounds(const Draft& draft, std::size_t f) {
  const PlacedFace& face = draft.graph.faces[f];
  if (!draft.IsFree(f) || !AlongAxis(face.axis_P.direction)) return false;
  if (IsPlane(face)) return !IsOnBox(draft.graph, face);
  return IsFillet(draft.graph, f);
}

std::vector<std::vector<std::size_t>> Group(const Draft& draft) {
  const PlacedGraph& graph = draft.graph;
  std::vector<bool> seen(graph.faces.size(), false);
  std::vector<std::vector<std::size_t>> groups;
  for (std::size_t f = 0; f < graph.faces.size(); ++f) {
    if (seen[f] || !Bounds(draft, f)) continue;
    std::vector<std::size_t> group = {f};
    seen[f] = true;
    for (std::size_t i = 0; i < group.size(); ++i) {
      for (const std::size_t e : graph.faces[group[i]].edges) {
        const std::size_t next = graph.edges[e].Other(group[i]);
        if (graph.edges[e].bend == Bend::kConvex || seen[next] || !Bounds(draft, next)) continue;
        seen[next] = true;
        group.push_back(next);
      }
    }
    groups.push_back(std::move(group));
  }
  return groups;
}

struct Place {
  double at_mm = 0;
  std::vector<std::size_t> faces;
};
using Places = std::array<std::vector<Place>, 6>;

void AddPlace(Places& places, int side, double at_mm, std::size_t face) {
  std::vector<Place>& list = places[static_cast<std::size_t>(side)];
  for (Place& place : list) {
    if (!IsSame(place.at_mm, at_mm)) continue;
    place.faces.push_back(face);
    return;
  }
  list.push_back({at_mm, {face}});
}

// The sides that a round in a corner, or at a slot's end, reaches to.
void AddRound(const PlacedGraph& graph, std::size_t f, int axis, Places& places) {
  const PlacedFace& face = graph.faces[f];
  const Vec3 out = face.inner_P_mm - face.axis_P.point_mm;
  const int u = (axis + 1) % 3;
  const int v = (axis + 2) % 3;
  const int main = std::abs(out[u]) > std::abs(out[v]) ? u : v;
  const bool half = face.turn_share > 0.4;
  for (const int i : {u, v}) {
    for (const bool high : {false, true}) {
      const bool reaches = (half && i != main) || (out[i] > 0) == high;
      if (!reaches) continue;
      const double at = face.axis_P.point_mm[i] + (high ? face.radius_mm : -face.radius_mm);
      AddPlace(places, 2 * i + (high ? 1 : 0), at, f);
    }
  }
}

// One radius and one way for all rounds, or none at all.
bool ReadRounds(const PlacedGraph& graph, const std::vector<std::size_t>& group, Cavity& cavity, Places& places) {
  for (const std::size_t f : group) {
    const PlacedFace& face = graph.faces[f];
    const int axis = *AlongAxis(face.axis_P.direction);
    if (IsPlane(face)) {
      AddPlace(places, 2 * axis + (face.axis_P.direction[axis] > 0 ? 0 : 1), face.axis_P.point_mm[axis], f);
      continue;
    }
    if (cavity.corner_axis && (*cavity.corner_axis != axis || !IsSame(cavity.corner_mm, face.radius_mm))) return false;
    cavity.corner_axis = axis;
    cavity.corner_mm = face.radius_mm;
    AddRound(graph, f, axis, places);
  }
  return true;
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

// All ways to take one wall, or where there are several any one of them, on each side.
std::vector<Cavity> Pair(const PlacedGraph& graph, const Cavity& plain, const Places& places) {
  std::vector<Cavity> pairings = {plain};
  for (std::size_t side = 0; side < places.size(); ++side) {
    if (places[side].empty()) continue;
    std::vector<Cavity> next;
    for (const Cavity& cavity : pairings) {
      for (const Place& place : places[side]) {
        Cavity with = cavity;
        with.walls[side] = place.at_mm;
        const auto& below = with.walls[side - side % 2];
        const auto& above = with.walls[side - side % 2 + 1];
        if (below && above && *above - *below <= kSamePlace_mm) continue;
        with.faces.insert(with.faces.end(), place.faces.begin(), place.faces.end());
        next.push_back(std::move(with));
      }
    }
    pairings = std::move(next);
    if (pairings.size() > kMostPairings) return {};
  }
  for (Cavity& cavity : pairings) {
    std::sort(cavity.faces.begin(), cavity.faces.end());
    cavity.faces.erase(std::unique(cavity.faces.begin(), cavity.faces.end()), cavity.faces.end());
    SetReach(graph, cavity);
  }
  return pairings;
}

double Volume(const PlacedGraph& graph, const Cavity& cavity) {
  double volume = 1;
  for (int axis = 0; axis < 3; ++axis) {
    const auto& low = cavity.walls[static_cast<std::size_t>(2 * axis)];
    const auto& high = cavity.walls[static_cast<std::size_t>(2 * axis + 1)];
    volume *= high.value_or(graph.box_P.max_mm[axis]) - low.value_or(graph.box_P.min_mm[axis]);
  }
  return volume;
}

}  // namespace

int Cavity::CountOpen() const {
  return static_cast<int>(std::count(walls.begin(), walls.end(), std::nullopt));
}

std::vector<Cavity> FindCavities(const Draft& draft) {
  const PlacedGraph& graph = draft.graph;
  std::vector<Cavity> cavities;
  for (const std::vector<std::size_t>& group : Group(draft)) {
    Cavity plain;
    Places places;
    if (group.size() < 2 || !ReadRounds(graph, group, plain, places)) continue;
    std::vector<Cavity> pairings = Pair(graph, plain, places);
    cavities.insert(cavities.end(), pairings.begin(), pairings.end());
  }
  std::stable_sort(cavities.begin(), cavities.end(), [&](const Cavity& a, const Cavity& b) {
    const double va = Volume(graph, a);
    const double vb = Volume(graph, b);
    if (std::abs(va - vb) > kSamePlace_mm) return va > vb;
    return a.walls < b.walls;
  });
  return cavities;
}

}  // namespace fitwright::recognize
