#include "fitwright/recognize/bosses.h"

#include <algorithm>
#include <cmath>
#include <optional>

namespace fitwright::recognize {
namespace {

using solid::Bend;

struct StandingRound {
  std::size_t round = 0;
  std::size_t top = 0;
  int axis = 2;
  double sense = 1;  // of the way out
  double base_mm = 0;
  double top_mm = 0;
};

// A whole cylinder between a plane that it stands on and a top.
std::optional<StandingRound> FindStanding(const PlacedGraph& graph, std::size_t f) {
  const PlacedFace& face = graph.faces[f];
  const std::optional<int> axis = AlongAxis(face.axis_P.direction);
  if (!IsCylinder(face) || face.hollow || !axis || face.turn_share < 0.99) return std::nullopt;
  std::optional<double> base;
  std::optional<std::size_t> top;
  for (const std::size_t e : face.edges) {
    const PlacedEdge& edge = graph.edges[e];
    const PlacedFace& beside = graph.faces[edge.Other(f)];
    if (!IsPlane(beside) || !IsAlong(beside.axis_P.direction, Vec3::Unit(*axis))) continue;
    if (edge.bend == Bend::kConcave) base = beside.axis_P.point_mm[*axis];
    if (edge.bend == Bend::kConvex) top = edge.Other(f);
  }
  if (!base || !top) return std::nullopt;
  const double at = graph.faces[*top].axis_P.point_mm[*axis];
  return StandingRound{f, *top, *axis, at > *base ? 1.0 : -1.0, *base, at};
}

double BoundOf(const PlacedGraph& graph, int axis, double sense) {
  return sense > 0 ? graph.box_P.max_mm[axis] : graph.box_P.min_mm[axis];
}

// Whether the box may shrink there: every plane at its bound is the top of a boss.
bool OnlyTops(const PlacedGraph& graph, const std::vector<StandingRound>& all, int axis, double sense) {
  bool any = false;
  for (std::size_t f = 0; f < graph.faces.size(); ++f) {
    const PlacedFace& face = graph.faces[f];
    const auto span = SpanAlong(graph, f, Vec3::Unit(axis));
    const double bound = BoundOf(graph, axis, sense);
    if (!span || !IsSame(sense > 0 ? span->to_mm : span->from_mm, bound)) continue;
    const bool of_boss = std::any_of(all.begin(), all.end(), [&](const StandingRound& s) {
      return s.axis == axis && s.sense == sense && (s.top == f || s.round == f);
    });
    const bool inside = face.hollow && IsAlong(face.axis_P.direction, Vec3::Unit(axis));
    if (!of_boss && !inside) return false;
    any |= of_boss;
  }
  return any;
}

double HighestBase(const std::vector<StandingRound>& all, int axis, double sense, double bound) {
  double base = -1e300;
  for (const StandingRound& s : all) {
    if (s.axis == axis && s.sense == sense && IsSame(s.top_mm, bound)) base = std::max(base, sense * s.base_mm);
  }
  return sense * base;
}

}  // namespace

std::vector<Boss> TakeBosses(PlacedGraph& graph) {
  std::vector<StandingRound> all;
  for (std::size_t f = 0; f < graph.faces.size(); ++f) {
    if (const auto standing = FindStanding(graph, f)) all.push_back(*standing);
  }
  for (int axis = 0; axis < 3; ++axis) {
    for (const double sense : {-1.0, 1.0}) {
      if (!OnlyTops(graph, all, axis, sense)) continue;
      const double base = HighestBase(all, axis, sense, BoundOf(graph, axis, sense));
      (sense > 0 ? graph.box_P.max_mm : graph.box_P.min_mm)[axis] = Tidy(base);
    }
  }
  std::vector<Boss> bosses;
  for (const StandingRound& s : all) {
    if (s.sense * (s.top_mm - BoundOf(graph, s.axis, s.sense)) <= kSamePlace_mm) continue;
    Boss boss;
    Vec3 point = graph.faces[s.round].axis_P.point_mm;
    point[s.axis] = 0;
    boss.outer.axis_P = {Tidy(point), Vec3::Unit(s.axis)};
    boss.outer.from_mm = Tidy(std::min(s.base_mm, s.top_mm));
    boss.outer.to_mm = Tidy(std::max(s.base_mm, s.top_mm));
    boss.outer.diameter = DrawnSize(2 * graph.faces[s.round].radius_mm);
    boss.faces = {s.round, s.top};
    bosses.push_back(std::move(boss));
  }
  return bosses;
}

void AddBosses(Draft& draft, const std::vector<Boss>& bosses) {
  for (const Boss& boss : bosses) draft.Add("boss", boss.outer, boss.faces);
}

}  // namespace fitwright::recognize
