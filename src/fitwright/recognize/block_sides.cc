#include "fitwright/recognize/block_sides.h"

#include <array>
#include <cmath>
#include <optional>

namespace fitwright::recognize {
namespace {

using solid::Bend;

constexpr std::array<const char*, 6> kSideNames = {"rear", "front", "right", "left", "bottom", "top"};

// A plane that an edge break may lie between: its feature, made where there is none yet.
struct Flank {
  Vec3 normal_P = Vec3::UnitX();
  double at_mm = 0;
  std::vector<std::size_t> faces;
};

// The two planes that a slanting or rounded face leads from and to: looked at along both axes of P that
// its normal has a share in.
std::optional<std::array<Flank, 2>> FindFlanks(const Draft& draft, std::size_t f, const Vec3& normal, int along) {
  const PlacedGraph& graph = draft.graph;
  std::array<std::optional<Flank>, 2> found;
  for (const std::size_t e : graph.faces[f].edges) {
    const PlacedEdge& edge = graph.edges[e];
    const PlacedFace& beside = graph.faces[edge.Other(f)];
    if (edge.bend == Bend::kConcave || !IsPlane(beside)) continue;
    for (int i = 0; i < 2; ++i) {
      const int axis = (along + 1 + i) % 3;
      const Vec3 out = normal[axis] < 0 ? Vec3(-Vec3::Unit(axis)) : Vec3(Vec3::Unit(axis));
      if (beside.axis_P.direction.dot(out) < 1 - kSameWay_rad) continue;
      const double at = PlaceOf(beside);
      auto& flank = found[static_cast<std::size_t>(i)];
      // The farther out of two: the other was made by another cut.
      if (!flank || at > flank->at_mm + kSamePlace_mm) flank = Flank{out, at, {edge.Other(f)}};
    }
  }
  for (int i = 0; i < 2; ++i) {
    auto& flank = found[static_cast<std::size_t>(i)];
    if (flank) continue;
    // A cut that took the whole of a side's edge away: the side is the block's own.
    const int axis = (along + 1 + i) % 3;
    const bool low = normal[axis] < 0;
    const double at = low ? -graph.box_P.min_mm[axis] : graph.box_P.max_mm[axis];
    flank = Flank{low ? Vec3(-Vec3::Unit(axis)) : Vec3(Vec3::Unit(axis)), at, {}};
  }
  return std::array<Flank, 2>{*found[0], *found[1]};
}

std::optional<FeatureId> FindFace(const Part& part, const Flank& flank) {
  for (const Feature& feature : part.features) {
    const auto* face = std::get_if<PlanarFace>(&feature.shape);
    if (face == nullptr || face->normal_P.dot(flank.normal_P) < 1 - kSameWay_rad) continue;
    if (IsSame(face->at.nominal_mm, flank.at_mm)) return feature.name;
  }
  return std::nullopt;
}

FeatureId FaceOf(Draft& draft, const Flank& flank) {
  if (const auto known = FindFace(draft.part, flank)) return *known;
  return draft.Add("face", PlanarFace{flank.normal_P, DrawnSize(flank.at_mm)}, flank.faces);
}

struct Break {
  EdgeChamfer chamfer;
  std::array<Flank, 2> flanks;
  bool sound = false;
};

Break MakeChamfer(const Draft& draft, std::size_t f, int along) {
  const PlacedFace& face = draft.graph.faces[f];
  Break made;
  const auto flanks = FindFlanks(draft, f, face.axis_P.direction, along);
  made.flanks = *flanks;
  const auto& [a, b] = *flanks;
  const double na = face.axis_P.direction.dot(a.normal_P);
  const double nb = face.axis_P.direction.dot(b.normal_P);
  const double at = PlaceOf(face);
  // On face a the slope ends where the other coordinate is (at - na * a) / nb; likewise on b.
  made.chamfer.leg_a_mm = Tidy(b.at_mm - (at - na * a.at_mm) / nb);
  made.chamfer.leg_b_mm = Tidy(a.at_mm - (at - nb * b.at_mm) / na);
  made.sound = made.chamfer.leg_a_mm > kSamePlace_mm && made.chamfer.leg_b_mm > kSamePlace_mm;
  return made;
}

Break MakeRound(const Draft& draft, std::size_t f, int along) {
  const PlacedFace& face = draft.graph.faces[f];
  Break made;
  const Vec3 out = face.inner_P_mm - face.axis_P.point_mm;
  made.flanks = *FindFlanks(draft, f, out, along);
  made.chamfer.rounded = true;
  made.chamfer.leg_a_mm = made.chamfer.leg_b_mm = Tidy(face.radius_mm);
  made.sound = true;
  for (const Flank& flank : made.flanks) {
    made.sound &= IsSame(flank.normal_P.dot(face.axis_P.point_mm) + face.radius_mm, flank.at_mm);
  }
  return made;
}

// The axis of P that a slanting plane runs along; none for planes square to an axis or square to none.
std::optional<int> RunsAlong(const PlacedFace& face) {
  if (AlongAxis(face.axis_P.direction)) return std::nullopt;
  for (int axis = 0; axis < 3; ++axis) {
    if (IsSquareTo(face.axis_P.direction, Vec3::Unit(axis))) return axis;
  }
  return std::nullopt;
}

// A break that is on the same two faces already explains its pieces too.
bool IsKnown(Draft& draft, const FeatureId& a, const FeatureId& b, const Break& made, std::size_t f) {
  for (const Feature& feature : draft.part.features) {
    const auto* other = std::get_if<EdgeChamfer>(&feature.shape);
    if (other == nullptr || other->face_a != a || other->face_b != b) continue;
    const EdgeChamfer& c = made.chamfer;
    if (other->rounded != c.rounded || !IsSame(other->leg_a_mm, c.leg_a_mm) || !IsSame(other->leg_b_mm, c.leg_b_mm)) continue;
    draft.Explain(feature.name, {f});
    return true;
  }
  return false;
}

void AddBreak(Draft& draft, std::size_t f, Break made, const TakesOnlyAir& takes_only_air) {
  Part trial = draft.part;
  std::array<FeatureId, 2> names;
  for (std::size_t i = 0; i < 2; ++i) {
    const auto known = FindFace(trial, made.flanks[i]);
    names[i] = known ? *known : FeatureId(fmt::format("trial_{}", i));
    if (known) continue;
    Feature face;
    face.name = names[i];
    face.shape = PlanarFace{made.flanks[i].normal_P, DrawnSize(made.flanks[i].at_mm)};
    trial.features.push_back(face);
  }
  if (IsKnown(draft, names[0], names[1], made, f)) return;
  made.chamfer.face_a = names[0];
  made.chamfer.face_b = names[1];
  Feature feature;
  feature.name = FeatureId("break");
  feature.shape = made.chamfer;
  if (!takes_only_air(trial, feature)) return;
  made.chamfer.face_a = FaceOf(draft, made.flanks[0]);
  made.chamfer.face_b = FaceOf(draft, made.flanks[1]);
  draft.Add(made.chamfer.rounded ? "edge_round" : "chamfer", made.chamfer, {f});
}

}  // namespace

void ReadBlockSides(Draft& draft) {
  const PlacedGraph& graph = draft.graph;
  for (int side = 5; side >= 0; --side) {
    const int axis = side / 2;
    const bool low = side % 2 == 0;
    const Vec3 out = low ? Vec3(-Vec3::Unit(axis)) : Vec3(Vec3::Unit(axis));
    const double at = low ? graph.box_P.min_mm[axis] : graph.box_P.max_mm[axis];
    std::vector<std::size_t> faces;
    for (std::size_t f = 0; f < graph.faces.size(); ++f) {
      const PlacedFace& face = graph.faces[f];
      if (!IsPlane(face) || face.axis_P.direction.dot(out) < 1 - kSameWay_rad) continue;
      if (IsSame(face.axis_P.point_mm[axis], at)) faces.push_back(f);
    }
    draft.AddNamed(kSideNames[static_cast<std::size_t>(side)], PlanarFace{out, DrawnSize(low ? -at : at)}, faces);
  }
}

void ReadEdgeBreaks(Draft& draft, const TakesOnlyAir& takes_only_air) {
  const PlacedGraph& graph = draft.graph;
  for (std::size_t f = 0; f < graph.faces.size(); ++f) {
    const PlacedFace& face = graph.faces[f];
    if (!draft.IsFree(f)) continue;
    if (IsPlane(face)) {
      const auto along = RunsAlong(face);
      if (!along) continue;
      const Break made = MakeChamfer(draft, f, *along);
      if (made.sound) AddBreak(draft, f, made, takes_only_air);
    } else if (IsCylinder(face) && !face.hollow && face.turn_share < 0.26) {
      const auto along = AlongAxis(face.axis_P.direction);
      if (!along) continue;
      const Break made = MakeRound(draft, f, *along);
      if (made.sound) AddBreak(draft, f, made, takes_only_air);
    }
  }
}

}  // namespace fitwright::recognize
