// Short work on a mandrel in its bore, its finished face against a shoulder: a stub turned in place, or one of
// the shop's that expands.
#include <algorithm>
#include <cmath>

#include "fitwright/base/check.h"
#include "fitwright/planner/holding_internal.h"
#include "fitwright/planner/holding_words.h"

namespace fitwright::planner {
namespace {

constexpr double kBelowFace_mm = 1;      // of the stub's end under the finished face
constexpr double kLeastOnStub_mm = 3;    // as the replay asks of any grip
constexpr double kShoulderRoom_mm = 1;   // on the diameter, of the shoulder's rim inside the work's
constexpr double kShoulderWidth_mm = 1;  // least land that the face sits on
constexpr double kLong_diameters = 1;    // a stub this long holds the bore's axis, a shorter one its face (opinion)
constexpr double kFromEnd_mm = 1;        // where a long stub is taken to bear
constexpr double kShoulder_mm = 10;      // length of the shoulder before the chuck

constexpr double kTurnStub_min = 8;      // the stub itself, opinion
constexpr double kCollar_mm = 8;         // of an expanding mandrel's collar over its bore, on the diameter (opinion)

bool Expands(const HoldingDevice& mandrel) { return mandrel.jaw_reach_mm > 0; }

struct Stub {
  FeatureId bore;
  double diameter_mm = 0;
  FeatureId face;        // that sits on the shoulder
  double seat = 0;       // along up_P
  double end = 0;        // along up_P
  double shoulder_mm = 0;
  double edges_mm = 0;   // of the length on the stub, that broken edges of the bore take
};

// The widest bore right through on the turning axis that the device takes.
const Feature* FindBore(const PieceState& piece, const HoldingDevice& mandrel) {
  const Feature* best = nullptr;
  double widest = 0;
  for (const FeatureId& id : piece.made) {
    const Feature& f = CutOf(piece, id);
    const auto* hole = std::get_if<Hole>(&f.shape);
    if (hole == nullptr || !hole->through || hole->thread || !IsTurned(*piece.part, f)) continue;
    const double d = hole->diameter.middle_mm();
    if (d < mandrel.grip_min_mm || d > mandrel.grip_max_mm || d <= widest) continue;
    widest = d;
    best = &f;
  }
  return best;
}

double SlimmestRim(const SetupSketch& sketch, const PieceState& piece, double seat) {
  double rim = 1e9;
  const Axis3& axis = piece.part->turning_axis_P;
  for (const Band& b : piece.bands) {
    const double p = sketch.up_P.dot(axis.point_mm + axis.direction * b.from_mm);
    const double q = sketch.up_P.dot(axis.point_mm + axis.direction * b.to_mm);
    if (std::min(p, q) < seat + 1e-6) rim = std::min(rim, b.diameter_mm);
  }
  for (const FeatureId& id : sketch.cuts) {
    if (const auto* outer = std::get_if<OuterDiameter>(&CutOf(piece, id).shape)) rim = std::min(rim, outer->diameter.middle_mm());
  }
  return rim;
}

// What broken edges of a bore from `entry` to `exit` along up_P take of the length on the stub.
double EdgesOn(const PieceState& piece, const Stub& stub, double entry, double exit) {
  double taken = 0;
  for (const FeatureId& id : piece.made) {
    const auto* edge = std::get_if<RoundChamfer>(&CutOf(piece, id).shape);
    if (edge == nullptr || edge->on != stub.bore) continue;
    const double from = edge->at_start ? entry : exit;
    const double to = from + ((exit > entry) == edge->at_start ? 1 : -1) * edge->axial_mm;
    taken += std::max(0.0, std::min(std::max(from, to), stub.end) - std::max(std::min(from, to), stub.seat));
  }
  return taken;
}

Result<Stub> FindStub(const SetupSketch& sketch, const PieceState& piece, const HoldingDevice& mandrel) {
  const Feature* bore = FindBore(piece, mandrel);
  const auto face = FinishedFace(piece, -sketch.up_P);
  if (bore == nullptr || !face) {
    return NoHold(fmt::format("{} has no finished bore and face to go on a mandrel", sketch.part.text()), "hold it in a chuck");
  }
  Stub stub;
  stub.bore = bore->name;
  stub.face = *face;
  stub.diameter_mm = std::get<Hole>(bore->shape).diameter.middle_mm();
  stub.seat = ExtentOf(piece, sketch.up_P).first;
  const auto& hole = std::get<Hole>(bore->shape);
  const double a = sketch.up_P.dot(hole.entries_P_mm.front());
  const double b = a + sketch.up_P.dot(hole.into_P) * hole.depth_mm;
  stub.end = std::min(TopAfterCuts(sketch, piece), std::max(a, b)) - kBelowFace_mm;
  for (const FeatureId& id : sketch.cuts) {  // the tool that breaks the bore's edge runs out below it
    const auto* edge = std::get_if<RoundChamfer>(&CutOf(piece, id).shape);
    if (edge == nullptr || edge->on != stub.bore) continue;
    const double from = edge->at_start ? a : b;
    if (from > stub.end) stub.end = std::min(stub.end, from - edge->axial_mm - kBelowFace_mm);
  }
  for (const FeatureId& id : piece.made) {  // a cone in the bore's mouth holds nothing
    const auto* cone = std::get_if<Taper>(&CutOf(piece, id).shape);
    if (cone == nullptr || !cone->internal) continue;
    const double p = sketch.up_P.dot(cone->axis_P.point_mm + cone->axis_P.direction * cone->from_mm);
    const double q = sketch.up_P.dot(cone->axis_P.point_mm + cone->axis_P.direction * cone->to_mm);
    if (std::max(p, q) > stub.end) stub.end = std::min(stub.end, std::min(p, q));
    if (std::min(p, q) < stub.seat + kDrawnAlike_mm) return NoHold(fmt::format("the cone in {} leaves a mandrel no seat", stub.bore.text()), "hold it in a chuck");
  }
  stub.edges_mm = EdgesOn(piece, stub, a, b);
  stub.shoulder_mm = SlimmestRim(sketch, piece, stub.seat) - kShoulderRoom_mm;
  if (Expands(mandrel)) {
    stub.end = std::min(stub.end, stub.seat + mandrel.jaw_reach_mm);
    stub.shoulder_mm = std::min(stub.shoulder_mm, stub.diameter_mm + kCollar_mm);
    if (stub.end - stub.seat - stub.edges_mm < kLong_diameters * stub.diameter_mm) {
      return NoHold(fmt::format("{} bears on {:.0f} mm of the {} only, less than its bore is wide", sketch.part.text(), stub.end - stub.seat, mandrel.words),
                    "turn a stub with a shoulder for it");
    }
  }
  if (stub.end - stub.seat - stub.edges_mm < kLeastOnStub_mm || stub.shoulder_mm < stub.diameter_mm + 2 * kShoulderWidth_mm) {
    return NoHold(fmt::format("{} is too short or too thin for a mandrel in {}", sketch.part.text(), stub.bore.text()),
                  "leave it as parted, or turn it with its mate");
  }
  return stub;
}

void AddSolids(Setup& setup, const Stub& stub, double z0, const HoldingDevice& mandrel) {
  const auto solid = [&](FixtureRole role, double from, double to, double outer, double inner) {
    FixtureCylinder ring;
    ring.from_mm = from;
    ring.to_mm = to;
    ring.outer_mm = outer;
    ring.inner_mm = inner;
    FixtureSolid made;
    made.role = role;
    made.shape = ring;
    return made;
  };
  const double seat = stub.seat - z0;
  FixtureSolid peg = solid(FixtureRole::kMandrel, seat, stub.end - z0, stub.diameter_mm, 0);
  peg.grips = true;
  FixtureSolid shoulder = solid(FixtureRole::kMandrel, seat - kShoulder_mm, seat, stub.shoulder_mm, 0);
  shoulder.supports = true;
  setup.fixtures = {peg, shoulder,
                    solid(FixtureRole::kChuckBody, seat - kShoulder_mm - mandrel.body_length_mm, seat - kShoulder_mm,
                          std::max(mandrel.body_diameter_mm, stub.shoulder_mm), 0)};
}

void AddContacts(Setup& setup, const PieceState& piece, const Stub& stub, const Pose& X_PS, double z0) {
  const auto add = [&](ContactKind kind, const FeatureId& on, const Vec3& p_S, const Vec3& n_S) {
    Contact contact;
    contact.kind = kind;
    contact.surface = {piece.part->name, on};
    contact.point_P_mm = X_PS * p_S;
    contact.normal_P = X_PS.linear() * n_S;
    setup.contacts.push_back(contact);
  };
  const double z = stub.seat - z0;
  const double r = 0.25 * (stub.diameter_mm + stub.shoulder_mm);
  const auto round = [&](double height) {
    add(ContactKind::kMandrel, stub.bore, {0.5 * stub.diameter_mm, 0, height}, Vec3::UnitX());
    add(ContactKind::kMandrel, stub.bore, {0, 0.5 * stub.diameter_mm, height}, Vec3::UnitY());
  };
  if (stub.end - stub.seat >= kLong_diameters * stub.diameter_mm) {
    round(stub.seat - z0 + kFromEnd_mm);
    round(stub.end - z0 - kFromEnd_mm);
    add(ContactKind::kStop, stub.face, {0, r, z}, Vec3::UnitZ());
    return;
  }
  for (int i = 0; i < 3; ++i) {
    const double a = kPi / 2 + i * 2 * kPi / 3;
    add(ContactKind::kChuckFace, stub.face, {r * std::cos(a), r * std::sin(a), z}, Vec3::UnitZ());
  }
  round(0.5 * (stub.seat + stub.end) - z0);
}

}  // namespace

Result<HeldPiece> HoldOnMandrel(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine,
                                const HoldingDevice& mandrel, const Shop& shop) {
  if (piece.bands.empty() || machine.kind != MachineToolKind::kLathe) {
    return NoHold(fmt::format("{} is not round", sketch.part.text()), "hold it in the vise");
  }
  const Result<Stub> found = FindStub(sketch, piece, mandrel);
  if (!found) return Unexpected(found.error());
  const Stub& stub = *found;
  const Pose X_PS = TurningFrame(sketch, piece);
  const double z0 = sketch.up_P.dot(X_PS.translation());
  HeldPiece held;
  Setup& setup = held.setup;
  setup.parts.push_back({sketch.part, X_PS, true});
  AddSolids(setup, stub, z0, mandrel);
  AddContacts(setup, piece, stub, X_PS, z0);
  setup.zero.x_from = setup.zero.y_from = {sketch.part, stub.bore};
  setup.zero.z_from = {sketch.part, stub.face};
  setup.zero.point_P_mm = X_PS.translation();
  SayLatheZero(piece, sketch.cuts, setup.zero);
  if (Expands(mandrel)) {
    setup.zero.witness = fmt::format("touch the collar before the work goes on: it reads Z {:.3f}.", machine.z_sense * (stub.seat - z0));
    setup.opening_mm = stub.diameter_mm;
    setup.grip_depth_mm = stub.end - stub.seat - stub.edges_mm;
    setup.hold_words = fmt::format("{}: its sleeve {:.1f} mm deep in {} ({:.3f} mm), clean and dry, {} against the collar; drawn up until it holds and no "
                                   "further, a thin wall follows the sleeve.",
                                   mandrel.words, setup.grip_depth_mm, stub.bore.text(), stub.diameter_mm, stub.face.text());
    setup.cautions.push_back("Light cuts: the work slips on the sleeve.");
    held.seat_min = shop.times.seat_in_chuck;
    return held;
  }
  setup.zero.witness = fmt::format("touch the shoulder before the work goes on: it reads Z {:.3f}.", machine.z_sense * (stub.seat - z0));
  setup.opening_mm = stub.diameter_mm;
  setup.grip_depth_mm = stub.end - stub.seat - stub.edges_mm;
  setup.hold_words = fmt::format("A stub of scrap bar in the chuck, turned in place to a push fit in {} ({:.3f} mm), {:.1f} mm long, with its "
                                 "shoulder faced; do not take it out of the chuck before this page is done. {} goes against the shoulder, "
                                 "a drop of retaining compound holds it; warm it to get it off.",
                                 stub.bore.text(), stub.diameter_mm, stub.end - stub.seat, stub.face.text());
  setup.cautions.push_back("Light cuts: the work slips on the stub.");
  held.seat_min = shop.times.seat_in_chuck + kTurnStub_min;
  held.clearance_below_mm = 0;
  return held;
}

}  // namespace fitwright::planner
