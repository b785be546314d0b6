#include "fitwright/recognize/frame.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "fitwright/recognize/placed_graph.h"
#include "fitwright/solid/measure.h"

namespace fitwright::recognize {
namespace {

using solid::FaceGraph;
using solid::GraphFace;
using solid::SurfaceKind;

// Shares closer than this are a tie, which other measures break.
constexpr double kTie = 1e-6;

struct Candidate {
  Vec3 direction = Vec3::UnitZ();
  double weight = 0;
  double second = 0;  // breaks ties
};

void AddWeight(std::vector<Candidate>& candidates, const Vec3& direction, double weight) {
  for (Candidate& c : candidates) {
    if (!IsAlong(c.direction, direction)) continue;
    c.weight += weight;
    return;
  }
  candidates.push_back({direction, weight, 0});
}

double Reach(const FaceGraph& graph, const Vec3& direction, double sense) {
  double most = -1e300;
  for (const solid::FaceEdge& e : graph.edges) {
    for (const Vec3& p : {e.start_F_mm, e.end_F_mm, e.middle_F_mm}) {
      most = std::max(most, sense * direction.dot(p));
    }
  }
  return most;
}

double Extent(const FaceGraph& graph, const Vec3& direction) {
  return Reach(graph, direction, 1) + Reach(graph, direction, -1);
}

// How far the edges lie to one side of the middle, each counted by its length; a third moment too, for
// shapes whose first vanishes.
double Lean(const FaceGraph& graph, const Vec3& direction) {
  const double middle = 0.5 * (Reach(graph, direction, 1) - Reach(graph, direction, -1));
  const double half = 0.5 * Extent(graph, direction);
  double first = 0;
  double third = 0;
  double length = 0;
  for (const solid::FaceEdge& e : graph.edges) {
    const Vec3 at = (e.start_F_mm + e.end_F_mm + 2 * e.middle_F_mm) / 4;
    const double off = (direction.dot(at) - middle) / std::max(half, 1e-9);
    first += e.length_mm * off;
    third += e.length_mm * off * off * off;
    length += e.length_mm;
  }
  if (length <= 0) return 0;
  first /= length;
  third /= length;
  return std::abs(first) > 1e-5 ? first : std::abs(third) > 1e-5 ? third : 0.0;
}

// The heaviest; of a tie the one with the greatest second measure.
std::optional<Candidate> Heaviest(const std::vector<Candidate>& candidates) {
  std::optional<Candidate> best;
  for (const Candidate& c : candidates) {
    if (!best) {
      best = c;
      continue;
    }
    const double margin = kTie * std::max(best->weight, 1e-12);
    const bool tie = std::abs(c.weight - best->weight) <= margin;
    if (tie ? c.second > best->second + kTie : c.weight > best->weight) best = c;
  }
  return best;
}

bool IsRoundAbout(const Axis3& axis, const solid::Surface& surface) {
  const bool has_axis = surface.kind == SurfaceKind::kCylinder || surface.kind == SurfaceKind::kCone ||
                        surface.kind == SurfaceKind::kTorus || surface.kind == SurfaceKind::kHelical;
  if (surface.kind == SurfaceKind::kSphere) {
    return DistanceFromAxis(axis, surface.axis_F.point_mm) <= kSamePlace_mm;
  }
  return has_axis && AreCoaxial(axis, surface.axis_F);
}

double FarthestFrom(const FaceGraph& graph, const Axis3& axis) {
  double most = 0;
  for (const solid::FaceEdge& e : graph.edges) {
    for (const Vec3& p : {e.start_F_mm, e.end_F_mm, e.middle_F_mm}) {
      most = std::max(most, DistanceFromAxis(axis, p));
    }
    if (e.kind == solid::CurveKind::kCircle && e.closed && !IsAlong(e.axis_F.direction, axis.direction)) continue;
    if (e.kind == solid::CurveKind::kCircle && e.closed) {
      most = std::max(most, DistanceFromAxis(axis, e.axis_F.point_mm) + e.radius_mm);
    }
  }
  return most;
}

// What the outer round faces about an axis come to.
struct OuterRound {
  double radius_mm = 0;  // the farthest that they reach
  double share = 0;      // of a full turn, all together
  double area_mm2 = 0;
};
OuterRound MeasureOuter(const FaceGraph& graph, const Axis3& axis) {
  OuterRound sum;
  for (const GraphFace& face : graph.faces) {
    if (face.hollow || !IsRoundAbout(axis, face.surface)) continue;
    sum.radius_mm = std::max({sum.radius_mm, DistanceFromAxis(axis, face.inner_F_mm), face.surface.reach_mm});
    for (const solid::FaceLoop& loop : face.loops) {
      for (const std::size_t e : loop.edges) {
        sum.radius_mm = std::max(sum.radius_mm, DistanceFromAxis(axis, graph.edges[e].middle_F_mm));
      }
    }
    sum.share += face.turn_share;
    sum.area_mm2 += face.area_mm2;
  }
  return sum;
}

// The axis that the part is turned about: its outer round faces bound the whole part and come to at
// least a fifth of a turn.
std::optional<Axis3> FindTurningAxis(const FaceGraph& graph) {
  std::optional<Axis3> best;
  double best_area = 0;
  for (const GraphFace& face : graph.faces) {
    const SurfaceKind kind = face.surface.kind;
    if (face.hollow || (kind != SurfaceKind::kCylinder && kind != SurfaceKind::kCone)) continue;
    const Axis3& axis = face.surface.axis_F;
    if (best && AreCoaxial(*best, axis)) continue;
    const OuterRound outer = MeasureOuter(graph, axis);
    if (outer.share < 0.2 || outer.area_mm2 <= best_area) continue;
    if (FarthestFrom(graph, axis) > outer.radius_mm + kSamePlace_mm) continue;
    best = axis;
    best_area = outer.area_mm2;
  }
  return best;
}

// Which way x looks about a turning axis: the way that most of what is not round lies.
Vec3 ChooseSideways(const FaceGraph& graph, const Axis3& axis) {
  const Vec3& d = axis.direction;
  std::vector<Candidate> planes;
  std::vector<Candidate> across;
  std::vector<Candidate> beside;
  for (const GraphFace& face : graph.faces) {
    const solid::Surface& s = face.surface;
    const bool square = IsSquareTo(s.axis_F.direction, d);
    if (s.kind == SurfaceKind::kPlane && square) AddWeight(planes, s.axis_F.direction, face.area_mm2);
    if (s.kind == SurfaceKind::kCylinder && square) AddWeight(across, s.axis_F.direction, face.area_mm2);
    if (s.kind == SurfaceKind::kCylinder && IsAlong(s.axis_F.direction, d)) {
      const Vec3 out = s.axis_F.point_mm - axis.point_mm;
      const Vec3 off = out - out.dot(d) * d;
      if (off.norm() > kSamePlace_mm) AddWeight(beside, off.normalized(), face.area_mm2);
    }
  }
  for (std::vector<Candidate>* list : {&planes, &across, &beside}) {
    for (Candidate& c : *list) {
      for (const Candidate& other : *list) {
        if (IsSquareTo(other.direction, c.direction)) c.weight += other.weight;
      }
      c.second = std::abs(Lean(graph, c.direction)) + 1e-3 * Extent(graph, c.direction);
    }
    if (const auto best = Heaviest(*list)) return best->direction;
  }
  return d.unitOrthogonal();
}

// Axes of F that become z and x of P; their senses by how the edges lean.
Pose Oriented(const FaceGraph& graph, Vec3 z, Vec3 x) {
  x = (x - x.dot(z) * z).normalized();
  Vec3 y = z.cross(x);
  const double lean_z = Lean(graph, z);
  const double lean_x = Lean(graph, x);
  const double lean_y = Lean(graph, y);
  if (lean_z < 0) z = -z;
  if (lean_x < 0) x = -x;
  if (lean_y < 0) y = -y;
  // The hand must stay: the axis whose sense means least gives way.
  if (z.cross(x).dot(y) < 0) {
    if (lean_y == 0 || (lean_x != 0 && lean_z != 0)) y = -y;
    else if (lean_x == 0) x = -x;
    else z = -z;
  }
  Pose X_PF = Pose::Identity();
  X_PF.linear().row(0) = x.transpose();
  X_PF.linear().row(1) = y.transpose();
  X_PF.linear().row(2) = z.transpose();
  return X_PF;
}

// Turns that come to whole axes of F exactly, where they do.
Pose Exact(Pose X_PF) {
  for (int row = 0; row < 3; ++row) {
    for (int column = 0; column < 3; ++column) {
      double& c = X_PF.linear()(row, column);
      if (std::abs(c) < 1e-9) c = 0;
      if (std::abs(std::abs(c) - 1) < 1e-9) c = c < 0 ? -1 : 1;
    }
  }
  return X_PF;
}

std::vector<Candidate> PlaneDirections(const FaceGraph& graph) {
  std::vector<Candidate> candidates;
  for (const GraphFace& face : graph.faces) {
    const Vec3& d = face.surface.axis_F.direction;
    if (face.surface.kind == SurfaceKind::kPlane) AddWeight(candidates, d, face.area_mm2);
  }
  if (candidates.empty()) {
    for (const GraphFace& face : graph.faces) {
      if (face.surface.kind == SurfaceKind::kCylinder) AddWeight(candidates, face.surface.axis_F.direction, face.area_mm2);
    }
  }
  for (Candidate& c : candidates) {
    c.second = Extent(graph, c.direction) + std::abs(Lean(graph, c.direction));
  }
  return candidates;
}

// How much of a part lies square when x is laid along the direction: planes that slant can still be said by
// a line, what is round about a slanting axis cannot.
double SquareArea(const FaceGraph& graph, const Vec3& z, const Vec3& x) {
  constexpr double kRoundCounts = 3;  // opinion
  double sum = 0;
  for (const GraphFace& face : graph.faces) {
    const solid::Surface& s = face.surface;
    const bool plane = s.kind == SurfaceKind::kPlane;
    if (!plane && s.kind != SurfaceKind::kCylinder && s.kind != SurfaceKind::kCone) continue;
    const Vec3& d = s.axis_F.direction;
    if (IsAlong(d, x) || IsAlong(d, z.cross(x))) sum += (plane ? 1 : kRoundCounts) * face.area_mm2;
  }
  return sum;
}

// The given direction, or the axis of something round about which more lies square.
Vec3 OrAlongRounds(const FaceGraph& graph, const Vec3& z, const Vec3& beside) {
  std::vector<Candidate> rounds;
  for (const GraphFace& face : graph.faces) {
    const solid::Surface& s = face.surface;
    const bool round = s.kind == SurfaceKind::kCylinder || s.kind == SurfaceKind::kCone;
    const Vec3& d = s.axis_F.direction;
    if (!round || !IsSquareTo(d, z) || IsAlong(d, beside) || IsSquareTo(d, beside)) continue;
    AddWeight(rounds, d, face.area_mm2);
  }
  const auto best = Heaviest(rounds);
  if (!best || SquareArea(graph, z, best->direction) <= (1 + kTie) * SquareArea(graph, z, beside)) return beside;
  return best->direction;
}

Pose ChooseBlockTurn(const FaceGraph& graph) {
  const std::vector<Candidate> candidates = PlaneDirections(graph);
  const auto main = Heaviest(candidates);
  const Vec3 z = main ? main->direction : Vec3(Vec3::UnitZ());
  std::vector<Candidate> square;
  for (const Candidate& c : candidates) {
    if (IsSquareTo(c.direction, z)) square.push_back(c);
  }
  for (const GraphFace& face : graph.faces) {
    const solid::Surface& s = face.surface;
    const bool round = s.kind == SurfaceKind::kCylinder;
    if (square.empty() && round && IsSquareTo(s.axis_F.direction, z)) AddWeight(square, s.axis_F.direction, face.area_mm2);
  }
  const auto beside = Heaviest(square);
  Vec3 x = beside ? OrAlongRounds(graph, z, beside->direction) : z.unitOrthogonal();
  const Vec3 y = z.cross(x);
  if (Extent(graph, y) > Extent(graph, x) + kSamePlace_mm) x = y;
  return Oriented(graph, z, x);
}

// The bound of the box along an axis as the plane, or else the edge, there has it: the kernel's box is
// not exact.
double ExactBound(const PlacedGraph& graph, int axis, double near_mm) {
  for (const PlacedFace& face : graph.faces) {
    if (!IsPlane(face) || AlongAxis(face.axis_P.direction) != axis) continue;
    if (IsSame(face.axis_P.point_mm[axis], near_mm)) return face.axis_P.point_mm[axis];
  }
  double bound = near_mm;
  double least = kSamePlace_mm;
  for (const PlacedEdge& edge : graph.edges) {
    const Span span = SpanAlong(edge, Vec3::Unit(axis));
    for (const double at : {span.from_mm, span.to_mm}) {
      if (std::abs(at - near_mm) >= least) continue;
      least = std::abs(at - near_mm);
      bound = at;
    }
  }
  return bound;
}

Box3 ExactBox(const FaceGraph& graph, const Pose& X_PF, const Box3& box) {
  const PlacedGraph placed = Place(graph, X_PF, box);
  Box3 exact;
  for (int axis = 0; axis < 3; ++axis) {
    exact.min_mm[axis] = ExactBound(placed, axis, box.min_mm[axis]);
    exact.max_mm[axis] = ExactBound(placed, axis, box.max_mm[axis]);
  }
  return exact;
}

}  // namespace

PartFrame ChooseFrame(const FaceGraph& graph, const solid::Solid& solid) {
  PartFrame frame;
  const std::optional<Axis3> turning = FindTurningAxis(graph);
  if (turning) {
    frame.envelope = EnvelopeKind::kTurned;
    frame.X_PF = Exact(Oriented(graph, turning->direction, ChooseSideways(graph, *turning)));
  } else {
    frame.X_PF = Exact(ChooseBlockTurn(graph));
  }
  const Box3 box = ExactBox(graph, frame.X_PF, solid::CalcBoxIn(solid, frame.X_PF));
  Vec3 origin = box.centre_mm();
  if (turning) origin = frame.X_PF * turning->point_mm;
  origin.z() = box.min_mm.z();
  frame.X_PF.pretranslate(-origin);
  frame.box_P = {Tidy(Vec3(box.min_mm - origin)), Tidy(Vec3(box.max_mm - origin))};
  return frame;
}

}  // namespace fitwright::recognize
