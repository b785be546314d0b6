// Work on centres: one in the end of a bar that a chuck holds by the other, or both.
#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/base/check.h"
#include "fitwright/planner/holding_internal.h"
#include "fitwright/planner/tool_choice.h"
#include "fitwright/trade/cutting.h"

namespace fitwright::planner {
namespace {

constexpr double kPointOut_mm = 16;  // of the centre's point before its body, room for the tool (opinion)
constexpr double kAboveCone_mm = 0.3;
constexpr double kBringUp_min = 3;   // oil, bring it up, lock the quill (opinion)

FixtureSolid Round(double from_mm, double to_mm, double outer_mm) {
  FixtureCylinder round;
  round.from_mm = from_mm;
  round.to_mm = to_mm;
  round.outer_mm = outer_mm;
  FixtureSolid solid;
  solid.role = FixtureRole::kTailstock;
  solid.shape = round;
  return solid;
}

// How far a centre's point stands in a hole by this drill before the drill's own cone.
double PointIn_mm(const Tool& drill) {
  return CentreDepth_mm(drill) - trade::DrillPointLength_mm(drill.diameter_mm, trade::kUsualDrillPoint_deg) - kAboveCone_mm;
}

// Bands as distances along up_P.
std::vector<Band> Along(const PieceState& piece, const Vec3& up_P) {
  std::vector<Band> bands;
  const Axis3& axis = piece.part->turning_axis_P;
  for (Band band : piece.bands) {
    const double a = up_P.dot(axis.point_mm + axis.direction * band.from_mm);
    const double b = up_P.dot(axis.point_mm + axis.direction * band.to_mm);
    band.from_mm = std::min(a, b);
    band.to_mm = std::max(a, b);
    bands.push_back(band);
  }
  return bands;
}

// The one diameter that the dog closes on; nothing where there are two.
std::optional<double> DogDiameter_mm(const std::vector<Band>& bands, double from, double to) {
  std::optional<double> diameter;
  for (const Band& band : bands) {
    if (band.to_mm < from + 1e-6 || band.from_mm > to - 1e-6) continue;
    if (diameter && std::abs(*diameter - band.diameter_mm) > 1e-6) return std::nullopt;
    diameter = band.diameter_mm;
  }
  return diameter;
}

// Where the outsides that the sketch turns begin.
double LowestOutside(const SetupSketch& sketch, const PieceState& piece) {
  double lowest = 1e9;
  for (const FeatureId& id : sketch.cuts) {
    const auto& shape = CutOf(piece, id).shape;
    const auto span = [&](const Axis3& axis, double from, double to) {
      lowest = std::min({lowest, sketch.up_P.dot(axis.point_mm + axis.direction * from), sketch.up_P.dot(axis.point_mm + axis.direction * to)});
    };
    if (const auto* o = std::get_if<OuterDiameter>(&shape)) span(o->axis_P, o->from_mm, o->to_mm);
    if (const auto* g = std::get_if<Groove>(&shape)) span(g->axis_P, g->from_mm, g->to_mm);
    if (const auto* t = std::get_if<Taper>(&shape)) span(t->axis_P, t->from_mm, t->to_mm);
  }
  return lowest;
}

FixtureSolid DogRing(double from, double to, double diameter) {
  constexpr double kWall_mm = 12;
  FixtureSolid dog = Round(from, to, diameter + 2 * kWall_mm);
  std::get<FixtureCylinder>(dog.shape).inner_mm = diameter;
  dog.role = FixtureRole::kChuckJaw;
  dog.grips = true;
  return dog;
}

// The longest outside that was turned between the centres before: its axis is theirs.
std::optional<Band> TurnedBefore(const std::vector<Band>& bands) {
  std::optional<Band> longest;
  for (const Band& band : bands) {
    if (band.feature && (!longest || band.to_mm - band.from_mm > longest->to_mm - longest->from_mm)) longest = band;
  }
  return longest;
}

void AddContactsOnCentres(Setup& setup, const PieceState& piece, const std::optional<Band>& turned, double top, double bottom, double z0) {
  const Pose& X_PS = setup.parts.front().X_PS;
  const auto add = [&](ContactKind kind, const std::optional<FeatureId>& on, const Vec3& p_S, const Vec3& n_S) {
    Contact contact;
    contact.kind = on ? kind : ContactKind::kRough;
    contact.surface = {piece.part->name, on.value_or(FeatureId{})};
    contact.point_P_mm = X_PS * p_S;
    contact.normal_P = X_PS.linear() * n_S;
    setup.contacts.push_back(contact);
  };
  constexpr double kFromEdge_mm = 1;
  const double high = turned ? turned->to_mm - kFromEdge_mm : top;
  const double low = turned ? turned->from_mm + kFromEdge_mm : bottom;
  const double r = turned ? turned->diameter_mm / 2 : 0;
  const auto on = turned ? turned->feature : std::nullopt;
  for (const double z : {high - z0, low - z0}) {
    add(ContactKind::kChuckGrip, on, {-r, 0, z}, Vec3::UnitX());
    add(ContactKind::kChuckGrip, on, {0, -r, z}, Vec3::UnitY());
  }
  add(ContactKind::kStop, std::nullopt, {0, 0, bottom - z0}, Vec3::UnitZ());
}

void AddTailstock(Setup& setup, const HoldingDevice& centre, const Tool& drill) {
  FixtureSolid point = Round(-PointIn_mm(drill), kPointOut_mm, drill.diameter_mm);
  point.supports = true;
  setup.fixtures.push_back(point);
  setup.fixtures.push_back(Round(kPointOut_mm, kPointOut_mm + centre.body_length_mm, centre.body_diameter_mm));
}

// How far the tailstock goes over for the cone that the sketch turns: the piece's whole length times the rise of
// its side, to the operator where it is thin at the tailstock; the length is that of the leaning axis.
double SetOver_mm(const SetupSketch& sketch, const PieceState& piece, double length_mm) {
  for (const FeatureId& id : sketch.cuts) {
    const auto* cone = std::get_if<Taper>(&CutOf(piece, id).shape);
    if (cone == nullptr) continue;
    const double rise = 0.5 * (cone->end_diameter.middle_mm() - cone->start_diameter.middle_mm()) / (cone->to_mm - cone->from_mm);
    const double outward = sketch.up_P.dot(cone->axis_P.direction);
    return -outward * length_mm * std::sin(std::atan(rise));
  }
  return 0;
}

void SaySetOver(Setup& setup, double length_mm) {
  const double over = setup.tailstock_over_mm;
  setup.hold_words += fmt::format(" The tailstock set over {:.2f} mm {} you, for a piece {:.1f} mm long over its ends.", std::abs(over),
                                  over > 0 ? "towards" : "away from", length_mm);
  setup.zero.witness = fmt::format("an indicator on the tailstock's quill reads {:.2f} mm between straight and set over.", std::abs(over));
  setup.leave_it_in.push_back("Bring the tailstock back over the spindle afterwards: a trial cut between centres, miked at both ends.");
  setup.reasons.push_back("The cone is longer than the top slide travels: with the tailstock set over the carriage cuts it in one feed.");
}

constexpr double kSetOver_min = 12;  // and back again, with trial cuts (opinion)

}  // namespace

// The point stands for the cone: as thick as the pilot that the centre drill made, whose wall it touches.
void AddCentre(HeldPiece& held, const SetupSketch& sketch, const Shop& shop) {
  const HoldingDevice* centre = shop.Find(*sketch.support);
  const Tool* drill = shop.Find(*sketch.centre);
  FW_CHECK(centre != nullptr && drill != nullptr, sketch.part.text());
  AddTailstock(held.setup, *centre, *drill);
  held.setup.hold_words += fmt::format(" Its end on the {}: oil in the centre, the quill short and locked, brought up until it turns "
                                       "with the work and no harder; look again when the bar has warmed.",
                                       centre->words);
  held.setup.zero.routine = "z is 0 at the end as it stands now; x from a trial cut, measured.";
  held.setup.reasons.push_back("So far out of the jaws the bar would spring from the tool: the centre carries its end. Set the tailstock "
                               "over the spindle first: mike the trial cut at both ends, they must read alike.");
  held.seat_min += kBringUp_min;
}

Result<HeldPiece> HoldBetweenCentres(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine,
                                     const HoldingDevice& plate, const Shop& shop) {
  const auto refuse = [&](const std::string& why) {
    return NoHold(fmt::format("{} does not go between centres: {}", sketch.part.text(), why), "hold it in the chuck");
  };
  if (piece.bands.empty() || !sketch.support || !sketch.centre) return refuse("it has no centres in its ends");
  const HoldingDevice* centre = shop.Find(*sketch.support);
  const Tool* drill = shop.Find(*sketch.centre);
  FW_CHECK(centre != nullptr && drill != nullptr, sketch.part.text());
  const auto [bottom, top] = ExtentOf(piece, sketch.up_P);
  const double over = sketch.set_over ? SetOver_mm(sketch, piece, top - bottom) : 0;
  if (std::abs(over) > machine.tailstock_over_mm) {
    return refuse(fmt::format("its cone wants the tailstock {:.1f} mm over, {} moves {:.1f}", std::abs(over), machine.words, machine.tailstock_over_mm));
  }
  const std::vector<Band> bands = Along(piece, sketch.up_P);
  const double dog_from = bottom + kDogFromEnd_mm;
  const auto diameter = DogDiameter_mm(bands, dog_from, dog_from + kDog_mm);
  if (!diameter) return refuse("the dog finds no even land at its end");
  if (LowestOutside(sketch, piece) < dog_from + kDog_mm + kDogFromEnd_mm - 1e-6) return refuse("the dog stands where it is to be turned");
  if (top - bottom > kMostBetweenCentres_diameters * *diameter) {
    return refuse(fmt::format("{:.1f} diameters long, it would spring from the tool", (top - bottom) / *diameter));
  }
  if (machine.between_centres_mm > 0 && top - bottom > machine.between_centres_mm) return refuse("it is longer than the lathe takes");
  HeldPiece held;
  Setup& setup = held.setup;
  const Pose X_PS = TurningFrame(sketch, piece);
  const double z0 = sketch.up_P.dot(X_PS.translation());
  setup.parts.push_back({sketch.part, X_PS, true});
  setup.fixtures.push_back(DogRing(dog_from - z0, dog_from + kDog_mm - z0, *diameter));
  const double end = bottom - z0;
  FixtureSolid point = Round(end - kPointOut_mm, end + PointIn_mm(*drill), drill->diameter_mm);
  point.role = FixtureRole::kSpindleNose;
  point.supports = true;
  setup.fixtures.push_back(point);
  FixtureSolid driver = Round(end - kPointOut_mm - plate.body_length_mm, end - kPointOut_mm, plate.body_diameter_mm);
  driver.role = FixtureRole::kFaceplate;
  setup.fixtures.push_back(driver);
  AddTailstock(setup, *centre, *drill);
  const auto turned = TurnedBefore(bands);
  AddContactsOnCentres(setup, piece, turned, top, bottom, z0);
  setup.zero.x_from = setup.zero.y_from = {sketch.part, turned ? *turned->feature : FeatureId{}};
  setup.zero.z_from = {sketch.part, FeatureId{}};
  setup.zero.point_P_mm = X_PS.translation();
  setup.zero.routine = "z is 0 at the end as it stands now; x from a trial cut, measured.";
  setup.zero.witness = "mike the trial cut at both ends: they read alike, or the tailstock is set over.";
  setup.opening_mm = *diameter;
  setup.grip_depth_mm = kDog_mm;
  setup.hold_words = fmt::format("Between centres: the chuck off, a centre in the spindle{}, the dog on the last {:.0f} mm {} with its tail in the {}; "
                                 "the {} brought up, oil in both centres.",
                                 turned ? "" : " that runs true by the indicator", kDog_mm + kDogFromEnd_mm,
                                 turned ? "of the end below, soft packing under it," : "of the raw end", plate.words, centre->words);
  setup.cautions.push_back("Sleeves clear of the dog; turn a full turn by hand before the switch.");
  setup.reasons.push_back("Both ends are turned on the same two centres, so that they run true to each other however often it is turned round.");
  held.seat_min = shop.times.seat_in_chuck + kBringUp_min;
  if (over != 0) {
    setup.tailstock_over_mm = over;
    SaySetOver(setup, top - bottom);
    held.seat_min += kSetOver_min;
  }
  return held;
}

}  // namespace fitwright::planner
