#include "fitwright/recognize/stack_rings.h"

#include <algorithm>
#include <cmath>
#include <optional>

namespace fitwright::recognize {
namespace {

using solid::Bend;
using solid::SurfaceKind;

// Half the point angle, and how far a file's may be off it.
constexpr double kHalf118_rad = 59 * kRadPerDeg;
constexpr double kHalf135_rad = 67.5 * kRadPerDeg;
constexpr double kHalfOff_rad = 0.05 * kRadPerDeg;

struct StackFaces {
  int axis = 2;
  Vec3 point = Vec3::Zero();
  std::vector<std::size_t> cylinders;
  std::vector<std::size_t> cones;
  std::vector<std::size_t> tori;
};

std::vector<StackFaces> GroupByAxis(const Draft& draft) {
  const PlacedGraph& graph = draft.graph;
  std::vector<StackFaces> groups;
  for (std::size_t f = 0; f < graph.faces.size(); ++f) {
    const PlacedFace& face = graph.faces[f];
    const bool round = IsHollowCylinder(face) || (face.kind == SurfaceKind::kCone && face.hollow) ||
                       (face.kind == SurfaceKind::kTorus && !face.hollow);
    const std::optional<int> axis = AlongAxis(face.axis_P.direction);
    if (!round || !axis || !draft.IsFree(f) || IsFillet(graph, f)) continue;
    Vec3 point = face.axis_P.point_mm;
    point[*axis] = 0;
    auto group = std::find_if(groups.begin(), groups.end(), [&](const StackFaces& g) {
      return g.axis == *axis && (g.point - point).norm() <= kSamePlace_mm;
    });
    if (group == groups.end()) group = groups.insert(groups.end(), StackFaces{*axis, point, {}, {}, {}});
    if (face.kind == SurfaceKind::kCylinder) group->cylinders.push_back(f);
    if (face.kind == SurfaceKind::kCone) group->cones.push_back(f);
    if (face.kind == SurfaceKind::kTorus) group->tori.push_back(f);
  }
  return groups;
}

RingEnd PointOf(const PlacedFace& cone) {
  if (cone.kind != SurfaceKind::kCone || !cone.hollow) return RingEnd::kOpen;
  if (std::abs(cone.half_angle_rad - kHalf118_rad) < kHalfOff_rad) return RingEnd::kPoint118;
  if (std::abs(cone.half_angle_rad - kHalf135_rad) < kHalfOff_rad) return RingEnd::kPoint135;
  return RingEnd::kOpen;
}

// The bottom that the face beside an edge makes. A drill's point need not come to its tip: another hole may
// have taken it.
RingEnd BottomBeside(const PlacedGraph& graph, std::size_t ring, const PlacedEdge& edge, int axis) {
  const PlacedFace& beside = graph.faces[edge.Other(ring)];
  if (edge.bend != Bend::kConcave) return RingEnd::kOpen;
  if (IsPlane(beside) && IsAlong(beside.axis_P.direction, Vec3::Unit(axis))) return RingEnd::kFlat;
  const RingEnd point = PointOf(beside);
  if (point == RingEnd::kOpen || !AreCoaxial(beside.axis_P, graph.faces[ring].axis_P)) return RingEnd::kOpen;
  return point;
}

Vec3 OnAxis(const PlacedFace& round, int axis, double at_mm) {
  Vec3 point = round.axis_P.point_mm;
  point[axis] = at_mm;
  return point;
}

void LookAtEnds(const PlacedGraph& graph, std::size_t face, int axis, Ring& ring) {
  const double middle = ring.span.middle_mm();
  for (const std::size_t e : graph.faces[face].edges) {
    const PlacedEdge& edge = graph.edges[e];
    const RingEnd bottom = BottomBeside(graph, face, edge, axis);
    if (bottom == RingEnd::kOpen) continue;
    (edge.middle_P_mm[axis] > middle ? ring.high : ring.low) = bottom;
    ring.faces.push_back(edge.Other(face));
  }
}

Ring MakeRing(const PlacedGraph& graph, std::size_t face, int axis) {
  Ring ring;
  ring.radius_mm = graph.faces[face].radius_mm;
  ring.faces = {face};
  ring.span = *SpanAlong(graph, face, Vec3::Unit(axis));
  LookAtEnds(graph, face, axis, ring);
  if (ring.low == RingEnd::kOpen) ring.span.from_mm = OpenEndAt(graph, face, false);
  if (ring.high == RingEnd::kOpen) ring.span.to_mm = OpenEndAt(graph, face, true);
  return ring;
}

void Join(Ring& ring, const Ring& next) {
  if (next.span.from_mm < ring.span.from_mm - kSamePlace_mm) ring.low = next.low;
  if (ring.low == RingEnd::kOpen && IsSame(next.span.from_mm, ring.span.from_mm)) ring.low = next.low;
  if (next.span.to_mm > ring.span.to_mm + kSamePlace_mm) ring.high = next.high;
  if (ring.high == RingEnd::kOpen && IsSame(next.span.to_mm, ring.span.to_mm)) ring.high = next.high;
  ring.span.from_mm = std::min(ring.span.from_mm, next.span.from_mm);
  ring.span.to_mm = std::max(ring.span.to_mm, next.span.to_mm);
  ring.faces.insert(ring.faces.end(), next.faces.begin(), next.faces.end());
}

bool MayJoin(const Stack& stack, const Ring& ring, const Ring& next, const IsAirBetween& is_air) {
  if (!IsSame(ring.radius_mm, next.radius_mm)) return false;
  const bool overlap = next.span.from_mm <= ring.span.to_mm + kSamePlace_mm;
  if (overlap) return true;
  if (ring.high != RingEnd::kOpen || next.low != RingEnd::kOpen) return false;
  Vec3 from = stack.point_P_mm;
  Vec3 to = stack.point_P_mm;
  from[stack.axis] = ring.span.to_mm;
  to[stack.axis] = next.span.from_mm;
  return is_air(from, to);
}

void SortByPlace(std::vector<Ring>& rings) {
  std::stable_sort(rings.begin(), rings.end(), [](const Ring& a, const Ring& b) {
    return a.span.middle_mm() < b.span.middle_mm();
  });
}

// Equal radii that are one hole.
void JoinRings(Stack& stack, const IsAirBetween& is_air) {
  SortByPlace(stack.rings);
  std::vector<Ring> joined;
  for (const Ring& ring : stack.rings) {
    Ring* into = nullptr;
    for (Ring& earlier : joined) {
      if (MayJoin(stack, earlier, ring, is_air)) into = &earlier;
    }
    if (into != nullptr) {
      Join(*into, ring);
    } else {
      joined.push_back(ring);
    }
  }
  stack.rings = std::move(joined);
  SortByPlace(stack.rings);
}

Cone MakeCone(const PlacedGraph& graph, std::size_t face, int axis) {
  Cone cone;
  const PlacedFace& surface = graph.faces[face];
  cone.span = *SpanAlong(graph, face, Vec3::Unit(axis));
  if (cone.span.length_mm() <= kSamePlace_mm) {
    const double tip = ConeTip(surface)[axis];
    cone.span = {std::min(cone.span.from_mm, tip), std::max(cone.span.to_mm, tip)};
  }
  const auto radius_at = [&](double at_mm) {
    return std::max(0.0, ConeRadiusAt(surface, OnAxis(surface, axis, at_mm)));
  };
  cone.low_radius_mm = radius_at(cone.span.from_mm);
  cone.high_radius_mm = radius_at(cone.span.to_mm);
  cone.faces = {face};
  return cone;
}

double SlopeOf(const Cone& cone) { return (cone.high_radius_mm - cone.low_radius_mm) / cone.span.length_mm(); }

// Pieces of one cone, parted by other cuts, are one.
void AddCone(const Cone& piece, std::vector<Cone>& cones) {
  for (Cone& cone : cones) {
    const double slope = SlopeOf(cone);
    const double there = cone.low_radius_mm + slope * (piece.span.from_mm - cone.span.from_mm);
    if (std::abs(SlopeOf(piece) - slope) > kSameWay_rad || !IsSame(there, piece.low_radius_mm)) continue;
    if (piece.span.from_mm < cone.span.from_mm) cone.low_radius_mm = piece.low_radius_mm;
    if (piece.span.to_mm > cone.span.to_mm) cone.high_radius_mm = piece.high_radius_mm;
    cone.span.from_mm = std::min(cone.span.from_mm, piece.span.from_mm);
    cone.span.to_mm = std::max(cone.span.to_mm, piece.span.to_mm);
    cone.faces.insert(cone.faces.end(), piece.faces.begin(), piece.faces.end());
    return;
  }
  cones.push_back(piece);
}

// A rim about the axis at the place: there the cone ends by itself.
bool HasRimAt(const PlacedGraph& graph, const Cone& cone, int axis, double at_mm) {
  return std::any_of(cone.faces.begin(), cone.faces.end(), [&](std::size_t f) {
    return std::any_of(graph.faces[f].edges.begin(), graph.faces[f].edges.end(), [&](std::size_t e) {
      const PlacedEdge& edge = graph.edges[e];
      return edge.kind == solid::CurveKind::kCircle && IsSame(edge.middle_P_mm[axis], at_mm) &&
             AreCoaxial(edge.axis_P, graph.faces[f].axis_P);
    });
  });
}

// A cone whose narrow end other cuts have taken goes on to the ring that it opens.
void LeadOn(const PlacedGraph& graph, const Stack& stack, Cone& cone) {
  const bool widens_up = cone.high_radius_mm > cone.low_radius_mm;
  double& end = widens_up ? cone.span.from_mm : cone.span.to_mm;
  double& radius = widens_up ? cone.low_radius_mm : cone.high_radius_mm;
  if (HasRimAt(graph, cone, stack.axis, end)) return;
  const double slope = SlopeOf(cone);
  for (const Ring& ring : stack.rings) {
    const double at = end + (ring.radius_mm - radius) / slope;
    if (ring.radius_mm > radius - kSamePlace_mm || !ring.span.Holds(at)) continue;
    end = at;
    radius = ring.radius_mm;
    return;
  }
}

// Whether all of the ring's wall lies below the place, or above it.
bool LiesTo(const PlacedGraph& graph, const Ring& ring, int axis, double at_mm, bool below) {
  return std::all_of(ring.faces.begin(), ring.faces.end(), [&](std::size_t f) {
    if (!IsCylinder(graph.faces[f])) return true;
    const Span span = *SpanAlong(graph, f, Vec3::Unit(axis));
    return below ? span.to_mm < at_mm + kSamePlace_mm : span.from_mm > at_mm - kSamePlace_mm;
  });
}

// A drill's point that other cuts have parted from the wall of its hole ends the ring that would run out.
bool EndsRing(const PlacedGraph& graph, std::size_t f, int axis, Stack& stack) {
  const PlacedFace& cone = graph.faces[f];
  const RingEnd point = PointOf(cone);
  if (point == RingEnd::kOpen) return false;
  const double at_origin = ConeRadiusAt(cone, OnAxis(cone, axis, 0));
  const double slope = ConeRadiusAt(cone, OnAxis(cone, axis, 1)) - at_origin;
  const bool high = slope < 0;  // narrows upwards
  for (Ring& ring : stack.rings) {
    RingEnd& end = high ? ring.high : ring.low;
    const double at = (ring.radius_mm - at_origin) / slope;
    if (end != RingEnd::kOpen || !ring.span.Holds(at) || !LiesTo(graph, ring, axis, at, high)) continue;
    end = point;
    (high ? ring.span.to_mm : ring.span.from_mm) = at;
    ring.faces.push_back(f);
    return true;
  }
  return false;
}

// A cone that widens from a ring's end out to a plane breaks that ring's edge.
bool BreaksRing(const PlacedGraph& graph, const Cone& cone, int axis, Stack& stack) {
  const bool widens_up = cone.high_radius_mm > cone.low_radius_mm;
  const double small = widens_up ? cone.span.from_mm : cone.span.to_mm;
  const double small_radius = std::min(cone.low_radius_mm, cone.high_radius_mm);
  const double big_radius = std::max(cone.low_radius_mm, cone.high_radius_mm);
  for (const Ring& ring : stack.rings) {
    const bool wide_at_big = IsSame(ring.radius_mm, big_radius) &&
                             (ring.span.Holds(widens_up ? cone.span.to_mm : cone.span.from_mm));
    if (wide_at_big) return false;
  }
  bool open = false;  // the big end is a mouth in a plane
  for (const std::size_t f : cone.faces) {
    for (const std::size_t e : graph.faces[f].edges) {
      const PlacedEdge& edge = graph.edges[e];
      const PlacedFace& beside = graph.faces[edge.Other(f)];
      const bool at_big = std::abs(edge.middle_P_mm[axis] - small) > 0.5 * cone.span.length_mm();
      open |= at_big && IsPlane(beside) && IsAlong(beside.axis_P.direction, Vec3::Unit(axis)) && edge.bend == Bend::kConvex;
    }
  }
  if (!open) return false;
  for (Ring& ring : stack.rings) {
    const double end = widens_up ? ring.span.to_mm : ring.span.from_mm;
    if (!IsSame(ring.radius_mm, small_radius) || !IsSame(end, small)) continue;
    const MouthBreak mouth{cone.span.length_mm(), big_radius - small_radius, false, cone.faces};
    (widens_up ? ring.high_break : ring.low_break) = {mouth};
    (widens_up ? ring.span.to_mm : ring.span.from_mm) = widens_up ? cone.span.to_mm : cone.span.from_mm;
    return true;
  }
  return false;
}

// A convex quarter round on a ring's edge.
void ReadMouthRound(const PlacedGraph& graph, std::size_t torus, Stack& stack) {
  const PlacedFace& face = graph.faces[torus];
  if (DistanceFromAxis(face.axis_P, face.inner_P_mm) > face.radius_mm) return;  // on the outside
  const double centre = face.axis_P.point_mm[stack.axis];
  const double radius = face.minor_radius_mm;
  for (Ring& ring : stack.rings) {
    if (!IsSame(ring.radius_mm + radius, face.radius_mm)) continue;
    const MouthBreak mouth{radius, radius, true, {torus}};
    const bool above = face.inner_P_mm[stack.axis] > centre;
    double& end = above ? ring.span.to_mm : ring.span.from_mm;
    if (!IsSame(end, centre)) continue;
    (above ? ring.high_break : ring.low_break) = {mouth};
    end = centre + (above ? radius : -radius);
  }
}

void EraseRing(Stack& stack, std::size_t place) {
  stack.rings.erase(stack.rings.begin() + static_cast<std::ptrdiff_t>(place));
}

// A ring inside the length of a narrower one is a groove in it.
void TakeGrooves(Stack& stack) {
  for (std::size_t i = stack.rings.size(); i-- > 0;) {
    const Ring& ring = stack.rings[i];
    const auto holds = [&](const Ring& other) {
      return other.radius_mm < ring.radius_mm - kSamePlace_mm &&
             other.span.from_mm < ring.span.from_mm - kSamePlace_mm &&
             other.span.to_mm > ring.span.to_mm + kSamePlace_mm;
    };
    if (!std::any_of(stack.rings.begin(), stack.rings.end(), holds)) continue;
    stack.recesses.push_back({ring.radius_mm, ring.span, false, ring.faces});
    EraseRing(stack, i);
  }
}

// A ring wider than the two different ones that it touches is an undercut; the wider one of the two
// goes on to its end.
void TakeUndercuts(Stack& stack) {
  for (std::size_t i = 1; i + 1 < stack.rings.size(); ++i) {
    Ring& below = stack.rings[i - 1];
    const Ring& ring = stack.rings[i];
    Ring& above = stack.rings[i + 1];
    const bool touches = IsSame(below.span.to_mm, ring.span.from_mm) && IsSame(above.span.from_mm, ring.span.to_mm);
    const bool wider = ring.radius_mm > std::max(below.radius_mm, above.radius_mm) + kSamePlace_mm;
    if (!touches || !wider) continue;
    if (below.radius_mm >= above.radius_mm) {
      below.span.to_mm = ring.span.to_mm;
      below.high = RingEnd::kFlat;
    } else {
      above.span.from_mm = ring.span.from_mm;
      above.low = RingEnd::kFlat;
    }
    stack.recesses.push_back({ring.radius_mm, ring.span, true, ring.faces});
    EraseRing(stack, i);
  }
}

}  // namespace

std::vector<Stack> FindStacks(const Draft& draft, const IsAirBetween& is_air) {
  const PlacedGraph& graph = draft.graph;
  std::vector<Stack> stacks;
  for (const StackFaces& group : GroupByAxis(draft)) {
    Stack stack;
    stack.axis = group.axis;
    stack.point_P_mm = group.point;
    for (const std::size_t f : group.cylinders) stack.rings.push_back(MakeRing(graph, f, group.axis));
    JoinRings(stack, is_air);
    TakeGrooves(stack);
    TakeUndercuts(stack);
    for (const std::size_t f : group.tori) ReadMouthRound(graph, f, stack);
    std::vector<Cone> cones;
    for (const std::size_t f : group.cones) {
      const auto in_ring = [&](const Ring& ring) {
        return std::find(ring.faces.begin(), ring.faces.end(), f) != ring.faces.end();
      };
      if (std::any_of(stack.rings.begin(), stack.rings.end(), in_ring)) continue;  // a drill's point
      if (!SpanAlong(graph, f, Vec3::Unit(group.axis)) || EndsRing(graph, f, group.axis, stack)) continue;
      AddCone(MakeCone(graph, f, group.axis), cones);
    }
    for (Cone& cone : cones) {
      LeadOn(graph, stack, cone);
      if (!BreaksRing(graph, cone, group.axis, stack)) stack.cones.push_back(cone);
    }
    stacks.push_back(std::move(stack));
  }
  return stacks;
}

}  // namespace fitwright::recognize
