// Rotary table on the mill: round work standing in the chuck that is put on it, trued to the
// table's own axis, turned to an angle for every cut that would run aslant of the slides.
#include <algorithm>
#include <cmath>

#include "fitwright/model/shapes.h"
#include "fitwright/planner/holding_internal.h"

namespace fitwright::planner {
namespace {

constexpr double kSlides = 1e-6;  // nearer to a slide's direction is along it

const HoldingDevice* ChuckFor(const HoldingDevice& rotary, const Shop& shop) {
  for (const HoldingDevice& device : shop.holding) {
    if (device.kind == HoldingDeviceKind::kThreeJaw && device.on == rotary.on) return &device;
  }
  return nullptr;
}

// The chuck's foot in S: the table's face.
double FootOf(const Setup& setup) {
  double foot = 0;
  for (const FixtureSolid& f : setup.fixtures) {
    if (f.role == FixtureRole::kChuckBody) foot = std::get<FixtureCylinder>(f.shape).from_mm;
  }
  return foot;
}

void AddTable(Setup& setup, const HoldingDevice& rotary) {
  const double foot = FootOf(setup);
  FixtureSolid table;
  table.role = FixtureRole::kRotaryTable;
  FixtureCylinder body;
  body.axis_S.direction = Vec3::UnitZ();
  body.from_mm = foot - rotary.body_length_mm;
  body.to_mm = foot;
  body.outer_mm = rotary.body_diameter_mm;
  body.inner_mm = rotary.bore_mm;
  table.shape = body;
  setup.fixtures.push_back(table);
  const double under = body.from_mm;
  setup.fixtures.push_back(Block(FixtureRole::kTable, {-250, -150, under - 30}, {250, 150, under}));
}

bool Drills(const SetupSketch& sketch, const PieceState& piece) {
  return std::any_of(sketch.cuts.begin(), sketch.cuts.end(), [&](const FeatureId& id) { return std::holds_alternative<Hole>(CutOf(piece, id).shape); });
}

// Where the holes of a circle about the axis stand in S; empty for other patterns and for single holes.
std::vector<Vec2> CircleOf(const PieceState& piece, const FeatureId& id, const Pose& X_SP) {
  const auto* hole = std::get_if<Hole>(&CutOf(piece, id).shape);
  std::vector<Vec2> places;
  if (hole == nullptr || hole->entries_P_mm.size() < 2) return places;
  for (const Vec3& p : hole->entries_P_mm) places.push_back((X_SP * p).head<2>());
  const double radius = places.front().norm();
  const bool round = radius > kSlides && std::all_of(places.begin(), places.end(), [&](const Vec2& p) { return std::abs(p.norm() - radius) < kDrawnAlike_mm; });
  return round ? places : std::vector<Vec2>();
}

}  // namespace

bool IsBeyondTravel(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine) {
  const Pose X_SP = TurningFrame(sketch, piece).inverse();
  Vec2 low = Vec2::Zero();
  Vec2 high = Vec2::Zero();
  for (const FeatureId& id : sketch.cuts) {
    for (const Vec2& p : CircleOf(piece, id, X_SP)) {
      low = low.cwiseMin(p);
      high = high.cwiseMax(p);
    }
  }
  return high.x() - low.x() > machine.travel_mm.x() || high.y() - low.y() > machine.travel_mm.y();
}

bool MayDivide(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine) {
  const Pose X_SP = TurningFrame(sketch, piece).inverse();
  return !machine.readout && std::any_of(sketch.cuts.begin(), sketch.cuts.end(), [&](const FeatureId& id) { return !CircleOf(piece, id, X_SP).empty(); });
}

bool NeedsTurning(const SetupSketch& sketch, const PieceState& piece) {
  const Pose X_PS = TurningFrame(sketch, piece);
  return std::any_of(sketch.cuts.begin(), sketch.cuts.end(), [&](const FeatureId& id) {
    const auto* flats = std::get_if<Flats>(&CutOf(piece, id).shape);
    if (flats == nullptr) return false;
    for (int i = 0; i < flats->count; ++i) {
      const Vec3 n_S = X_PS.linear().transpose() * FlatNormal(*flats, i);
      if (std::min(std::abs(n_S.x()), std::abs(n_S.y())) > kSlides) return true;
    }
    return false;
  });
}

Result<HeldPiece> HoldOnRotary(const SetupSketch& sketch, const PieceState& piece,
                               const MachineTool& machine, const HoldingDevice& rotary,
                               const Shop& shop) {
  const HoldingDevice* chuck = ChuckFor(rotary, shop);
  if (chuck == nullptr)
    return NoHold(fmt::format("no chuck goes on {}", rotary.name.text()),
                  "add a three-jaw chuck that goes on the mill");
  SetupSketch inner = sketch;
  inner.device = chuck->name;
  inner.holding = HoldingKind::kThreeJawShort;
  Result<HeldPiece> held = HoldInChuck(inner, piece, machine, *chuck, shop);
  const auto seated = [](const HeldPiece& h) {
    return std::any_of(h.setup.contacts.begin(), h.setup.contacts.end(),
                       [](const Contact& c) { return c.kind == ContactKind::kChuckFace; });
  };
  if (!held || !seated(*held)) {
    inner.holding = HoldingKind::kThreeJaw;
    held = HoldInChuck(inner, piece, machine, *chuck, shop);
  }
  if (!held) return held;
  Setup& setup = held->setup;
  AddTable(setup, rotary);
  const std::string land =
      setup.zero.x_from.feature.empty() ? "the outside" : setup.zero.x_from.feature.text();
  setup.hold_words = fmt::format(
      "Rotary table flat on the mill's table, clamped; {} on it. {} Turn the rotary table with the "
      "indicator on {} and tap the chuck over until the needle stands still, then clamp the chuck.",
      chuck->words, setup.hold_words, land);
  setup.zero.routine = fmt::format(
      "Before the chuck goes on, centre the spindle over the rotary table's bore with the indicator; set x and y to 0 there. {} The rotary table reads 0 "
      "as the piece was put in: {} side of {} towards +x. Come to every angle turning the same way, and lock it before the cut. z is 0 at the finished "
      "top: every tool touches there.",
      Drills(sketch, piece) ? "Go out to the circle's radius along x alone and lock x; y stays locked at 0."
                            : "Leave them. Lock y at each cut's reading.",
      SideWord(setup.parts.front().X_PS.linear().col(0)), sketch.part.text());
  setup.cautions.push_back(
      "A crank turned back has play to take up: go past the angle and come to it again the same "
      "way. Tick off each angle as it is cut.");
  held->seat_min += 2 * shop.times.centre_bore;
  return held;
}

}  // namespace fitwright::planner
