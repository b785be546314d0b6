// Long work in a chuck whose end runs in the fixed steady: a band of it, turned or as supplied, in the
// steady's fingers, so that the end can be faced, drilled and bored.
#include <algorithm>
#include <cmath>

#include "fitwright/planner/holding_internal.h"

namespace fitwright::planner {
namespace {

constexpr double kBesideJaws_mm = 10;  // of bar between the jaws and the steady, room for the hand (opinion)
constexpr double kBelowTool_mm = 4;     // between the steady and the lowest cut, room for the tool (opinion)
constexpr double kCasting_mm = 30;        // of its casting round the greatest band it takes (opinion)
constexpr double kSetSteady_min = 10;  // stand it up, bring the fingers in, indicate along the bar (opinion)

struct Blocked {
  double from = 0;
  double to = 0;
};

Blocked Sorted(double a, double b) { return {std::min(a, b), std::max(a, b)}; }

// What fingers catch in or crush, as lengths along up_P.
std::vector<Blocked> NoFingersHere(const SetupSketch& sketch, const PieceState& piece) {
  const auto on = [&](const Axis3& axis, double from, double to) {
    return Sorted(sketch.up_P.dot(axis.point_mm + axis.direction * from), sketch.up_P.dot(axis.point_mm + axis.direction * to));
  };
  std::vector<Blocked> blocked;
  for (const FeatureId& id : piece.made) {
    const Feature& feature = CutOf(piece, id);
    const auto& shape = feature.shape;
    if (const auto* groove = std::get_if<Groove>(&shape)) {
      if (!groove->internal) blocked.push_back(on(groove->axis_P, groove->from_mm, groove->to_mm));
    } else if (const auto* flats = std::get_if<Flats>(&shape)) {
      blocked.push_back(on(flats->axis_P, flats->from_mm, flats->to_mm));
    } else if (const auto* knurl = std::get_if<Knurl>(&shape)) {
      const auto& outer = std::get<OuterDiameter>(CutOf(piece, knurl->on).shape);
      blocked.push_back(on(outer.axis_P, knurl->from_mm, knurl->to_mm));
    } else if (const auto* thread = std::get_if<ExternalThread>(&shape)) {
      const auto& outer = std::get<OuterDiameter>(CutOf(piece, thread->on).shape);
      const double end = thread->at_start ? outer.from_mm : outer.to_mm;
      const double inward = (outer.to_mm > outer.from_mm) == thread->at_start ? thread->length_mm : -thread->length_mm;
      blocked.push_back(on(outer.axis_P, end, end + inward));
    } else if (const auto* chamfer = std::get_if<RoundChamfer>(&shape)) {
      const auto* outer = std::get_if<OuterDiameter>(&CutOf(piece, chamfer->on).shape);
      if (outer == nullptr) continue;
      const double end = chamfer->at_start ? outer->from_mm : outer->to_mm;
      const double inward = (outer->to_mm > outer->from_mm) == chamfer->at_start ? chamfer->axial_mm : -chamfer->axial_mm;
      blocked.push_back(on(outer->axis_P, end, end + inward));
    } else if (const auto* hole = std::get_if<Hole>(&shape); hole != nullptr && std::abs(hole->into_P.dot(sketch.up_P)) < 0.5) {
      for (const Vec3& entry : hole->entries_P_mm) {
        const double at = sketch.up_P.dot(entry);
        blocked.push_back({at - hole->diameter.upper_mm / 2, at + hole->diameter.upper_mm / 2});
      }
    } else if (!IsTurned(*piece.part, feature) && !std::holds_alternative<PlanarFace>(shape) && !std::holds_alternative<Hole>(shape)) {
      blocked.push_back({-1e9, 1e9});  // a keyway, a slot, a step: nothing is known to be round
    }
  }
  return blocked;
}

// Outsides that are turned or as supplied, as lengths along up_P.
std::vector<Band> RoundBands(const SetupSketch& sketch, const PieceState& piece) {
  std::vector<Band> bands;
  const Axis3& axis = piece.part->turning_axis_P;
  for (const Band& band : piece.bands) {
    const Blocked along = Sorted(sketch.up_P.dot(axis.point_mm + axis.direction * band.from_mm),
                                 sketch.up_P.dot(axis.point_mm + axis.direction * band.to_mm));
    Band moved = band;
    moved.from_mm = along.from;
    moved.to_mm = along.to;
    bands.push_back(moved);
  }
  return bands;
}

}  // namespace

bool IsSteady(const std::optional<HoldingDeviceId>& support, const Shop& shop) {
  const HoldingDevice* device = support ? shop.Find(*support) : nullptr;
  return device != nullptr && device->kind == HoldingDeviceKind::kSteady;
}

std::optional<HoldingDeviceId> SteadyOf(const MachineToolId& lathe, const Shop& shop) {
  for (const HoldingDevice& device : shop.holding) {
    if (device.kind == HoldingDeviceKind::kSteady && device.on == lathe) return device.name;
  }
  return std::nullopt;
}

double AsFreeInSteady_mm(double between_mm, double beyond_mm) {
  return std::cbrt(beyond_mm * beyond_mm * (3 * between_mm + 4 * beyond_mm) / 4);
}

Result<SteadyPlace> FindSteadyPlace(const SetupSketch& sketch, const PieceState& piece, const Shop& shop, double jaws, double lowest_cut) {
  const HoldingDevice& steady = *shop.Find(*sketch.support);
  const auto refuse = [&](const std::string& why, const std::string& remedy) {
    return NoHold(fmt::format("{} does not run in the {}: {}", sketch.part.text(), steady.words, why), remedy);
  };
  const std::vector<Blocked> blocked = NoFingersHere(sketch, piece);
  const double wide = steady.body_length_mm;
  std::optional<SteadyPlace> best;
  double slimmest = 1e9;
  for (const Band& band : RoundBands(sketch, piece)) {
    if (band.to_mm > jaws + 1e-6) slimmest = std::min(slimmest, band.diameter_mm);
    if (!band.feature || band.diameter_mm < steady.grip_min_mm || band.diameter_mm > steady.grip_max_mm) continue;
    double top = std::min(band.to_mm, lowest_cut - kBelowTool_mm);
    const double bottom = std::max(band.from_mm, jaws + kBesideJaws_mm);
    for (bool moved = true; moved;) {
      moved = false;
      for (const Blocked& b : blocked) {
        if (b.to <= top - wide + 1e-6 || b.from >= top - 1e-6) continue;
        top = b.from;
        moved = true;
      }
    }
    if (top - wide < bottom - 1e-6) continue;
    if (!best || top > best->to) best = SteadyPlace{top - wide, top, band.diameter_mm, *band.feature};
  }
  if (!best) {
    return refuse(fmt::format("no round band {:.0f} mm long and {:.0f} to {:.0f} mm thick stands between the jaws and the cuts", wide,
                              steady.grip_min_mm, steady.grip_max_mm),
                  "turn a band for it first, on a centre, or leave the bar longer and cut the end off last");
  }
  const double top = TopAfterCuts(sketch, piece);
  const double as_free = AsFreeInSteady_mm(best->middle() - jaws, top - best->middle());
  if (as_free > kMostStickOut_diameters * slimmest) {
    return refuse(fmt::format("{:.0f} mm beyond it and {:.0f} mm from the jaws the end would spring as {:.1f} diameters free", top - best->middle(),
                              best->middle() - jaws, as_free / slimmest),
                  "a steady nearer to the end");
  }
  return *best;
}

void AddSteady(HeldPiece& held, const SteadyPlace& place, const PieceState& piece, const HoldingDevice& steady) {
  Setup& setup = held.setup;
  const Pose& X_PS = setup.parts.front().X_PS;
  const double z0 = X_PS.linear().col(2).dot(X_PS.translation());
  FixtureCylinder ring;
  ring.from_mm = place.from - z0;
  ring.to_mm = place.to - z0;
  ring.inner_mm = place.diameter_mm;
  ring.outer_mm = steady.grip_max_mm + 2 * kCasting_mm;
  FixtureSolid solid;
  solid.role = FixtureRole::kSteady;
  solid.shape = ring;
  solid.supports = true;
  setup.fixtures.push_back(solid);
  const double r = place.diameter_mm / 2;
  for (const Vec3& n : {Vec3(Vec3::UnitX()), Vec3(Vec3::UnitY())}) {
    Contact contact;
    contact.kind = ContactKind::kSteady;
    contact.surface = {piece.part->name, place.band};
    contact.point_P_mm = X_PS * Vec3(-r * n.x(), -r * n.y(), place.middle() - z0);
    contact.normal_P = X_PS.linear() * n;
    setup.contacts.push_back(contact);
  }
  setup.hold_words += fmt::format(" Its end in the {} on {}, the steady's near side {:.0f} mm from the finished end: the fingers brought up in "
                                  "turn until they just touch, locked, oil on them; a strip of thin card under them on a finished band.",
                                  steady.words, place.band.text(), -ring.to_mm);
  setup.cautions.push_back("Look at the steady's fingers after the first minute: warm means too tight. Oil them at each step.");
  setup.reasons.push_back("So far out of the jaws the end would spring from the tool, and it does not go back through the spindle: the steady "
                          "carries it. Set it by indicator: run along the top and the near side of the bar with the carriage, from the jaws to the "
                          "steady, until both read alike; else the bore comes out a cone and the face hollow or high.");
  held.seat_min += kSetSteady_min;
}

}  // namespace fitwright::planner
