// What stops a bearing's outer ring from walking out of its seat.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "fitwright/review/bores.h"
#include "fitwright/review/rules.h"

namespace fitwright::review {
namespace {

constexpr int kAroundSeat = 12;
constexpr int kTouching = 3;       // of those: a circlip has a gap
constexpr double kReach_mm = 0.5;  // farther away stops nothing; opinion
constexpr double kInto_mm = 0.1;   // faces drawn a little inside each other
constexpr int kChain = 6;          // spacers and bearings in a row
// Where a ring is looked at: this share of the bearing's section in from its edge.
constexpr double kRingShare = 0.125;

bool Fixes(JointKind kind) {
  return kind == JointKind::kScrewedPattern || kind == JointKind::kPressFit ||
         kind == JointKind::kBonded || kind == JointKind::kPinned;
}

// The housing and all that is screwed, pressed or bonded to it.
std::set<PartId> FixedTo(const Machine& machine, const PartId& housing) {
  std::set<PartId> fixed = {housing};
  for (bool grew = true; grew;) {
    grew = false;
    for (const Joint& joint : machine.joints) {
      if (!Fixes(joint.kind)) continue;
      const bool a = fixed.count(joint.fixed.part) > 0;
      const bool b = fixed.count(joint.moving.part) > 0;
      if (a == b) continue;
      fixed.insert(a ? joint.moving.part : joint.fixed.part);
      grew = true;
    }
  }
  return fixed;
}

double OutsideRadius(const Piece& piece) {
  return 0.5 * std::get<OuterDiameter>(piece.part->Find(FeatureId("outside"))->shape)
                   .diameter.middle_mm();
}
double BoreRadius(const Piece& piece) {
  return 0.5 * std::get<Hole>(piece.part->Find(FeatureId("bore"))->shape).diameter.middle_mm();
}

class Rings {
 public:
  Rings(const Machine& machine, const std::vector<Piece>& pieces)
      : machine_(machine), pieces_(pieces) {}

  // outer: the ring in the housing. sense: +1 looks from the high end, -1 from the low one.
  bool Stopped(const Piece& bearing, const PartId& housing, double sense) const {
    const std::set<PartId> fixed = FixedTo(machine_, housing);
    const double section = OutsideRadius(bearing) - BoreRadius(bearing);
    return StoppedAt(bearing, bearing, OutsideRadius(bearing) - kRingShare * section, sense, &fixed,
                     0);
  }
  // Anything at all stands against the inner ring.
  bool InnerTouched(const Piece& bearing, double sense) const {
    const double section = OutsideRadius(bearing) - BoreRadius(bearing);
    return StoppedAt(bearing, bearing, BoreRadius(bearing) + kRingShare * section, sense, nullptr,
                     0);
  }

 private:
  // from: the piece whose end is looked at, on the bearing's axis.
  bool StoppedAt(const Piece& bearing, const Piece& from, double radius, double sense,
                 const std::set<PartId>* fixed, int depth) const {
    if (depth > kChain) return false;
    const Vec3 axis = sense * (bearing.X_WP.linear() * Vec3::UnitZ());
    const double end = EndAlong(from, bearing, axis, radius);
    for (const Piece& other : pieces_) {
      if (other.id == from.id || other.id == bearing.id) continue;
      if (!Touches(other, bearing, axis, radius, end)) continue;
      if (fixed == nullptr || fixed->count(other.id) > 0) return true;
      if (other.bought != nullptr && other.bought->kind == BoughtKind::kCirclip) {
        if (InGroove(other, *fixed)) return true;
        continue;
      }
      if (StoppedAt(bearing, other, radius, sense, fixed, depth + 1)) return true;
    }
    return false;
  }

  template <typename Action>
  void EachAround(const Piece& bearing, const Vec3& axis, double radius, const Piece& piece,
                  Action action) const {
    Vec3 u;
    Vec3 v;
    MakeSquare(axis, u, v);
    for (int i = 0; i < kAroundSeat; ++i) {
      const double angle = 2 * kPi * (i + 0.25) / kAroundSeat;
      const Vec3 p_W =
          bearing.X_WP.translation() + radius * (std::cos(angle) * u + std::sin(angle) * v);
      const Pose X_PW = piece.X_WP.inverse();
      action(MetalAlong(*piece.part, X_PW * p_W, X_PW.linear() * axis));
    }
  }

