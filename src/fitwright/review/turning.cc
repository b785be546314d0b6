// A shaft in its bearings and all that turns with it, through a whole turn, against the housing.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "fitwright/review/bores.h"
#include "fitwright/review/rules.h"

namespace fitwright::review {
namespace {

constexpr double kPointStep_mm = 1;
constexpr double kBin_mm = 1;
constexpr int kAngles = 72;
constexpr double kTouch_mm = 0.1;

// frame W
struct Shaft {
  PartId part;
  Axis3 axis;
  PartId housing;
};

std::vector<Shaft> ShaftsOf(const Machine& machine) {
  std::vector<Shaft> shafts;
  for (const Joint& on_shaft : machine.joints) {
    if (on_shaft.kind != JointKind::kBearingOnShaft) continue;
    const bool fixed = machine.FindBought(on_shaft.fixed.part) == nullptr;
    const FeatureRef& shaft = fixed ? on_shaft.fixed : on_shaft.moving;
    const PartId& bearing = fixed ? on_shaft.moving.part : on_shaft.fixed.part;
    const Feature* feature = machine.Find(shaft);
    const auto* outer = feature == nullptr ? nullptr : std::get_if<OuterDiameter>(&feature->shape);
    const auto X_WS = machine.FindPlace(shaft.part);
    const bool known = std::any_of(shafts.begin(), shafts.end(),
                                   [&](const Shaft& s) { return s.part == shaft.part; });
    if (outer == nullptr || !X_WS || known) continue;
    for (const Joint& seat : machine.joints) {
      if (seat.kind != JointKind::kBearingSeat) continue;
      if (seat.fixed.part != bearing && seat.moving.part != bearing) continue;
      shafts.push_back({shaft.part,
                        {*X_WS * outer->axis_P.point_mm, X_WS->linear() * outer->axis_P.direction},
                        seat.fixed.part == bearing ? seat.moving.part : seat.fixed.part});
      break;
    }
  }
  return shafts;
}

// Parts that joints of these kinds tie to the first, one after another; never into `apart`.
template <typename Ties>
std::set<PartId> TiedTo(const Machine& machine, const PartId& first, const std::set<PartId>& apart,
                        Ties ties) {
  std::set<PartId> tied = {first};
  for (bool grew = true; grew;) {
    grew = false;
    for (const Joint& joint : machine.joints) {
      if (!ties(joint.kind)) continue;
      const bool a = tied.count(joint.fixed.part) > 0;
      const bool b = tied.count(joint.moving.part) > 0;
      const PartId& next = a ? joint.moving.part : joint.fixed.part;
      if (a == b || apart.count(next) > 0) continue;
      tied.insert(next);
      grew = true;
    }
  }
  return tied;
}

bool TurnsAlong(JointKind kind) {
  return kind == JointKind::kBonded || kind == JointKind::kHubOnShaft ||
         kind == JointKind::kPressFit || kind == JointKind::kPinned;
}
bool StandsStill(JointKind kind) {
  return kind == JointKind::kScrewedPattern || kind == JointKind::kPressFit || IsFaceJoint(kind);
}

// A made washer on the end of something that turns, on its axis.
bool OnTheEndOf(const Piece& washer, const Piece& pin) {
  if (washer.bought != nullptr || washer.part->envelope != EnvelopeKind::kTurned ||
      pin.part->envelope != EnvelopeKind::kTurned) {
    return false;
  }
  const Axis3& own = washer.part->turning_axis_P;
  const Axis3& other = pin.part->turning_axis_P;
  const Vec3 axis = pin.X_WP.linear() * other.direction;
  const Vec3 own_axis = washer.X_WP.linear() * own.direction;
  const Vec3 off = washer.X_WP * own.point_mm - pin.X_WP * other.point_mm;
  if (own_axis.cross(axis).norm() > kDrawnAlike) return false;
  if ((off - off.dot(axis) * axis).norm() > kTouch_mm) return false;
  const Stretch length = CalcTurnedLength(*washer.part);
  const Stretch pin_length = CalcTurnedLength(*pin.part);
  const double sense = own_axis.dot(axis) > 0 ? 1 : -1;
  const double a = off.dot(axis) + sense * length.from_mm;
  const double b = off.dot(axis) + sense * length.to_mm;
  return std::abs(std::min(a, b) - pin_length.to_mm) < kTouch_mm ||
         std::abs(std::max(a, b) - pin_length.from_mm) < kTouch_mm;
}

// Rings that the piece's metal sweeps about the axis: along it, and away from it.
std::vector<Vec2> SweptRings(const Piece& piece, const Axis3& axis) {
  const Box3 box = CalcEnvelope(*piece.part);
  std::map<std::pair<int, int>, Vec2> rings;
  for (double x = box.min_mm.x() + 0.01; x < box.max_mm.x(); x += kPointStep_mm) {
    for (double y = box.min_mm.y() + 0.01; y < box.max_mm.y(); y += kPointStep_mm) {
      for (const Stretch& s : MetalAlong(*piece.part, Vec3(x, y, 0), Vec3::UnitZ())) {
        for (double z = s.from_mm + 0.01; z < s.to_mm; z += kPointStep_mm) {
          const Vec3 off = piece.X_WP * Vec3(x, y, z) - axis.point_mm;
          const double along = off.dot(axis.direction);
          const double away = (off - along * axis.direction).norm();
          rings.try_emplace(
              {static_cast<int>(std::floor(along / kBin_mm)), static_cast<int>(away / kBin_mm)},
              along, away);
        }
      }
    }
  }
  std::vector<Vec2> swept;
  for (const auto& [bin, ring] : rings) swept.push_back(ring);
  return swept;
}

// The ring farthest in that meets the other piece.
std::optional<double> Meets(const std::vector<Vec2>& rings, const Axis3& axis, const Piece& still) {
  Vec3 u;
  Vec3 v;
  MakeSquare(axis.direction, u, v);
  const Pose X_PW = still.X_WP.inverse();
  std::optional<double> least;
  for (const Vec2& ring : rings) {
    if (least && ring.y() >= *least) continue;
    for (int i = 0; i < kAngles; ++i) {
      const double angle = 2 * kPi * i / kAngles;
      const Vec3 p = axis.point_mm + ring.x() * axis.direction +
                     ring.y() * (std::cos(angle) * u + std::sin(angle) * v);
      const bool in_box = ((p - still.box_W.min_mm).array() > 0).all() &&
                          ((still.box_W.max_mm - p).array() > 0).all();
      if (!in_box || !MetalAt(*still.part, X_PW * p)) continue;
      least = ring.y();
      break;
    }
  }
  return least;
}

bool HasBelt(const Machine& machine, const PartId& part) {
  return std::any_of(machine.joints.begin(), machine.joints.end(), [&](const Joint& j) {
    return j.kind == JointKind::kBelt && (j.fixed.part == part || j.moving.part == part);
  });
}

}  // namespace

void ReviewTurning(const Machine& machine, const std::vector<Piece>& pieces,
                   std::vector<Finding>& findings) {
  for (const Shaft& shaft : ShaftsOf(machine)) {
    std::set<PartId> turning = TiedTo(machine, shaft.part, {}, TurnsAlong);
    const std::set<PartId> still = TiedTo(machine, shaft.housing, turning, StandsStill);
    const std::set<PartId> tied = turning;
    for (const Piece& washer : pieces) {
      const bool on_end = std::any_of(pieces.begin(), pieces.end(), [&](const Piece& pin) {
        return tied.count(pin.id) > 0 && OnTheEndOf(washer, pin);
      });
      if (on_end && still.count(washer.id) == 0) turning.insert(washer.id);
    }
    for (const Piece& piece : pieces) {
      // Pulleys are looked at by themselves.
      if (turning.count(piece.id) == 0 || HasBelt(machine, piece.id)) continue;
      const std::vector<Vec2> rings = SweptRings(piece, shaft.axis);
      for (const Piece& other : pieces) {
        if (still.count(other.id) == 0 || other.bought != nullptr) continue;
        const auto away_mm = Meets(rings, shaft.axis, other);
        if (!away_mm) continue;
        findings.push_back(
            {Rule::kWheelFouls, piece.id.text(),
             fmt::format(
                 "turning with {}, it runs into {} from about {:.0f} mm off the shaft's axis",
                 shaft.part.text(), other.id.text(), *away_mm),
             fmt::format("make it smaller, or cut {} away round it", other.id.text())});
      }
    }
  }
}

}  // namespace fitwright::review
