// Chamfers, rounds and countersinks.
#include <algorithm>
#include <cmath>

#include "fitwright/solid/arcs.h"
#include "fitwright/solid/build_internal.h"
#include "fitwright/solid/envelope.h"
#include "fitwright/solid/primitives.h"

namespace fitwright::solid {
namespace {

// Where two faces meet.
struct EdgePlace {
  Vec3 na = Vec3::UnitX();
  Vec3 nb = Vec3::UnitY();
  Vec3 along = Vec3::UnitZ();
  Vec3 point = Vec3::Zero();  // of the edge, nearest to the envelope's middle along it
  double reach_mm = 0;        // along the edge, from the point past either end
};

Result<EdgePlace> FindEdge(const Part& part, const Feature& feature, const EdgeChamfer& chamfer) {
  const Feature* face_a = part.Find(chamfer.face_a);
  const Feature* face_b = part.Find(chamfer.face_b);
  if (face_a == nullptr || face_b == nullptr) {
    return Unexpected(Misplaced(ErrorCode::kUnknownFeature, part, feature,
                                "a chamfer on a face that the sheet does not have"));
  }
  const auto* a = std::get_if<PlanarFace>(&face_a->shape);
  const auto* b = std::get_if<PlanarFace>(&face_b->shape);
  if (a == nullptr || b == nullptr) {
    return Unexpected(Misplaced(ErrorCode::kWrongFeatureKind, part, feature,
                                "an edge chamfer needs two planar faces"));
  }
  EdgePlace edge;
  edge.na = a->normal_P.normalized();
  edge.nb = b->normal_P.normalized();
  const Vec3 cross = edge.na.cross(edge.nb);
  if (cross.norm() < 1e-6) {
    return Unexpected(Misplaced(ErrorCode::kWrongFeatureKind, part, feature,
                                "the two faces of an edge chamfer do not meet"));
  }
  edge.along = cross.normalized();
  const Box3 around = CalcEnvelopeBox(part);
  Eigen::Matrix3d planes;
  planes << edge.na.transpose(), edge.nb.transpose(), edge.along.transpose();
  edge.point = planes.inverse() *
               Vec3(a->at.middle_mm(), b->at.middle_mm(), edge.along.dot(around.centre_mm()));
  edge.reach_mm = 0.5 * around.size_mm().cwiseAbs().dot(edge.along.cwiseAbs()) + kRunOut_mm;
  return edge;
}

// Triangle square to the edge of two planes, its sloping side drawn out a little past both faces.
Solids MakeEdgeChamfer(const EdgeChamfer& chamfer, const EdgePlace& place) {
  const Vec3& na = place.na;
  const Vec3& nb = place.nb;
  const Vec3& t = place.along;
  const Vec3& edge = place.point;
  const Vec3 along_a = (na.dot(nb) * na - nb).normalized();  // in face a, away from b
  const Vec3 along_b = (na.dot(nb) * nb - na).normalized();
  const Vec3 on_a = edge + chamfer.leg_a_mm * along_a;
  const Vec3 on_b = edge + chamfer.leg_b_mm * along_b;
  const Vec3 slope = 0.1 * (on_b - on_a);
  const Vec3 ends[] = {on_a - slope, on_b + slope, edge + (edge - 0.5 * (on_a + on_b)) * 0.3};
  Pose frame = Pose::Identity();
  frame.linear().col(0) = na;
  frame.linear().col(1) = t.cross(na);
  frame.linear().col(2) = t;
  frame.translation() = edge;
  std::vector<Vec2> triangle;
  for (const Vec3& p : ends) {
    triangle.emplace_back(na.dot(p - edge), frame.linear().col(1).dot(p - edge));
  }
  return One(MakePrism(frame, triangle, -place.reach_mm, place.reach_mm));
}

// Opens the mouth of a hole; the cone goes on a little into the hole's own air.
Solids MakeMouthChamfer(const Part& part, const Hole& hole, const RoundChamfer& chamfer) {
  const double r = 0.5 * hole.diameter.middle_mm();
  std::vector<Solid> solids;
  for (const Vec3& entry : hole.entries_P_mm) {
    const Vec3 into = hole.into_P.normalized();
    const Vec3 mouth = chamfer.at_start ? entry : Vec3(entry + hole.depth_mm * into);
    const Axis3 axis{mouth, chamfer.at_start ? into : Vec3(-into)};
    const double big = r + chamfer.radial_mm;
    const double past =
        std::min({0.25, 0.5 * r / chamfer.radial_mm, 0.9 * (hole.depth_mm / chamfer.axial_mm - 1)});
    const double from = -RunOut(part, mouth, -axis.direction);
    std::vector<Vec2> outline = {{0, from}, {big, from}};
    if (from < 0) outline.emplace_back(big, 0);
    const double more = std::max(0.0, past);
    outline.emplace_back(r - more * chamfer.radial_mm, (1 + more) * chamfer.axial_mm);
    outline.emplace_back(0, (1 + more) * chamfer.axial_mm);
    const Result<Solid> one = MakeRevolve(axis, outline);
    if (!one) return Unexpected(one.error());
    solids.push_back(*one);
  }
  return solids;
}

// Breaks the edge of an outer diameter: a ring outside the cone.
Solids MakeRimChamfer(const Part& part, const OuterDiameter& outer, const RoundChamfer& chamfer) {
  const double r = 0.5 * outer.diameter.middle_mm();
  const double end = chamfer.at_start ? outer.from_mm : outer.to_mm;
  const double inward = chamfer.at_start ? 1.0 : -1.0;
  const Vec3 end_P = outer.axis_P.point_mm + end * outer.axis_P.direction;
  const double out = RunOut(part, end_P, -inward * outer.axis_P.direction);
  const double share = std::min(0.1, 0.5 * (r / chamfer.radial_mm - 1));
  const double past = out > 0 ? std::max(0.0, share) : 0.0;
  const double tip_r = r - chamfer.radial_mm * (1 + past);
  const double tip_z = end - inward * chamfer.axial_mm * past;
  const double root_z = end + inward * chamfer.axial_mm;
  return One(MakeRevolve(
      outer.axis_P,
      {{tip_r, tip_z}, {r + kRunOut_mm, tip_z}, {r + kRunOut_mm, root_z}, {r, root_z}}));
}

// As MakeMouthChamfer with a convex quarter round, tangent to the entry plane and to the hole's
// wall.
Solids MakeMouthRound(const Part& part, const Hole& hole, const RoundChamfer& chamfer) {
  const double r = 0.5 * hole.diameter.middle_mm();
  const double radius = chamfer.radial_mm;
  std::vector<Solid> solids;
  for (const Vec3& entry : hole.entries_P_mm) {
    const Vec3 into = hole.into_P.normalized();
    const Vec3 mouth = chamfer.at_start ? entry : Vec3(entry + hole.depth_mm * into);
    const Axis3 axis{mouth, chamfer.at_start ? into : Vec3(-into)};
    const double from = -RunOut(part, mouth, -axis.direction);
    ArcOutline outline;
    outline.To({0, from});
    if (from < 0) outline.To({r + radius, from});
    // The middle of the round lies beyond it: the way turns right along it.
    outline.To({r + radius, 0}, -0.5 * kPi);
    outline.To({r, radius});
    outline.To({0, radius});
    const Result<Solid> one = MakeArcRevolve(axis, outline);
    if (!one) return Unexpected(one.error());
    solids.push_back(*one);
  }
  return solids;
}

// As MakeRimChamfer with a convex quarter round, tangent to the end and to the outside.
Solids MakeRimRound(const Part& part, const OuterDiameter& outer, const RoundChamfer& chamfer) {
  const double r = 0.5 * outer.diameter.middle_mm();
  const double radius = chamfer.radial_mm;
  const double end = chamfer.at_start ? outer.from_mm : outer.to_mm;
  const double inward = chamfer.at_start ? 1.0 : -1.0;
  const Vec3 end_P = outer.axis_P.point_mm + end * outer.axis_P.direction;
  const double out = end - inward * RunOut(part, end_P, -inward * outer.axis_P.direction);
  ArcOutline outline;
  if (std::abs(out - end) > kGeometryNoise_mm) outline.To({r - radius, out});
  outline.To({r + kRunOut_mm, out});
  outline.To({r + kRunOut_mm, end + inward * radius});
  outline.To({r, end + inward * radius}, inward > 0 ? -0.5 * kPi : 0.5 * kPi);
  outline.To({r - radius, end});
  return One(MakeArcRevolve(outer.axis_P, outline));
}

// Outside the round that is tangent to both faces, in the corner between them.
Solids MakeEdgeRound(const EdgeChamfer& chamfer, const EdgePlace& edge) {
  const double radius = chamfer.leg_a_mm;
  // From the edge inward to the middle of the round, as far from both faces.
  const Vec3 centre = edge.point - radius * (edge.na + edge.nb) / (1 + edge.na.dot(edge.nb));
  const Vec3 on_a = centre + radius * edge.na;
  const Vec3 on_b = centre + radius * edge.nb;
  Pose frame = Pose::Identity();
  frame.linear().col(0) = edge.na;
  frame.linear().col(1) = edge.along.cross(edge.na);
  frame.linear().col(2) = edge.along;
  frame.translation() = edge.point - edge.reach_mm * edge.along;
  const auto flat = [&](const Vec3& p) {
    return Vec2(edge.na.dot(p - edge.point), frame.linear().col(1).dot(p - edge.point));
  };
  const Vec3 beyond_a = on_a + kRunOut_mm * edge.na;
  const Vec3 beyond_b = on_b + kRunOut_mm * edge.nb;
  const Vec3 corner = edge.point + kRunOut_mm * (edge.na + edge.nb) / (1 + edge.na.dot(edge.nb));
  const double turn = std::acos(std::clamp(edge.na.dot(edge.nb), -1.0, 1.0));
  const Vec2 chord = flat(on_b) - flat(on_a);
  const Vec2 out = flat(edge.point) - flat(on_a);
  // The round bulges towards the edge.
  const double sense = chord.x() * out.y() - chord.y() * out.x() > 0 ? -1.0 : 1.0;
  ArcOutline outline;
  outline.To(flat(on_a), sense * turn);
  outline.To(flat(on_b));
  outline.To(flat(beyond_b));
  outline.To(flat(corner));
  outline.To(flat(beyond_a));
  return One(MakeArcPrism(frame, outline, 2 * edge.reach_mm));
}

}  // namespace

Solids MakeEdgeBreak(const Part& part, const Feature& feature, const EdgeChamfer& chamfer) {
  const Result<EdgePlace> edge = FindEdge(part, feature, chamfer);
  if (!edge) return Unexpected(edge.error());
  return chamfer.rounded ? MakeEdgeRound(chamfer, *edge) : MakeEdgeChamfer(chamfer, *edge);
}

Solids MakeRoundBreak(const Part& part, const Feature& feature, const RoundChamfer& chamfer) {
  const Feature* on = part.Find(chamfer.on);
  if (on == nullptr) {
    return Unexpected(Misplaced(ErrorCode::kUnknownFeature, part, feature,
                                "a chamfer on a feature that the sheet does not have"));
  }
  if (!(chamfer.axial_mm > 0 && chamfer.radial_mm > 0)) {
    return Unexpected(Misplaced(ErrorCode::kOutOfRange, part, feature,
                                "both legs of a chamfer must be above zero"));
  }
  if (const auto* hole = std::get_if<Hole>(&on->shape)) {
    return chamfer.rounded ? MakeMouthRound(part, *hole, chamfer)
                           : MakeMouthChamfer(part, *hole, chamfer);
  }
  if (const auto* outer = std::get_if<OuterDiameter>(&on->shape)) {
    return chamfer.rounded ? MakeRimRound(part, *outer, chamfer)
                           : MakeRimChamfer(part, *outer, chamfer);
  }
  return Unexpected(Misplaced(ErrorCode::kWrongFeatureKind, part, feature,
                              "a round chamfer needs a hole or an outer diameter"));
}

}  // namespace fitwright::solid
