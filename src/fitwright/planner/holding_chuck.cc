// Chucks and collets, on the lathe or standing on the mill table: turned pieces by a diameter, seated on
// a shoulder where one is finished.
#include <algorithm>
#include <array>
#include <cmath>

#include "fitwright/base/check.h"
#include "fitwright/planner/chuck_grip.h"
#include "fitwright/planner/clocking.h"
#include "fitwright/planner/holding_internal.h"
#include "fitwright/planner/holding_keyway.h"
#include "fitwright/planner/holding_words.h"
#include "fitwright/planner/process_common.h"

namespace fitwright::planner {
namespace {

constexpr double kNoSteps_mm = 12;    // jaws closed so far have no steps behind the work (opinion)
constexpr double kPacking_mm = 6;     // across packing pieces that carry a disc between its holes
constexpr double kLevelled_min = 5;   // stood on pieces, tapped until the needle stands still all round (opinion)
constexpr double kSoftJaws_min = 15;  // closed on a ring, bored, faced, tried (opinion)
constexpr double kStylusLand_mm = 2;  // of an outside above the jaws, for an indicator to go round
constexpr double kLeastCentredBore_mm = 4;  // a stylus goes round in it, opinion

FixtureSolid Ring(FixtureRole role, double from, double to, double outer, double inner) {
  FixtureSolid solid;
  solid.role = role;
  FixtureCylinder ring;
  ring.from_mm = from;
  ring.to_mm = to;
  ring.outer_mm = outer;
  ring.inner_mm = inner;
  solid.shape = ring;
  return solid;
}

// Directions about the axis in S that jaws keep off: of axial holes.
std::vector<double> HoleAngles(const SetupSketch& sketch, const PieceState& piece, const Pose& X_PS) {
  std::vector<double> angles;
  const Pose X_SP = X_PS.inverse();
  for (const Feature& feature : piece.part->features) {
    const auto* hole = std::get_if<Hole>(&feature.shape);
    if (hole == nullptr || std::abs(hole->into_P.dot(sketch.up_P)) < 1 - 1e-9) continue;
    for (const Vec3& p : hole->entries_P_mm) {
      const Vec3 s = X_SP * p;
      if (s.head<2>().norm() > hole->diameter.nominal_mm / 2) angles.push_back(std::atan2(s.y(), s.x()));
    }
  }
  return angles;
}

// The least turn between any of the directions and a jaw, three jaws with the first at `first`, rad.
double LeastGap(const std::vector<double>& angles, double first) {
  double gap = kPi;
  for (const double a : angles) {
    for (int jaw = 0; jaw < 3; ++jaw) gap = std::min(gap, std::abs(std::remainder(a - first - jaw * 2 * kPi / 3, 2 * kPi)));
  }
  return gap;
}

// Angle at which the first of three jaws clears the axial holes best, rad; with `shown` one that also leaves a
// gap between the jaws for a pin in what shows how the piece is turned.
double JawAngle(const SetupSketch& sketch, const PieceState& piece, const Pose& X_PS, bool shown) {
  constexpr double kMiddle_rad = 59 * kRadPerDeg;  // near half way between two jaws
  const std::vector<double> angles = HoleAngles(sketch, piece, X_PS);
  std::vector<double> sides;
  if (shown) {
    for (const Vec3& side : ClockSides(piece)) {
      const Vec3 side_S = X_PS.linear().transpose() * side;
      sides.push_back(std::atan2(side_S.y(), side_S.x()));
    }
  }
  double best = 0;
  double best_gap = -1;
  for (int i = 0; i < 120; ++i) {
    const double angle = i * kPi / 180;
    const bool leaves = sides.empty() || std::any_of(sides.begin(), sides.end(), [&](double side) { return LeastGap({side}, angle) >= kMiddle_rad; });
    const double gap = LeastGap(angles, angle);
    if (!leaves || gap <= best_gap + 1e-9) continue;
    best_gap = gap;
    best = angle;
  }
  return best;
}

FixtureSolid JawBox(double from_r, double to_r, double width, double low, double high, double angle) {
  FixtureSolid solid;
  solid.role = FixtureRole::kChuckJaw;
  FixtureBox box;
  box.box_F = {{from_r, -width / 2, low}, {to_r, width / 2, high}};
  box.X_SF = Pose(Eigen::AngleAxisd(angle, Vec3::UnitZ()));
  solid.shape = box;
  return solid;
}

// What hangs below the seated shoulder, and what comes out there about the axis, each with a little room.
double OpenBelow(const SetupSketch& sketch, const PieceState& piece, const Grip& grip) {
  double below = 0;
  for (const Band& band : BandsAlong(piece, sketch.up_P)) {
    if (band.to_mm < grip.band.from_mm + 1e-6) below = std::max(below, band.diameter_mm);
  }
  return std::max(below + 1, WidestThroughBore(sketch, piece) + 3);
}

// The land inside the jaws that the seated shoulder rests on.
double SeatBore(const SetupSketch& sketch, const PieceState& piece, const Grip& grip) {
  return std::max(0.5 * grip.band.diameter_mm, OpenBelow(sketch, piece, grip));
}

struct AxialHole {
  Vec2 at = Vec2::Zero();
  double radius_mm = 0;
};

std::vector<AxialHole> ThroughHoles(const SetupSketch& sketch, const PieceState& piece, const Pose& X_PS) {
  std::vector<AxialHole> holes;
  const Pose X_SP = X_PS.inverse();
  for (const FeatureId& id : sketch.cuts) {
    const auto* hole = std::get_if<Hole>(&CutOf(piece, id).shape);
    if (hole == nullptr || !hole->through) continue;
    for (const Vec3& p : hole->entries_P_mm) holes.push_back({(X_SP * p).head<2>(), hole->diameter.upper_mm / 2});
  }
  return holes;
}

// Whether what comes out below meets a jaw's seat: jaws of this width at `first` and every third of a turn.
bool MeetsJaws(const std::vector<AxialHole>& holes, double first, double seat_r, double width) {
  return std::any_of(holes.begin(), holes.end(), [&](const AxialHole& h) {
    for (int jaw = 0; jaw < 3; ++jaw) {
      const Vec2 u(std::cos(first + jaw * 2 * kPi / 3), std::sin(first + jaw * 2 * kPi / 3));
      const double along = u.dot(h.at);
      const double aside = std::abs(u.x() * h.at.y() - u.y() * h.at.x());
      if (along > seat_r - h.radius_mm && aside < width / 2 + h.radius_mm + 0.2) return true;
    }
    return false;
  });
}

// Three packing pieces under the rim, between the holes, about a third of a turn apart; empty when there
// is no room for them.
std::vector<Vec2> PackingPlaces(const std::vector<AxialHole>& holes, double rim_r, double least_r) {
  const double r = rim_r - kPacking_mm / 2 - 0.5;
  if (r - kPacking_mm / 2 < least_r) return {};
  std::vector<Vec2> places;
  for (int third = 0; third < 3; ++third) {
    std::optional<Vec2> best;
    for (int off = 0; off <= 50 && !best; ++off) {
      for (const int sign : {1, -1}) {
        const double angle = third * 2 * kPi / 3 + sign * off * kRadPerDeg;
        const Vec2 at(r * std::cos(angle), r * std::sin(angle));
        const bool clear = std::none_of(holes.begin(), holes.end(), [&](const AxialHole& h) {
          return (h.at - at).norm() < kPacking_mm / 2 + h.radius_mm + 1;
        });
        if (clear && !best) best = at;
      }
    }
    if (!best) return {};
    places.push_back(*best);
  }
  return places;
}

FixtureSolid PackingPiece(const Vec2& at, double root, double seat) {
  FixtureSolid solid = Ring(FixtureRole::kParallel, root, seat, kPacking_mm, 0);
  std::get<FixtureCylinder>(solid.shape).axis_S.point_mm = Vec3(at.x(), at.y(), 0);
  solid.supports = true;
  return solid;
}

// A turning chuck's jaws sweep a ring; a chuck on the mill table has three jaws that stand still.
void AddChuckSolids(Setup& setup, const SetupSketch& sketch, const PieceState& piece, const Grip& grip,
                    double z0, const MachineTool& machine, const HoldingDevice& chuck, bool shown) {
  const double end = grip.jaw_end - z0;
  const double root = grip.jaw_root - z0;
  const double seat = grip.seat - z0;
  const double d = grip.band.diameter_mm;
  const double outer = std::max(chuck.body_diameter_mm, d + 20);
  const double seat_bore = SeatBore(sketch, piece, grip);
  const bool has_seat = grip.seat_face && seat > root + 0.1 && seat_bore < d - 1;
  const auto grips = [](FixtureSolid solid) {
    solid.grips = true;
    return solid;
  };
  const auto supports = [](FixtureSolid solid) {
    solid.supports = true;
    return solid;
  };
  if (machine.kind == MachineToolKind::kLathe) {
    setup.fixtures.push_back(grips(Ring(FixtureRole::kChuckJaw, root, end, outer, d)));
    if (has_seat) setup.fixtures.push_back(supports(Ring(FixtureRole::kChuckJaw, root, seat, d, seat_bore)));
  } else {
    const double first = JawAngle(sketch, piece, setup.parts.front().X_PS, shown);
    const std::vector<AxialHole> holes = ThroughHoles(sketch, piece, setup.parts.front().X_PS);
    std::vector<Vec2> packing;
    const bool meets = has_seat && MeetsJaws(holes, first, seat_bore / 2, chuck.jaw_step_mm);
    if (meets) packing = PackingPlaces(holes, d / 2, OpenBelow(sketch, piece, grip) / 2);
    for (const Vec2& at : packing) setup.fixtures.push_back(PackingPiece(at, root, seat));
    for (int jaw = 0; jaw < 3; ++jaw) {
      const double angle = first + jaw * 2 * kPi / 3;
      FixtureSolid solid = grips(JawBox(d / 2, outer / 2, chuck.jaw_step_mm, root, end, angle));
      solid.grip_normal_S = Vec3(-std::cos(angle), -std::sin(angle), 0);
      setup.fixtures.push_back(solid);
      if (has_seat && !meets) setup.fixtures.push_back(supports(JawBox(seat_bore / 2, d / 2, chuck.jaw_step_mm, root, seat, angle)));
    }
  }
  setup.fixtures.push_back(Ring(FixtureRole::kChuckBody, root - chuck.body_length_mm, root, outer, chuck.bore_mm));
}

struct Frame {
  Pose X_PS = Pose::Identity();
  double z0 = 0;  // along up_P
};

Frame MakeFrame(const SetupSketch& sketch, const PieceState& piece) {
  Frame frame;
  const Vec3 z = sketch.up_P;
  Vec3 x = KeywaySide(sketch, piece).value_or(std::abs(z.x()) < 0.9 ? Vec3::UnitX() : Vec3::UnitY());
  x = (x - z * z.dot(x)).normalized();
  Eigen::Matrix3d R_PS;
  R_PS.col(0) = x;
  R_PS.col(1) = z.cross(x);
  R_PS.col(2) = z;
  frame.X_PS.linear() = R_PS;
  frame.z0 = TopAfterCuts(sketch, piece);
  const Vec3 on_axis = piece.part->turning_axis_P.point_mm;
  frame.X_PS.translation() = on_axis + z * (frame.z0 - z.dot(on_axis));
  return frame;
}

// What broken edges at the ends of the gripped land take from the length that the jaws touch.
double EdgesIn(const PieceState& piece, const Grip& grip) {
  double taken = 0;
  if (!grip.band.feature) return taken;
  for (const FeatureId& id : piece.made) {
    const auto* chamfer = std::get_if<RoundChamfer>(&CutOf(piece, id).shape);
    if (chamfer != nullptr && chamfer->on == *grip.band.feature && grip.jaw_root < grip.from) taken = std::max(taken, chamfer->axial_mm);
  }
  return taken;
}

void AddContact(Setup& setup, const PieceState& piece, ContactKind kind, const std::optional<FeatureId>& on,
                const Pose& X_PS, const Vec3& p_S, const Vec3& n_S) {
  Contact contact;
  contact.kind = on || kind == ContactKind::kSetBySquare ? kind : ContactKind::kRough;
  contact.surface = {piece.part->name, on.value_or(FeatureId{})};
  contact.point_P_mm = X_PS * p_S;
  contact.normal_P = X_PS.linear() * n_S;
  setup.contacts.push_back(contact);
}

ContactKind GripContact(HoldingKind holding) {
  if (holding == HoldingKind::kFourJaw) return ContactKind::kOuterCentred;
  if (holding == HoldingKind::kCollet) return ContactKind::kCollet;
  return ContactKind::kChuckGrip;
}

// Along up_P: what a groove or a hole from the side takes out of an outside; nothing for the rest.
std::optional<std::pair<double, double>> TakenOut(const Feature& feature, const Vec3& up_P) {
  if (const auto* groove = std::get_if<Groove>(&feature.shape); groove != nullptr && !groove->internal) {
    const double p = up_P.dot(groove->axis_P.point_mm + groove->axis_P.direction * groove->from_mm);
    const double q = up_P.dot(groove->axis_P.point_mm + groove->axis_P.direction * groove->to_mm);
    return std::pair(std::min(p, q), std::max(p, q));
  }
  const auto* hole = std::get_if<Hole>(&feature.shape);
  if (hole == nullptr || std::abs(hole->into_P.dot(up_P)) > 0.5) return std::nullopt;
  const double middle = up_P.dot(hole->entries_P_mm.front());
  return std::pair(middle - 0.5 * hole->diameter.upper_mm, middle + 0.5 * hole->diameter.upper_mm);
}

// A height on the land, moved towards its middle out of what is cut there.
double OffGrooves(const PieceState& piece, const Vec3& up_P, double at, double middle) {
  constexpr double kBeside_mm = 0.1;
  for (const FeatureId& id : piece.made) {
    const auto taken = TakenOut(CutOf(piece, id), up_P);
    if (!taken || at <= taken->first - kBeside_mm || at >= taken->second + kBeside_mm) continue;
    at = at > middle ? taken->first - kBeside_mm : taken->second + kBeside_mm;
  }
  return at;
}

void AddContacts(Setup& setup, const SetupSketch& sketch, const PieceState& piece, const Grip& grip,
                 const Frame& frame, bool seated, const std::optional<Clock>& clock, bool needs_turn, bool in_steady) {
  const ContactKind kind = GripContact(sketch.holding);
  const double r = grip.band.diameter_mm / 2;
  const double high_end = std::min(grip.band.to_mm, grip.jaw_end);
  const double low_end = std::max({grip.band.from_mm, grip.from + EdgesIn(piece, grip), grip.jaw_root});
  const double middle = 0.5 * (high_end + low_end);
  const double top = OffGrooves(piece, sketch.up_P, high_end, middle) - frame.z0;
  const double low = OffGrooves(piece, sketch.up_P, low_end, middle) - frame.z0;
  const auto diameter_pair = [&](double z) {
    AddContact(setup, piece, kind, grip.band.feature, frame.X_PS, {-r, 0, z}, Vec3::UnitX());
    AddContact(setup, piece, kind, grip.band.feature, frame.X_PS, {0, -r, z}, Vec3::UnitY());
  };
  if (seated) {
    const double z = grip.seat - frame.z0;
    for (int i = 0; i < 3; ++i) {
      const double a = kPi / 2 + i * 2 * kPi / 3;
      AddContact(setup, piece, ContactKind::kChuckFace, grip.seat_face, frame.X_PS,
                 {0.9 * r * std::cos(a), 0.9 * r * std::sin(a), z}, Vec3::UnitZ());
    }
    diameter_pair(OffGrooves(piece, sketch.up_P, middle, low_end) - frame.z0);
  } else {
    diameter_pair(in_steady ? OffGrooves(piece, sketch.up_P, middle, low_end) - frame.z0 : top);
    if (!in_steady) diameter_pair(low);
    // A shoulder is a ring: the stop stands near its rim.
    const double stop_r = grip.seat_face ? 0.95 * r : 0;
    AddContact(setup, piece, ContactKind::kStop, grip.seat_face, frame.X_PS, {0, stop_r, grip.seat - frame.z0},
               Vec3::UnitZ());
  }
  if (clock) {
    AddContact(setup, piece, ContactKind::kSetBySquare, clock->feature, frame.X_PS, clock->point_S, clock->normal_S);
  } else if (needs_turn) {
    AddContact(setup, piece, ContactKind::kSetBySquare, std::nullopt, frame.X_PS, {r, 0, top}, Vec3::UnitY());
  }
}

// What the indicator goes round to bring the spindle over the axis.
struct CentredOn {
  FeatureId feature;
  double at = 0;  // along up_P
  double diameter_mm = 0;
  bool bore = false;
};

// A made bore about the axis that is open upwards, as the spindle finds it.
std::optional<CentredOn> BoreFromAbove(const SetupSketch& sketch, const PieceState& piece, const FeatureId& id) {
  constexpr double kIn_mm = 1.5;  // below the mouth
  const Feature& feature = CutOf(piece, id);
  const auto* hole = std::get_if<Hole>(&feature.shape);
  if (hole == nullptr || hole->thread || hole->diameter.middle_mm() < kLeastCentredBore_mm || !IsTurned(*piece.part, feature)) return std::nullopt;
  const double entry = sketch.up_P.dot(hole->entries_P_mm.front());
  const double end = entry + sketch.up_P.dot(hole->into_P) * hole->depth_mm;
  if (hole->into_P.dot(sketch.up_P) > 0 && !hole->through) return std::nullopt;
  return CentredOn{id, std::max(entry, end) - kIn_mm, hole->diameter.middle_mm(), true};
}

// The outside's longest land that an indicator gets round above the jaws; the gripped one first.
std::optional<CentredOn> OutsideAboveJaws(const SetupSketch& sketch, const PieceState& piece, const Grip& grip) {
  std::optional<CentredOn> best;
  double longest = kStylusLand_mm - 1e-6;
  for (const Band& band : BandsAlong(piece, sketch.up_P)) {
    if (!band.feature) continue;
    const double from = std::max(band.from_mm, grip.jaw_end);
    if (band.to_mm - from <= longest) continue;
    best = CentredOn{*band.feature, 0.5 * (from + band.to_mm), band.diameter_mm, false};
    if (*band.feature == grip.band.feature) break;
    longest = band.to_mm - from;
  }
  return best;
}

std::optional<CentredOn> CentreBy(const SetupSketch& sketch, const PieceState& piece, const Grip& grip) {
  if (sketch.zero == ZeroFrom::kBore && sketch.zero_on) return BoreFromAbove(sketch, piece, *sketch.zero_on);
  return OutsideAboveJaws(sketch, piece, grip);
}

constexpr double kCentredAgain_mm = 0.02;  // by an indicator, after the table was moved away and back (opinion)

void SayCentre(Setup& setup, const PieceState& piece, const Frame& frame, const CentredOn& centre) {
  const Vec3 at_S(0, 0, centre.at - frame.z0);
  const ContactKind kind = centre.bore ? ContactKind::kBoreCentred : ContactKind::kOuterCentred;
  AddContact(setup, piece, kind, centre.feature, frame.X_PS, at_S, Vec3::UnitX());
  AddContact(setup, piece, kind, centre.feature, frame.X_PS, at_S, Vec3::UnitY());
  setup.zero.x_from = setup.zero.y_from = {piece.part->name, centre.feature};
  setup.zero.routine = fmt::format("Centre the spindle on {} with the indicator, {}; set x and y to 0. z is 0 at the finished top.",
                                   centre.feature.text(),
                                   centre.bore ? fmt::format("its stylus down the {:g} mm bore", std::round(100 * centre.diameter_mm) / 100)
                                               : std::string("above the jaws, right round it"));
  setup.zero.witness = fmt::format("table moved away and back to x 0 and y 0, spindle turned right round by hand: the needle stands alike on {} within {:.2f} mm.",
                                   centre.feature.text(), kCentredAgain_mm);
}

// The chuck as it stands, turned so that what shows how the piece is turned stays between two jaws where it must.
std::optional<Clock> PutInChuck(Setup& setup, const SetupSketch& sketch, const PieceState& piece, const Grip& grip, const Frame& frame,
                                const MachineTool& machine, const HoldingDevice& chuck) {
  const bool on_mill = machine.kind != MachineToolKind::kLathe;
  std::optional<Clock> clock;
  for (const bool shown : {false, true}) {
    setup.fixtures.clear();
    AddChuckSolids(setup, sketch, piece, grip, frame.z0, machine, chuck, shown);
    if (!on_mill || IsAlikeAllRound(piece)) return std::nullopt;
    clock = FindClock(piece, frame.X_PS, setup.fixtures);
    if (clock) return clock;
  }
  return clock;
}

// Where the end runs in a steady, when the sketch asks for one.
Result<std::optional<SteadyPlace>> PlaceOfSteady(const SetupSketch& sketch, const PieceState& piece, const Shop& shop, const Grip& grip) {
  if (!IsSteady(sketch.support, shop)) return std::optional<SteadyPlace>();
  if (sketch.holding != HoldingKind::kThreeJaw && sketch.holding != HoldingKind::kCollet) {
    return NoHold(fmt::format("{} is not set true in that chuck and in a steady as well", sketch.part.text()), "a chuck that centres by itself");
  }
  const Result<SteadyPlace> place = FindSteadyPlace(sketch, piece, shop, grip.jaw_end, LowestOutsideCut(sketch, piece));
  if (!place) return Unexpected(place.error());
  return std::optional<SteadyPlace>(*place);
}

// What bare jaws would mark: a cut diameter, and a bar's own that something is to fit. Empty for the raw bar.
std::string FinishWords(const PieceState& piece, const Band& band) {
  const Feature* feature = band.feature ? piece.part->Find(*band.feature) : nullptr;
  if (feature == nullptr) return "";
  if (!IsAsSupplied(*feature)) return "finished";
  const auto* outer = std::get_if<OuterDiameter>(&feature->shape);
  return outer != nullptr && outer->diameter.origin != LimitsOrigin::kGeneralTolerance ? "ground" : "";
}

// Soft jaws are made to the piece where they stand, and are true only as long as they are not opened for another size.
std::string SoftJawWords(const Grip& grip) {
  return fmt::format(" Before that bore its soft jaws, closed on a ring or plug no wider than lets the tool by: {0} as measured and {1:.1f} mm deep, so that it just goes in, "
                     "the floor faced flat, its corner relieved. Mark which jaw stands where; once they are bored do not close them on anything else.",
                     NameWords(*grip.band.feature), grip.depth_mm());
}

// Where it is gripped and what it sits on.
std::string GripWords(const Setup& setup, const SetupSketch& sketch, const Grip& grip, const HoldingDevice& chuck, bool seated, bool on_mill) {
  const bool packed = std::any_of(setup.fixtures.begin(), setup.fixtures.end(),
                                  [](const FixtureSolid& f) { return f.role == FixtureRole::kParallel; });
  const std::string seat_words =
      chuck.soft_jaws ? "the floor bored in the jaws"
      : packed ? fmt::format("three packing pieces of one height, {:.0f} across, near the rim between the holes (a drill would meet the jaw "
                           "steps)", kPacking_mm)
      : !on_mill && setup.opening_mm < kNoSteps_mm
             ? "the end of a stop rod in the spindle (jaws closed so far have no steps)"
             : fmt::format("the jaws' steps; where these do not lie {:.0f} mm deep, or a jaw stands higher than its grip further out, on {}", grip.depth_mm(),
                           on_mill ? "three blocks of one height, one at each jaw" : "a ring behind it");
  return fmt::format("{}: by {}, {:.1f} mm in the {}{}.", chuck.words.empty() ? chuck.name.text() : chuck.words,
                     grip.band.feature ? grip.band.feature->text() : std::string("the raw bar"), setup.grip_depth_mm,
                     sketch.holding == HoldingKind::kCollet ? "collet" : "jaws",
                     seated ? fmt::format(", {} seated on {}", grip.seat_face->text(), seat_words) : "");
}

}  // namespace

std::vector<FeatureId> BoresFromAbove(const SetupSketch& sketch, const PieceState& piece) {
  std::vector<FeatureId> bores;
  for (const FeatureId& id : piece.made) {
    if (BoreFromAbove(sketch, piece, id)) bores.push_back(id);
  }
  return bores;
}

Pose TurningFrame(const SetupSketch& sketch, const PieceState& piece) { return MakeFrame(sketch, piece).X_PS; }

Result<HeldPiece> HoldInChuck(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine,
                              const HoldingDevice& chuck, const Shop& shop) {
  if (piece.bands.empty()) {
    return NoHold(fmt::format("{} is not round", sketch.part.text()), "hold it in the vise");
  }
  const Result<Grip> found = FindGrip(sketch, piece, machine, chuck);
  if (!found) return Unexpected(found.error());
  const Grip& grip = *found;
  if (chuck.soft_jaws && (!grip.band.feature || !grip.seat_face)) {
    return NoHold(fmt::format("soft jaws are bored to a finished outside and a finished face, and {} has none to offer", sketch.part.text()), "turn one end of it in hard jaws first");
  }
  const Result<std::optional<SteadyPlace>> steady = PlaceOfSteady(sketch, piece, shop, grip);
  if (!steady) return Unexpected(steady.error());
  const bool in_steady = steady->has_value();
  const double stick_out = StickOut_diameters(sketch, piece, grip, shop);
  if (!in_steady && machine.kind == MachineToolKind::kLathe && stick_out > (sketch.support ? kMostCentred_diameters : kMostStickOut_diameters)) {
    return NoHold(fmt::format("{} would be turned {:.1f} diameters out of the jaws {}", sketch.part.text(), stick_out,
                              sketch.support ? "on one centre" : "without support"),
                  sketch.support ? "turn it in two lengths, in a steady"
                                 : "turn it from both ends, or leave 7 mm more bar at its end for a centre");
  }
  const Frame frame = MakeFrame(sketch, piece);
  const bool seated = grip.seat_face && grip.seat > grip.jaw_root - 1e-6 && sketch.holding == HoldingKind::kThreeJawShort;
  const bool on_mill = machine.kind != MachineToolKind::kLathe;
  HeldPiece held;
  Setup& setup = held.setup;
  setup.parts.push_back({sketch.part, frame.X_PS, true});
  const auto clock = PutInChuck(setup, sketch, piece, grip, frame, machine, chuck);
  if (on_mill && !clock && !IsAlikeAllRound(piece)) return NoHold(CoveredWords(piece), "cut across the round before, or hold it so that it shows");
  const auto carries = [](const FixtureSolid& f) { return f.supports; };
  if (seated && on_mill && std::none_of(setup.fixtures.begin(), setup.fixtures.end(), carries)) {
    return NoHold(fmt::format("drills come out of {} on the jaws' steps, and between them there is no room for packing", sketch.part.text()),
                  "grip it by the diameter alone");
  }
  AddContacts(setup, sketch, piece, grip, frame, seated, clock, on_mill, in_steady);
  const PartId& part = piece.part->name;
  const FeatureId land = grip.band.feature.value_or(FeatureId{});
  setup.zero.x_from = setup.zero.y_from = {part, land};
  setup.zero.z_from = {part, FinishedFace(piece, sketch.up_P).value_or(FeatureId{})};
  setup.zero.point_P_mm = frame.X_PS.translation();
  if (on_mill) {
    const auto centre = CentreBy(sketch, piece, grip);
    if (!centre) {
      return NoHold(fmt::format("neither an outside nor a bore of {} stands clear of the jaws to centre the spindle by", sketch.part.text()),
                    "grip it lower, or bore it before");
    }
    SayCentre(setup, piece, frame, *centre);
  } else {
    SayLatheZero(piece, sketch.cuts, setup.zero);
  }
  setup.opening_mm = grip.band.diameter_mm;
  const double edge = EdgesIn(piece, grip);
  setup.grip_depth_mm = std::max(0.0, grip.depth_mm() - edge - GroovesIn(piece, sketch.up_P, grip, true, edge));
  setup.hold_words = GripWords(setup, sketch, grip, chuck, seated, on_mill);
  if (chuck.soft_jaws) setup.hold_words += SoftJawWords(grip);
  if (const std::string kind = FinishWords(piece, grip.band); !kind.empty() && !chuck.soft_jaws && sketch.holding != HoldingKind::kCollet) {
    setup.hold_words += fmt::format(" Soft packing between jaws and the {} diameter.", kind);
  }
  setup.hold_words += BarAdditions(setup, piece, !grip.band.feature && !on_mill);
  if (!seated && on_mill) setup.hold_words += " No face of it sits: stand it on three pieces of one height, 6 mm or more, one at each jaw, clear of the cuts.";
  if (seated || on_mill) setup.hold_words += TapDownWords(setup, piece, shop);
  if (on_mill) setup.hold_words += JawTurnWords(setup, !ThroughHoles(sketch, piece, frame.X_PS).empty());
  if (clock) setup.hold_words += ClockWords(piece, *clock, frame.X_PS, "chuck");
  if (in_steady) {
    AddSteady(held, **steady, piece, *shop.Find(*sketch.support));
  } else if (sketch.support) {
    AddCentre(held, sketch, shop);
  }
  held.clearance_below_mm = std::max(0.0, grip.seat - (grip.jaw_root - chuck.body_length_mm));
  if (HasThinLand(piece, sketch.up_P, grip)) {
    constexpr double kSplitRing_min = 4;  // bored, sawn through and put on (opinion)
    setup.hold_words += " The lands between its grooves are thin: a split ring of aluminium or card over all of the length in the jaws, closed "
                        "lightly, so that the jaws do not press them over.";
    held.seat_min += kSplitRing_min;
  }
  held.seat_min += sketch.holding == HoldingKind::kFourJaw ? shop.times.seat_in_four_jaw : shop.times.seat_in_chuck;
  if (chuck.soft_jaws) held.seat_min += kSoftJaws_min;
  if (on_mill) held.seat_min += shop.times.centre_bore;
  if (!seated && on_mill) held.seat_min += kLevelled_min;
  return SetForKeyway(std::move(held), sketch, piece, shop);
}

}  // namespace fitwright::planner
