#include "fitwright/recognize/cavities.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/recognize/cavity_box.h"

namespace fitwright::recognize {
namespace {

// The box with its open sides closed somewhere, and how it is cut.
struct Cut {
  Box3 box_P;
  int axis = 2;         // of the tool
  double sense = -1;    // of `into` along it
  bool through = false;
};

double& Bound(Box3& box, int side) { return side % 2 == 0 ? box.min_mm[side / 2] : box.max_mm[side / 2]; }

// Along the rounds of its corners, from an open side; else from each side that it is open to, the top first.
std::vector<Cut> ChooseWays(const Cavity& cavity) {
  Cut cut;
  if (cavity.corner_axis) {
    cut.axis = *cavity.corner_axis;
    const bool low = cavity.Closed(2 * cut.axis);
    const bool high = cavity.Closed(2 * cut.axis + 1);
    if (low && high) return {};
    cut.sense = high ? 1 : -1;
    cut.through = !low && !high;
    return {cut};
  }
  // Sharp: open both ways along an axis and walled all round is a passage.
  for (const int axis : {2, 1, 0}) {
    if (cavity.CountOpen() != 2 || cavity.Closed(2 * axis) || cavity.Closed(2 * axis + 1)) continue;
    cut.axis = axis;
    cut.through = true;
    return {cut};
  }
  std::vector<Cut> ways;
  for (const int side : {5, 4, 3, 2, 1, 0}) {
    if (cavity.Closed(side)) continue;
    cut.axis = side / 2;
    cut.sense = side % 2 == 0 ? 1 : -1;
    ways.push_back(cut);
  }
  return ways;
}

int MouthOf(const Cut& cut) { return 2 * cut.axis + (cut.sense < 0 ? 1 : 0); }

// Whether a plane of the part that looks out of the cavity's mouth lies at that level.
bool HasFaceAt(const PlacedGraph& graph, const Cut& cut, double at_mm) {
  const Vec3 out = -cut.sense * Vec3::Unit(cut.axis);
  return std::any_of(graph.faces.begin(), graph.faces.end(), [&](const PlacedFace& face) {
    return IsPlane(face) && face.axis_P.direction.dot(out) > 1 - kSameWay_rad && IsSame(face.axis_P.point_mm[cut.axis], at_mm);
  });
}

// How open sides are closed: at the part's own outside, all or the mouth alone, or where the cavity's faces end.
enum class Closing { kFar, kMouthFar, kNear };
void CloseSides(const Draft& draft, const Cavity& cavity, Closing closing, Cut& cut) {
  const Box3& outside = draft.graph.box_P;
  for (int side = 0; side < 6; ++side) {
    if (cavity.Closed(side)) {
      Bound(cut.box_P, side) = *cavity.walls[static_cast<std::size_t>(side)];
      continue;
    }
    const int axis = side / 2;
    const bool low = side % 2 == 0;
    const Span& reach = cavity.reach[static_cast<std::size_t>(axis)];
    const double near = low ? reach.from_mm : reach.to_mm;
    const double beyond = low ? outside.min_mm[axis] : outside.max_mm[axis];
    const bool along = axis == cut.axis;
    const bool far = closing == Closing::kFar || (closing == Closing::kMouthFar && side == MouthOf(cut));
    const bool mouth = along && !cavity.Closed(side) && !(cavity.CountOpen() > 1 && !cavity.corner_axis);
    double at = far ? beyond : near;
    if (mouth && far && HasFaceAt(draft.graph, cut, near)) at = near;
    // The straight walls of a rounded one go on to where it is open.
    if (!along) at += (low ? -1 : 1) * cavity.corner_mm;
    Bound(cut.box_P, side) = at;
  }
}

FeatureShape MakePocket(const Cavity& cavity, const Cut& cut) {
  const Vec3 size = cut.box_P.size_mm();
  int length = (cut.axis + 1) % 3;
  int width = (cut.axis + 2) % 3;
  if (size[width] > size[length] + kSamePlace_mm) std::swap(length, width);
  Vec3 centre = cut.box_P.centre_mm();
  centre[cut.axis] = cut.sense > 0 ? cut.box_P.min_mm[cut.axis] : cut.box_P.max_mm[cut.axis];
  const Vec3 into = cut.sense * Vec3::Unit(cut.axis);
  const bool obround = cavity.corner_axis && IsSame(2 * cavity.corner_mm, size[width]) && size[length] > size[width] + kSamePlace_mm;
  if (obround) {
    Slot slot;
    slot.into_P = into;
    slot.centre_P_mm = Tidy(centre);
    slot.along_P = Vec3::Unit(length);
    slot.length_mm = Tidy(size[length]);
    slot.width = DrawnSize(size[width]);
    slot.depth_mm = Tidy(size[cut.axis]);
    slot.through = cut.through;
    return slot;
  }
  Pocket pocket;
  pocket.into_P = into;
  pocket.centre_P_mm = Tidy(centre);
  pocket.along_P = Vec3::Unit(length);
  pocket.length_mm = Tidy(size[length]);
  pocket.width_mm = Tidy(size[width]);
  pocket.corner_radius_mm = Tidy(cavity.corner_mm);
  pocket.depth_mm = Tidy(size[cut.axis]);
  return pocket;
}

bool IsStep(const Cavity& cavity, const Cut& cut) { return !cavity.corner_axis && cavity.CountOpen() >= 2 && !cut.through; }

FeatureShape MakeShape(const Cavity& cavity, const Cut& cut) {
  if (!IsStep(cavity, cut)) return MakePocket(cavity, cut);
  StepCut shape;
  shape.into_P = cut.sense * Vec3::Unit(cut.axis);
  shape.removed_P = {Tidy(cut.box_P.min_mm), Tidy(cut.box_P.max_mm)};
  return shape;
}

const char* WordOf(const FeatureShape& shape) {
  if (std::holds_alternative<StepCut>(shape)) return "step";
  return std::holds_alternative<Slot>(shape) ? "slot" : "pocket";
}

// A slot along the axis of turned work, cut from its side over the middle, seats a key.
FeatureShape AsKeyway(const Part& part, const FeatureShape& shape) {
  const auto* slot = std::get_if<Slot>(&shape);
  if (part.envelope != EnvelopeKind::kTurned || slot == nullptr || slot->through) return shape;
  if (!IsSquareTo(slot->into_P, Vec3::UnitZ()) || !IsAlong(slot->along_P, Vec3::UnitZ())) return shape;
  const Vec3 off = slot->centre_P_mm - slot->centre_P_mm.dot(slot->into_P) * slot->into_P;
  if (off.head<2>().norm() > kSamePlace_mm) return shape;
  Keyway keyway;
  keyway.axis_P = {Vec3::Zero(), Vec3::UnitZ()};
  keyway.from_mm = Tidy(slot->centre_P_mm.z() - 0.5 * slot->length_mm);
  keyway.to_mm = Tidy(slot->centre_P_mm.z() + 0.5 * slot->length_mm);
  keyway.width = slot->width;
  keyway.side_P = -slot->into_P;
  keyway.floor_mm = Tidy(slot->centre_P_mm.dot(keyway.side_P) - slot->depth_mm);
  if (keyway.floor_mm <= 0) return shape;
  return keyway;
}

// A keyway ends where its walls do.
void TrimKeyway(const Cavity& cavity, FeatureShape& shape) {
  auto* keyway = std::get_if<Keyway>(&shape);
  if (keyway == nullptr) return;
  keyway->from_mm = std::max(keyway->from_mm, Tidy(cavity.reach[2].from_mm));
  keyway->to_mm = std::min(keyway->to_mm, Tidy(cavity.reach[2].to_mm));
}

// Walls and floors that bound the box, though another way of putting it was taken for open there.
std::vector<std::size_t> PlanesOn(const Draft& draft, const Box3& box) {
  std::vector<std::size_t> planes;
  for (std::size_t f = 0; f < draft.graph.faces.size(); ++f) {
    const PlacedFace& face = draft.graph.faces[f];
    const auto axis = AlongAxis(face.axis_P.direction);
    if (!draft.IsFree(f) || !IsPlane(face) || !axis) continue;
    const double bound = face.axis_P.direction[*axis] > 0 ? box.min_mm[*axis] : box.max_mm[*axis];
    bool on = IsSame(face.axis_P.point_mm[*axis], bound);
    for (int other = 0; other < 3; ++other) {
      const auto span = SpanAlong(draft.graph, f, Vec3::Unit(other));
      if (other == *axis || !span) continue;
      on &= span->to_mm > box.min_mm[other] + kSamePlace_mm && span->from_mm < box.max_mm[other] - kSamePlace_mm;
    }
    if (on) planes.push_back(f);
  }
  return planes;
}

// What was read already, so that no part of it is read again.
bool IsWithin(const Box3& box, const std::vector<Box3>& read) {
  return std::any_of(read.begin(), read.end(), [&](const Box3& other) {
    return (box.min_mm - other.min_mm).minCoeff() >= -kSamePlace_mm && (other.max_mm - box.max_mm).minCoeff() >= -kSamePlace_mm;
  });
}

// A step that its sheet could not say: its mouth must be the part's own outside.
bool IsShut(const Draft& draft, const Cavity& cavity, Cut cut) {
  const Box3& outside = draft.graph.box_P;
  const double beyond = cut.sense < 0 ? outside.max_mm[cut.axis] : outside.min_mm[cut.axis];
  return IsStep(cavity, cut) && !IsSame(Bound(cut.box_P, MouthOf(cut)), beyond);
}

bool TryWay(Draft& draft, const Cavity& cavity, const Cut& cut, const TakesOnlyAir& takes_only_air, std::vector<Box3>& read) {
  if (cut.box_P.size_mm().minCoeff() <= kSamePlace_mm || IsWithin(cut.box_P, read)) return false;
  if (IsShut(draft, cavity, cut) || HoldsMetal(draft.graph, cut.box_P, cavity)) return false;
  Feature feature;
  feature.name = FeatureId("cavity");
  feature.shape = AsKeyway(draft.part, MakeShape(cavity, cut));
  TrimKeyway(cavity, feature.shape);
  if (!takes_only_air(draft.part, feature)) return false;
  const char* word = std::holds_alternative<Keyway>(feature.shape) ? "keyway" : WordOf(feature.shape);
  const FeatureId name = draft.Add(word, std::move(feature.shape), cavity.faces);
  draft.Explain(name, PlanesOn(draft, cut.box_P));
  read.push_back(cut.box_P);
  return true;
}

bool Try(Draft& draft, const Cavity& cavity, const TakesOnlyAir& takes_only_air, std::vector<Box3>& read) {
  for (const Closing closing : {Closing::kFar, Closing::kMouthFar, Closing::kNear}) {
    for (Cut& cut : ChooseWays(cavity)) {
      CloseSides(draft, cavity, closing, cut);
      if (TryWay(draft, cavity, cut, takes_only_air, read)) return true;
      if (closing == Closing::kFar) break;  // the other ways give the same box
    }
  }
  return false;
}

}  // namespace

void ReadCavities(Draft& draft, const TakesOnlyAir& takes_only_air) {
  std::vector<Box3> read;
  for (const bool thorough : {false, true}) {
    for (const Cavity& cavity : FindCavities(draft, thorough)) {
      const auto is_free = [&](std::size_t f) { return draft.IsFree(f); };
      if (std::any_of(cavity.faces.begin(), cavity.faces.end(), is_free)) Try(draft, cavity, takes_only_air, read);
    }
  }
}

}  // namespace fitwright::recognize
