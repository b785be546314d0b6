#include "fitwright/planner/seat_blocks.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

namespace fitwright::planner {
namespace {

constexpr double kClear_mm = 2;       // below what comes down, and beside a drill (opinion)
constexpr double kLeastWide_mm = 4;   // a narrower block stands on nothing (opinion)
constexpr double kHangs_mm = 0.05;    // less is the same face
constexpr double kBeside_mm = 0.5;    // what hangs stands clear by that much (opinion)
constexpr double kNone_mm = std::numeric_limits<double>::max();

struct Plunge {
  Vec3 tip_S = Vec3::Zero();
  double radius_mm = 0;
};

std::vector<Plunge> PlungesOf(const Shop& shop, const Setup& setup) {
  std::vector<Plunge> plunges;
  for (const Step& step : setup.steps) {
    const Tool* tool = shop.Find(step.tool);
    for (const PathPiece& piece : step.path) {
      if (tool == nullptr || piece.kind != PathKind::kPlunge) continue;
      for (const Vec3& p : piece.points_S_mm) plunges.push_back({p, tool->diameter_mm / 2});
    }
  }
  return plunges;
}

// A block under each jaw's middle, as wide as the nearest drill that comes out below leaves it; kNone_mm where none does.
double MostWide_mm(const Setup& setup, const std::vector<Plunge>& plunges, double seat_S_mm) {
  double half = kNone_mm;
  for (const FixtureSolid& solid : setup.fixtures) {
    if (solid.role != FixtureRole::kChuckJaw || !solid.grip_normal_S) continue;
    const Vec3 out = -*solid.grip_normal_S;
    for (const Plunge& plunge : plunges) {
      if (plunge.tip_S.z() > seat_S_mm || out.dot(plunge.tip_S) <= 0) continue;
      half = std::min(half, std::abs(out.x() * plunge.tip_S.y() - out.y() * plunge.tip_S.x()) - plunge.radius_mm - kClear_mm);
    }
  }
  return half == kNone_mm ? kNone_mm : 2 * half;
}

// A drill that pushes outside of the three places that it stands on tips the piece.
std::string TipsWords(const Setup& setup, const std::vector<Plunge>& plunges) {
  const double reach_mm = setup.opening_mm / 4;  // from the axis to the line between two of three at the rim
  for (const FixtureSolid& solid : setup.fixtures) {
    if (solid.role != FixtureRole::kChuckJaw || !solid.grip_normal_S || !solid.grips) continue;
    const bool beside = std::any_of(plunges.begin(), plunges.end(), [&](const Plunge& p) { return p.radius_mm > 0 && solid.grip_normal_S->dot(p.tip_S) > reach_mm; });
    if (beside) return " A drill pushes outside of the three places that it stands on and would tip it: feed lightly, and before the reamer or the last cut look over its face with the indicator again.";
  }
  return {};
}

// How far the jaws reach over the seat.
double HeldAbove_mm(const Setup& setup, double seat_S_mm) {
  double held_mm = 0;
  for (const FixtureSolid& fixture : setup.fixtures) {
    if (fixture.role != FixtureRole::kChuckJaw) continue;
    const auto* jaw = std::get_if<FixtureBox>(&fixture.shape);
    const auto* turning = std::get_if<FixtureCylinder>(&fixture.shape);
    if (jaw != nullptr) held_mm = std::max(held_mm, (jaw->X_SF * jaw->box_F.max_mm).z() - seat_S_mm);
    if (turning != nullptr) held_mm = std::max(held_mm, turning->to_mm - seat_S_mm);
  }
  return held_mm;
}

// What hangs below the seat stands so far within the edge that is gripped: nothing under the seat may reach in further.
std::string HangingWords(const Setup& setup, const std::vector<RoundSpan>& rounds_S, double seat_S_mm) {
  double hangs_mm = 0;
  double lowest_mm = seat_S_mm;
  for (const RoundSpan& round : rounds_S) {
    if (round.low_mm >= seat_S_mm - kHangs_mm) continue;
    hangs_mm = std::max(hangs_mm, round.diameter_mm);
    lowest_mm = std::min(lowest_mm, round.low_mm);
  }
  const double reach_mm = std::floor(setup.opening_mm - hangs_mm) / 2 - kBeside_mm;
  if (hangs_mm == 0 || reach_mm <= 0) return {};
  return fmt::format(" What hangs below the seat is {:.1f} mm across and {:.1f} mm long: steps, blocks or ring reach in from the edge by no more than {:.1f} mm and are higher than that, else "
                     "it stands on them.", hangs_mm, seat_S_mm - lowest_mm, reach_mm);
}

}  // namespace

std::string SeatBlockWords(const Shop& shop, const Setup& setup, const PieceInSetup& piece) {
  const MachineTool* machine = shop.Find(setup.machine);
  const auto seat = std::find_if(setup.contacts.begin(), setup.contacts.end(), [](const Contact& c) { return c.kind == ContactKind::kChuckFace; });
  if (machine == nullptr || setup.holding != HoldingKind::kThreeJawShort || seat == setup.contacts.end()) return {};
  const double seat_S_mm = (setup.parts.front().X_PS.inverse() * seat->point_P_mm).z();
  const std::string hanging = HangingWords(setup, piece.rounds_S, seat_S_mm);
  const double held_mm = HeldAbove_mm(setup, seat_S_mm);
  if (machine->kind == MachineToolKind::kLathe) {
    if (hanging.empty() || held_mm <= 0) return hanging;
    return hanging + fmt::format(" Blocks or ring: the jaws' height less {:.1f} mm, all alike, so that no more of these stands over the seat.", held_mm);
  }
  const std::vector<Plunge> plunges = PlungesOf(shop, setup);
  double lowest = piece.piece_S.min_mm.z();
  for (const Plunge& plunge : plunges) lowest = std::min(lowest, plunge.tip_S.z());
  const double high_mm = std::ceil(seat_S_mm - lowest + kClear_mm);
  const std::string tips = TipsWords(setup, plunges);
  const bool packed = std::any_of(setup.fixtures.begin(), setup.fixtures.end(), [](const FixtureSolid& f) { return f.role == FixtureRole::kParallel; });
  const double wide_mm = std::floor(MostWide_mm(setup, plunges, seat_S_mm));
  const bool narrow = !packed && wide_mm >= kLeastWide_mm && wide_mm < setup.opening_mm;
  return fmt::format(" {}: {}at least {:.0f} mm high{}, so that nothing that hangs below the seat and no drill comes down on what is under it.{}{}",
                     packed ? "Packing" : "Blocks under it",
                     held_mm > 0 ? fmt::format("the jaws' height less {:.1f} mm, so that no more of these stands over the seat, and ", held_mm) : "", high_mm,
                     narrow ? fmt::format(" and at most {:.0f} mm wide", wide_mm) : "",
                     narrow ? " Steps of the jaws that are wider will not do: a drill would meet them." : "", hanging + tips);
}

}  // namespace fitwright::planner