  // How far the piece reaches along the axis from the bearing's origin.
  double EndAlong(const Piece& piece, const Piece& bearing, const Vec3& axis, double radius) const {
    double end = -1e9;
    EachAround(bearing, axis, radius, piece, [&](const std::vector<Stretch>& metal) {
      if (!metal.empty()) end = std::max(end, metal.back().to_mm);
    });
    return end;
  }

  bool Touches(const Piece& piece, const Piece& bearing, const Vec3& axis, double radius,
               double end) const {
    int touching = 0;
    EachAround(bearing, axis, radius, piece, [&](const std::vector<Stretch>& metal) {
      touching += std::any_of(metal.begin(), metal.end(), [&](const Stretch& s) {
        return s.from_mm > end - kInto_mm && s.from_mm < end + kReach_mm;
      });
    });
    return touching >= kTouching;
  }

  bool InGroove(const Piece& circlip, const std::set<PartId>& fixed) const {
    return std::any_of(pieces_.begin(), pieces_.end(), [&](const Piece& piece) {
      return fixed.count(piece.id) > 0 && SitsInGroove(circlip, piece);
    });
  }

  const Machine& machine_;
  const std::vector<Piece>& pieces_;
};

struct Seated {
  const Piece* piece = nullptr;
  PartId housing;
  std::optional<PartId> shaft;
  bool stopped[2] = {false, false};  // low end, high end
};

std::vector<Seated> SeatedBearings(const Machine& machine, const std::vector<Piece>& pieces) {
  std::vector<Seated> seated;
  for (const Joint& joint : machine.joints) {
    if (joint.kind != JointKind::kBearingSeat) continue;
    for (const auto& [ring, housing] : {std::pair(joint.moving.part, joint.fixed.part),
                                        std::pair(joint.fixed.part, joint.moving.part)}) {
      const auto is_ring = [&, id = ring](const Piece& p) {
        return p.id == id && p.bought != nullptr && p.bought->kind == BoughtKind::kBearing;
      };
      const auto piece = std::find_if(pieces.begin(), pieces.end(), is_ring);
      if (piece != pieces.end()) seated.push_back({&*piece, housing, std::nullopt, {}});
    }
  }
  for (Seated& s : seated) {
    for (const Joint& joint : machine.joints) {
      if (joint.kind != JointKind::kBearingOnShaft) continue;
      if (joint.fixed.part == s.piece->id) s.shaft = joint.moving.part;
      if (joint.moving.part == s.piece->id) s.shaft = joint.fixed.part;
    }
  }
  return seated;
}

std::string WayOf(const Vec3& direction_W) {
  int axis = 0;
  direction_W.cwiseAbs().maxCoeff(&axis);
  return fmt::format("{}{}", direction_W[axis] > 0 ? '+' : '-', "xyz"[axis]);
}

}  // namespace

void ReviewBearings(const Machine& machine, const std::vector<Piece>& pieces,
                    std::vector<Finding>& findings) {
  const Rings rings(machine, pieces);
  std::vector<Seated> seated = SeatedBearings(machine, pieces);
  for (Seated& s : seated) {
    s.stopped[0] = rings.Stopped(*s.piece, s.housing, -1);
    s.stopped[1] = rings.Stopped(*s.piece, s.housing, 1);
  }
  for (const Seated& s : seated) {
    // One bearing of a shaft may slide in its seat when another one holds the shaft both ways.
    const bool other_holds = std::any_of(seated.begin(), seated.end(), [&](const Seated& o) {
      return &o != &s && o.shaft && o.shaft == s.shaft && o.stopped[0] && o.stopped[1];
    });
    if (other_holds && rings.InnerTouched(*s.piece, -1) && rings.InnerTouched(*s.piece, 1))
      continue;
    for (const int end : {0, 1}) {
      if (s.stopped[end]) continue;
      const Vec3 way = (end == 0 ? -1.0 : 1.0) * (s.piece->X_WP.linear() * Vec3::UnitZ());
      findings.push_back(
          {Rule::kBearingNotHeld, s.piece->id.text(),
           fmt::format(
               "nothing stands behind the outer ring towards {} within {:g} mm: no shoulder, "
               "no circlip in a groove, no other part",
               WayOf(way), kReach_mm),
           fmt::format("leave a shoulder in {}, cut a groove for a circlip, or put a cover or a "
                       "spacer behind it",
                       s.housing.text())});
    }
  }
}

}  // namespace fitwright::review
