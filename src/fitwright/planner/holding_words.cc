#include "fitwright/planner/holding_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "fitwright/planner/holding.h"
#include "fitwright/planner/paths_design.h"
#include "fitwright/planner/technique_words.h"

namespace fitwright::planner {
namespace {

constexpr double kTouches_mm = 0.3;  // nearer than this a strip lies against the jaw

const FixtureSolid* FindRole(const Setup& setup, FixtureRole role) {
  const auto found = std::find_if(setup.fixtures.begin(), setup.fixtures.end(), [&](const FixtureSolid& f) { return f.role == role; });
  return found == setup.fixtures.end() ? nullptr : &*found;
}

const Box3* BoxOf(const FixtureSolid* solid) {
  const auto* box = solid == nullptr ? nullptr : std::get_if<FixtureBox>(&solid->shape);
  return box == nullptr ? nullptr : &box->box_F;
}

// How far a strip lies from the inner face of a jaw.
double FromJaw_mm(const Box3& strip, const Box3& jaw) {
  return jaw.min_mm.y() >= strip.max_mm.y() - 1e-9 ? jaw.min_mm.y() - strip.max_mm.y() : strip.min_mm.y() - jaw.max_mm.y();
}

std::string PlaceWords(const Box3& strip, const Box3& fixed, const Box3& moving) {
  const double to_fixed = FromJaw_mm(strip, fixed);
  const double to_moving = FromJaw_mm(strip, moving);
  const bool near_fixed = to_fixed <= to_moving;
  const double away = near_fixed ? to_fixed : to_moving;
  const char* jaw = near_fixed ? "fixed" : "moving";
  return away < kTouches_mm ? fmt::format("against the {} jaw", jaw) : fmt::format("{:.1f} mm from the {} jaw", away, jaw);
}

// A finished face on a bare bed: a chip or a burr there marks it and tilts the piece.
std::string BedAdditions(const Setup& setup, const PieceState& piece) {
  const Vec3 down_P = -setup.parts.front().X_PS.linear().col(2);
  const auto rest = FinishedFace(piece, down_P);
  const bool on_strips = FindRole(setup, FixtureRole::kParallel) != nullptr;
  return rest && !on_strips ? fmt::format(" The bed wiped with the bare hand, every burr off {}.", rest->text()) : "";
}

constexpr double kMostOpen = 0.5;   // of the width between the jaws, taken by a bore (opinion)
constexpr double kClose_mm = 0.05;  // between the limits of a bore that shows what the jaws do (opinion)

// A bore across the jaws' pressure, with little metal beside it.
bool OpensMuch(const Hole& hole, const Pose& X_PS, const Box3& box_S) {
  const Vec3 into_S = X_PS.linear().transpose() * hole.into_P;
  return hole.use == HoleUse::kBore && std::abs(into_S.y()) < 0.5 && hole.diameter.middle_mm() > kMostOpen * box_S.size_mm().y();
}

// The jaws stand beside some of it.
bool IsBetweenJaws(const Hole& hole, const Pose& X_PS, const Box3& jaw) {
  const Vec3 into_S = X_PS.linear().transpose() * hole.into_P;
  const Vec3 entry_S = X_PS.inverse() * hole.entries_P_mm.front();
  const double lowest = std::min(entry_S.z(), entry_S.z() + into_S.z() * hole.depth_mm);
  const double half = std::abs(into_S.z()) > 0.5 ? 0 : hole.diameter.middle_mm() / 2;
  return lowest - half < jaw.max_mm.z();
}

std::string ThinWallWords(const Setup& setup, const PieceState& piece, const std::vector<FeatureId>& cuts) {
  std::string words;
  if (const Feature* made = PressedOval(setup, piece, piece.made, 1e9)) {
    words += fmt::format(" No tighter than the cuts want: {} is pressed oval between the jaws, and what is cut now springs back with it.", Words(made->name.text()));
  }
  if (const Feature* cut = PressedOval(setup, piece, cuts, kClose_mm)) {
    words += EasingWords(cut->name);
  }
  return words;
}

}  // namespace

const Feature* PressedOval(const Setup& setup, const PieceState& piece, const std::vector<FeatureId>& features, double close_mm) {
  const Pose& X_PS = setup.parts.front().X_PS;
  const Box3* jaw = BoxOf(FindRole(setup, FixtureRole::kMovingJaw));
  const Box3 box_S = BoxInSetup(piece, X_PS);
  for (const FeatureId& id : features) {
    const Feature* feature = piece.part->Find(id);
    const auto* hole = std::get_if<Hole>(&feature->shape);
    if (hole == nullptr || jaw == nullptr || hole->entries_P_mm.size() != 1 || hole->diameter.width_mm() > close_mm) continue;
    if (OpensMuch(*hole, X_PS, box_S) && IsBetweenJaws(*hole, X_PS, *jaw)) return feature;
  }
  return nullptr;
}

std::string EasingWords(const FeatureId& bore) {
  return fmt::format(" Before the last cut of {} ease the vise and nip it up again no tighter than that cut wants: what is round between hard jaws is oval free.", Words(bore.text()));
}

std::string ViseAdditions(const Setup& setup, const PieceState& piece, const std::vector<FeatureId>& cuts, const Vec3& jaw_P, bool bar) {
  const Box3* fixed = BoxOf(FindRole(setup, FixtureRole::kFixedJaw));
  const Box3* moving = BoxOf(FindRole(setup, FixtureRole::kMovingJaw));
  if (fixed == nullptr || moving == nullptr) return {};
  std::vector<std::string> places;
  for (const FixtureSolid& solid : setup.fixtures) {
    const Box3* strip = solid.role == FixtureRole::kParallel ? BoxOf(&solid) : nullptr;
    if (strip != nullptr) places.push_back(PlaceWords(*strip, *fixed, *moving));
  }
  std::string words;
  const auto other = FinishedFace(piece, -jaw_P);
  const std::string at_fixed = "against the fixed jaw";
  const std::string at_moving = "against the moving jaw";
  if (places.size() == 1) words += fmt::format(" The parallel lies {}.", places[0]);
  if (places.size() == 2) {
    const bool at_jaws = (places[0] == at_fixed && places[1] == at_moving) || (places[0] == at_moving && places[1] == at_fixed);
    words += !at_jaws  ? fmt::format(" The parallels lie {} and {}.", places[0], places[1])
             : !bar   ? " One parallel at each jaw."
                      : " One parallel against the fixed jaw, one under the opposite edge of the piece, clear of the moving jaw.";
  }
  // The fixed jaw is a datum: nothing goes between, it is wiped clean instead.
  if (other) words += fmt::format(" Card between {} and the moving jaw; the fixed jaw wiped clean, no burr on it.", other->text());
  if (!setup.parts.empty()) words += BedAdditions(setup, piece) + ThinWallWords(setup, piece, cuts);
  return words;
}

std::string BarAdditions(const Setup& setup, const PieceState& piece, bool raw) {
  if (!raw) return {};
  const Pose& X_PS = setup.parts.front().X_PS;
  const Vec3 up_P = X_PS.linear().col(2);
  const double top = ExtentOf(piece, up_P).second - up_P.dot(X_PS.translation());
  const double end = ExtentOf(piece, up_P).first - up_P.dot(X_PS.translation());
  std::optional<double> jaws;
  bool on_body = false;
  for (const FixtureSolid& solid : setup.fixtures) {
    const auto* ring = std::get_if<FixtureCylinder>(&solid.shape);
    if (ring == nullptr) continue;
    if (solid.role == FixtureRole::kChuckJaw) jaws = std::max(jaws.value_or(ring->to_mm), ring->to_mm);
    if (solid.role == FixtureRole::kChuckBody) on_body = on_body || std::abs(end - ring->to_mm) < kTouches_mm;
  }
  if (!jaws) return {};
  return fmt::format(" {} {:.1f} mm out of the jaws.",
                     on_body ? "Push the bar back until its end meets the chuck's body: it stands" : "Let the bar stand", top - *jaws);
}

namespace {

// No cut has taken the metal behind a side of the piece at this height, anywhere along it.
bool IsSolidAlong(const PieceState& piece, const Pose& X_PS, const Box3& box_S, double y_S, double z_S) {
  constexpr double kBand_mm = 2;  // of the bar's bearing, up and down
  for (double x = box_S.min_mm.x() + 0.5; x < box_S.max_mm.x(); x += 0.5) {
    for (const double up : {-kBand_mm, 0.0, kBand_mm}) {
      const Vec3 p_P = X_PS * Vec3(x, y_S, z_S + up);
      const bool gone = std::any_of(piece.made.begin(), piece.made.end(), [&](const FeatureId& id) {
        const Feature& f = *piece.part->Find(id);
        return !std::holds_alternative<PlanarFace>(f.shape) && FeatureTakes(*piece.part, f, p_P);
      });
      if (gone) return false;
    }
  }
  return true;
}

}  // namespace

std::string RoundBarWords(const Setup& setup, const PieceState& piece, double bar_mm) {
  constexpr double kEnd_mm = 5;     // kept from the lower edge of the grip and from the jaws' top (opinion)
  constexpr double kBehind_mm = 0.6;
  constexpr double kStep_mm = 0.5;
  const Box3* moving = BoxOf(FindRole(setup, FixtureRole::kMovingJaw));
  const Box3* fixed = BoxOf(FindRole(setup, FixtureRole::kFixedJaw));
  const Pose& X_PS = setup.parts.front().X_PS;
  const Box3 box_S = BoxInSetup(piece, X_PS);
  const double apart = box_S.size_mm().y() + bar_mm;
  if (moving == nullptr || fixed == nullptr) return {};
  const double inward = fixed->min_mm.y() > moving->min_mm.y() ? 1 : -1;
  const double face_y = inward > 0 ? box_S.min_mm.y() : box_S.max_mm.y();
  const double low = box_S.min_mm.z();
  const double top = std::min(moving->max_mm.z(), box_S.max_mm.z());
  const double mid = 0.5 * (low + top);
  const auto solid = [&](double z) { return IsSolidAlong(piece, X_PS, box_S, face_y + inward * kBehind_mm, z); };
  std::string where = " at mid grip";
  if (!solid(mid)) {
    where.clear();
    for (double off = kStep_mm; off <= mid - low - kEnd_mm && where.empty(); off += kStep_mm) {
      for (const double z : {mid + off, mid - off}) {
        if (where.empty() && solid(z)) where = fmt::format(" {:.0f} mm above what the piece stands on, where the metal behind it is whole", z - low);
      }
    }
  }
  const std::string jaws = fmt::format("; the jaws then stand {:.1f} mm apart.", apart);
  if (where.empty()) {
    return fmt::format(" A flat strip {:.0f} mm thick along the moving jaw, over what is cut open there, so that it bears beside it{}", bar_mm, jaws);
  }
  return fmt::format(" A {:.0f} mm round bar along the moving jaw,{}{}", bar_mm, where, jaws);
}

std::string JawZeroWords(const JawZero& zero) {
  constexpr double kSlip_mm = 1;  // room beside the finder between the jaws (opinion)
  if (zero.between_mm >= zero.finder_mm + kSlip_mm) return fmt::format("at the fixed jaw's face set y to {:.3f} mm", zero.y_mm);
  return fmt::format("with it touch {} above the fixed jaw, from behind, beside what stands out of it (between the jaws it does not go): set y to {:.3f} mm",
                     zero.face.empty() ? "the piece" : zero.face, -zero.y_mm);
}

std::optional<ViseRoom> RoomInVise(const Setup& setup) {
  const Box3* fixed = BoxOf(FindRole(setup, FixtureRole::kFixedJaw));
  const Box3* bed = BoxOf(FindRole(setup, FixtureRole::kBed));
  if (fixed == nullptr || bed == nullptr) return std::nullopt;
  return ViseRoom{fixed->max_mm.z(), bed->min_mm.x(), bed->max_mm.x()};
}

void SayLatheZero(const PieceState& piece, const std::vector<FeatureId>& cuts, Zero& zero) {
  const Part& part = *piece.part;
  const auto first_outside = std::find_if(cuts.begin(), cuts.end(), [&](const FeatureId& id) {
    return std::holds_alternative<OuterDiameter>(part.Find(id)->shape);
  });
  const bool across = std::any_of(cuts.begin(), cuts.end(), [&](const FeatureId& id) {
    const auto& shape = part.Find(id)->shape;
    return !std::holds_alternative<PlanarFace>(shape) && !std::holds_alternative<RoundChamfer>(shape);
  });
  const std::string end = "z is 0 at the finished end face; ";
  if (first_outside != cuts.end()) {
    std::string name = first_outside->text();
    std::replace(name.begin(), name.end(), '_', ' ');
    const bool bored = std::any_of(cuts.begin(), cuts.end(), [&](const FeatureId& id) {
      const auto* hole = std::get_if<Hole>(&part.Find(id)->shape);
      return hole != nullptr && hole->use == HoleUse::kBore;
    });
    zero.routine = end + fmt::format("x: measure what the first pass over {} leaves and set x to it{}.", name,
                                     bored ? "; a bar has an x of its own: gauge its first pass and set x to that" : "");
    zero.witness = fmt::format("touch the end face, the reading is 0; measure the next pass over {} against x.", name);
  } else if (across) {
    zero.routine = end + "x: measure the outside where it shows, touch it with the tool and set x to it; inside by the first pass, measured.";
    zero.witness = "touch the end face, the reading is 0; measure the first pass against x.";
  } else {
    zero.routine = end + "x needs no figure: the tool runs to the middle.";
    zero.witness = "touch the end face, the reading is 0.";
  }
}

double MostWobble_mm(const Setup& setup, const Shop& shop) {
  constexpr double kPer_mm = 50;       // of the spread
  constexpr double kSpread_mm = 0.03;  // the default shop's figure
  const auto row = shop.spreads.find("rechuck_wobble");
  const double spread_mm = row == shop.spreads.end() ? kSpread_mm : FigureOf(shop, row->second).spread;
  return std::max(1.0, std::round(100 * spread_mm * setup.opening_mm / kPer_mm)) / 100;
}

std::string TapDownWords(const Setup& setup, const PieceState& piece, const Shop& shop) {
  const double most_mm = MostWobble_mm(setup, shop);
  const auto face = FinishedFace(piece, setup.parts.front().X_PS.linear().col(2));
  if (!face) return " Tap it down while the jaws close: closing lifts it.";
  return fmt::format(" Tap it down while the jaws close, closing lifts it; then the indicator over {}: at most {:.2f} mm from side to side, else slack "
                     "off and tap again.",
                     face->text(), most_mm);
}

std::string JawTurnWords(const Setup& setup, bool drills_come_out) {
  if (!drills_come_out) return {};
  constexpr double kStraight = 0.999;
  for (const FixtureSolid& solid : setup.fixtures) {
    if (solid.role != FixtureRole::kChuckJaw || !solid.grip_normal_S) continue;
    const Vec3 out = -*solid.grip_normal_S;
    for (const auto& [axis, way] : {std::pair{"X+", Vec3(1, 0, 0)}, {"X-", Vec3(-1, 0, 0)}, {"Y+", Vec3(0, 1, 0)}, {"Y-", Vec3(0, -1, 0)}}) {
      if (out.dot(way) > kStraight) return fmt::format(" Turn the chuck so that one jaw points to {} of the drawing: the drills then come out between the jaws.", axis);
    }
  }
  return " Turn the chuck as the drawing shows its jaws: the drills then come out between them.";
}

std::string RoundWitness(const Box3& box_S, double finder_mm) {
  const double side = std::max(-box_S.min_mm.x(), box_S.max_mm.x());
  return fmt::format("the finder touches either side of the round alike: at half of it as measured and {:.3f} mm more, about {:.3f} mm, one of them negative.",
                     finder_mm / 2, side + finder_mm / 2);
}

}  // namespace fitwright::planner
