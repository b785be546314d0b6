#include "fitwright/planner/holding_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

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

}  // namespace

std::string ViseAdditions(const Setup& setup, const PieceState& piece, const Vec3& jaw_P) {
  const Box3* fixed = BoxOf(FindRole(setup, FixtureRole::kFixedJaw));
  const Box3* moving = BoxOf(FindRole(setup, FixtureRole::kMovingJaw));
  if (fixed == nullptr || moving == nullptr) return {};
  std::vector<std::string> places;
  for (const FixtureSolid& solid : setup.fixtures) {
    const Box3* strip = solid.role == FixtureRole::kParallel ? BoxOf(&solid) : nullptr;
    if (strip != nullptr) places.push_back(PlaceWords(*strip, *fixed, *moving));
  }
  std::string words;
  const std::string at_fixed = "against the fixed jaw";
  const std::string at_moving = "against the moving jaw";
  if (places.size() == 1) words += fmt::format(" The parallel lies {}.", places[0]);
  if (places.size() == 2) {
    const bool at_jaws = (places[0] == at_fixed && places[1] == at_moving) || (places[0] == at_moving && places[1] == at_fixed);
    words += at_jaws ? " One parallel at each jaw." : fmt::format(" The parallels lie {} and {}.", places[0], places[1]);
  }
  // The fixed jaw is a datum: nothing goes between, it is wiped clean instead.
  const auto other = FinishedFace(piece, -jaw_P);
  if (other) words += fmt::format(" Card between {} and the moving jaw; the fixed jaw wiped clean, no burr on it.", other->text());
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

std::string RoundWitness(const Box3& box_S, double finder_mm) {
  const double side = std::max(-box_S.min_mm.x(), box_S.max_mm.x());
  return fmt::format("the finder touches either side of the round at {:.3f} in x, one of them negative.", side + finder_mm / 2);
}

}  // namespace fitwright::planner
