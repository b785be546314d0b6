// V-blocks on the mill: round work lying down on a pair of them (or on one), each with its clamp
// over the top. They stand in the vise where one opens wide enough, else on the table itself.
#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

#include "fitwright/planner/clocking.h"
#include "fitwright/planner/directions.h"
#include "fitwright/planner/holding_internal.h"

namespace fitwright::planner {
namespace {

constexpr double kHalfVee_rad = std::numbers::pi / 4;  // a V of 90 degrees, common practice
constexpr double kBesideVee_mm = 8;      // of a block, beside the mouth of its V, opinion
constexpr double kClampLong_mm = 12;    // along the shaft, opinion
constexpr double kCutterRoom_mm = 12;   // what a cutter that runs out sweeps beyond its cut
constexpr double kClearOfBlock_mm = 2;  // between what comes out below and a block
constexpr double kLeastSeat_mm = 6;  // of each of two blocks; one alone needs a diameter, opinion
constexpr double kMostOverhang_diameters = 1.5;  // of a cut beyond the blocks, opinion
constexpr double kVeeWall_mm = 6;                   // drawn thickness of a V's wall
constexpr double kAnySpan_mm = 1e9;

// Along the shaft, in S.
struct Span {
  double from_mm = 0;
  double to_mm = 0;
  double length_mm() const { return to_mm - from_mm; }
};

Span Common(const Span& a, const Span& b) {
  return {std::max(a.from_mm, b.from_mm), std::min(a.to_mm, b.to_mm)};
}

struct Round {
  Span along;
  double diameter_mm = 0;
  std::optional<FeatureId> feature;
};

struct Cut {
  Span along;    // that a clamp keeps off
  Span through;  // that a block keeps off; empty where nothing comes out below
  double middle_mm = 0;
};

struct Stand {
  Span body;
  Span seat;            // where the shaft lies in it
  double clamp_mm = 0;  // middle of its clamp
};

struct VeeLayout {
  Pose X_PS = Pose::Identity();
  Vec3 axis_S = Vec3::Zero();  // a point of the shaft's axis
  Box3 box_S;
  double diameter_mm = 0;
  FeatureId outside;
  std::vector<Stand> blocks;
  double overhang_mm = 0;
};

Vec3 AlongAxis(const Part& part, double at_mm) {
  return part.turning_axis_P.point_mm + at_mm * part.turning_axis_P.direction;
}

// What broken edges leave of a round.
Span WithoutEdges(const PieceState& piece, const Band& band, Span along, const Pose& X_SP) {
  for (const FeatureId& id : piece.made) {
    const auto* edge = std::get_if<RoundChamfer>(&piece.part->Find(id)->shape);
    if (edge == nullptr || edge->on != band.feature) continue;
    const auto* outer = std::get_if<OuterDiameter>(&piece.part->Find(edge->on)->shape);
    if (outer == nullptr) continue;
    const double at = (X_SP * Vec3(outer->axis_P.point_mm + outer->axis_P.direction * (edge->at_start ? outer->from_mm : outer->to_mm))).x();
    if (std::abs(at - along.from_mm) < kDrawnAlike_mm) along.from_mm += edge->axial_mm;
    if (std::abs(at - along.to_mm) < kDrawnAlike_mm) along.to_mm -= edge->axial_mm;
  }
  return along;
}

std::vector<Round> RoundsOf(const PieceState& piece, const Pose& X_SP) {
  std::vector<Round> rounds;
  for (const Band& band : piece.bands) {
    const double a = (X_SP * AlongAxis(*piece.part, band.from_mm)).x();
    const double b = (X_SP * AlongAxis(*piece.part, band.to_mm)).x();
    rounds.push_back({WithoutEdges(piece, band, {std::min(a, b), std::max(a, b)}, X_SP), band.diameter_mm, band.feature});
  }
  return rounds;
}

// Nothing for a shape that is not cut from above on lying round work.
std::optional<Cut> CutAlong(const PieceState& piece, const Feature& feature, const Pose& X_SP) {
  Cut cut;
  const auto span = [&](const Vec3& a_P, const Vec3& b_P, double beyond) -> Span {
    const auto [lo, hi] = std::minmax<double>({(X_SP * a_P).x(), (X_SP * b_P).x()});
    return {lo - beyond, hi + beyond};
  };
  const auto on_axis = [&](const Axis3& axis, double from, double to) {
    return span(axis.point_mm + from * axis.direction, axis.point_mm + to * axis.direction,
                kCutterRoom_mm);
  };
  if (const auto* hole = std::get_if<Hole>(&feature.shape)) {
    const double r = hole->diameter.upper_mm / 2;
    cut.along = span(hole->entries_P_mm.front(), hole->entries_P_mm.front(), r);
    for (const Vec3& p : hole->entries_P_mm) {
      const Span one = span(p, p, r);
      cut.along = {std::min(cut.along.from_mm, one.from_mm), std::max(cut.along.to_mm, one.to_mm)};
    }
    if (hole->through)
      cut.through = {cut.along.from_mm - kClearOfBlock_mm, cut.along.to_mm + kClearOfBlock_mm};
  } else if (const auto* slot = std::get_if<Slot>(&feature.shape)) {
    const Vec3 half = slot->along_P * (slot->length_mm / 2 - slot->width.upper_mm / 2);
    cut.along = span(slot->centre_P_mm - half, slot->centre_P_mm + half, slot->width.upper_mm / 2);
    if (slot->through)
      cut.through = {cut.along.from_mm - kClearOfBlock_mm, cut.along.to_mm + kClearOfBlock_mm};
  } else if (const auto* flats = std::get_if<Flats>(&feature.shape)) {
    cut.along = on_axis(flats->axis_P, flats->from_mm, flats->to_mm);
  } else if (const auto* keyway = std::get_if<Keyway>(&feature.shape)) {
    cut.along = on_axis(keyway->axis_P, keyway->from_mm, keyway->to_mm);
  } else if (const auto* chamfer = std::get_if<RoundChamfer>(&feature.shape)) {
    const Feature* on = piece.part->Find(chamfer->on);
    if (on == nullptr || !std::holds_alternative<Hole>(on->shape)) return std::nullopt;
    cut = *CutAlong(piece, *on, X_SP);
    cut.along = {cut.along.from_mm - chamfer->radial_mm, cut.along.to_mm + chamfer->radial_mm};
    cut.through = {};
  } else {
    return std::nullopt;
  }
  cut.middle_mm = 0.5 * (cut.along.from_mm + cut.along.to_mm);
  return cut;
}

// Where the shaft lies in a block that stands at `body`: nothing where something larger is in the
// way or something would be drilled into it.
std::optional<Span> SeatIn(const Span& body, double diameter, const std::vector<Round>& rounds,
                           const std::vector<Cut>& cuts) {
  std::optional<Span> seat;
  for (const Round& r : rounds) {
    const Span shared = Common(body, r.along);
    if (shared.length_mm() <= kSame_mm) continue;
    if (r.diameter_mm > diameter + kSame_mm) return std::nullopt;
    const bool same = r.feature.has_value() && r.diameter_mm > diameter - kSame_mm;
    if (same && (!seat || shared.length_mm() > seat->length_mm())) seat = shared;
  }
  for (const Cut& cut : cuts) {
    if (cut.through.length_mm() > 0 && Common(cut.through, body).length_mm() > kSame_mm)
      return std::nullopt;
  }
  return seat;
}

// The middle of a clamp clear of the cuts, nearest to the seat's own middle and over it by enough.
std::optional<double> ClampOnVee(const Span& seat, const std::vector<Cut>& cuts) {
  constexpr double kLeastBite_mm = 4;
  const double middle = 0.5 * (seat.from_mm + seat.to_mm);
  const double most = 0.5 * (seat.length_mm() + kClampLong_mm) - kLeastBite_mm;
  for (double off = 0; off <= most + kSame_mm; off += 0.5) {
    for (const double at : {middle - off, middle + off}) {
      const Span clamp{at - kClampLong_mm / 2 - kKeepOff_mm, at + kClampLong_mm / 2 + kKeepOff_mm};
      const bool clear = std::none_of(cuts.begin(), cuts.end(), [&](const Cut& c) {
        return Common(c.along, clamp).length_mm() > kSame_mm;
      });
      if (clear) return at;
    }
  }
  return std::nullopt;
}

// Places worth a try for a block's left end: beside what comes out below, flush with a seat's ends,
// beside what is larger, about the middle of the cuts.
std::vector<double> Starts(double length, double diameter, const std::vector<Round>& rounds,
                           const std::vector<Cut>& cuts) {
  std::vector<double> starts;
  for (const Cut& cut : cuts) {
    if (cut.through.length_mm() > 0) {
      starts.push_back(cut.through.from_mm - length);
      starts.push_back(cut.through.to_mm);
    }
    starts.push_back(cut.middle_mm - length / 2);
  }
  for (const Round& r : rounds) {
    const bool larger = r.diameter_mm > diameter + kSame_mm;
    starts.push_back(larger ? r.along.from_mm - length : r.along.from_mm);
    starts.push_back(larger ? r.along.to_mm : r.along.to_mm - length);
  }
  std::sort(starts.begin(), starts.end());
  starts.erase(std::unique(starts.begin(), starts.end(),
                           [](double a, double b) { return b - a < kSame_mm; }),
               starts.end());
  return starts;
}

double Overhang_mm(const std::vector<Stand>& blocks, const std::vector<Cut>& cuts) {
  double most = 0;
  for (const Cut& cut : cuts) {
    most = std::max({most, blocks.front().seat.from_mm - cut.middle_mm,
                     cut.middle_mm - blocks.back().seat.to_mm});
  }
  return most;
}

// The longest seat on one or two blocks with the cuts no further out than need be.
std::optional<std::vector<Stand>> PlaceBlocks(double length, double most_span_mm, double diameter,
                                              const std::vector<Round>& rounds,
                                              const std::vector<Cut>& cuts) {
  std::vector<Stand> places;
  for (const double start : Starts(length, diameter, rounds, cuts)) {
    Stand block{{start, start + length}, {}, 0};
    const auto seat = SeatIn(block.body, diameter, rounds, cuts);
    if (!seat || seat->length_mm() < kLeastSeat_mm) continue;
    const auto clamp = ClampOnVee(*seat, cuts);
    if (!clamp) continue;
    block.seat = *seat;
    block.clamp_mm = *clamp;
    places.push_back(block);
  }
  std::optional<std::vector<Stand>> best;
  double best_score = 0;
  const auto consider = [&](const std::vector<Stand>& blocks) {
    double seat = 0;
    for (const Stand& b : blocks) seat += b.seat.length_mm();
    const double out = Overhang_mm(blocks, cuts);
    if (seat < diameter || out > kMostOverhang_diameters * diameter) return;
    if (blocks.back().body.to_mm - blocks.front().body.from_mm > most_span_mm) return;
    const double score = std::min(seat, 4 * diameter) - 2 * out;
    if (best && score <= best_score + kSame_mm) return;
    best = blocks;
    best_score = score;
  };
  for (const Stand& a : places) {
    consider({a});
    for (const Stand& b : places) {
      if (b.body.from_mm >= a.body.to_mm - kSame_mm) consider({a, b});
    }
  }
  return best;
}

Result<VeeLayout> LayOutVee(const SetupSketch& sketch, const PieceState& piece,
                            const HoldingDevice& vee, const HoldingDevice* vise) {
  const Part& part = *piece.part;
  VeeLayout layout;
  layout.X_PS.linear().col(0) = -sketch.jaw_P;
  layout.X_PS.linear().col(1) = sketch.up_P.cross(Vec3(-sketch.jaw_P));
  layout.X_PS.linear().col(2) = sketch.up_P;
  layout.box_S = BoxInSetup(piece, layout.X_PS);
  const Vec3 axis_S = layout.X_PS.inverse() * part.turning_axis_P.point_mm;
  const Vec3 origin_S(layout.box_S.min_mm.x(), axis_S.y(), layout.box_S.max_mm.z());
  layout.X_PS.translation() = layout.X_PS.linear() * origin_S;
  layout.box_S = BoxInSetup(piece, layout.X_PS);
  const Pose X_SP = layout.X_PS.inverse();
  layout.axis_S = X_SP * part.turning_axis_P.point_mm;
  std::vector<Cut> cuts;
  for (const FeatureId& id : sketch.cuts) {
    const auto cut = CutAlong(piece, CutOf(piece, id), X_SP);
    if (!cut)
      return NoHold(fmt::format("{} is not cut on round work lying in V-blocks", id.text()),
                    "the chuck");
    cuts.push_back(*cut);
  }
  const std::vector<Round> rounds = RoundsOf(piece, X_SP);
  std::vector<Round> seats = rounds;
  std::erase_if(seats, [&](const Round& r) {
    return !r.feature || r.diameter_mm < vee.grip_min_mm - kSame_mm ||
           r.diameter_mm > vee.grip_max_mm + kSame_mm;
  });
  std::stable_sort(seats.begin(), seats.end(), [](const Round& a, const Round& b) {
    return a.along.length_mm() > b.along.length_mm();
  });
  // In the vise at least half of each block stands between the jaws.
  const double most_span_mm = vise == nullptr ? kAnySpan_mm : vise->jaw_width_mm + vee.jaw_width_mm;
  for (const Round& seat : seats) {
    if (part.Find(*seat.feature)->do_not_grip && seats.size() > 1) continue;
    const auto blocks = PlaceBlocks(vee.jaw_width_mm, most_span_mm, seat.diameter_mm, rounds, cuts);
    if (!blocks) continue;
    layout.diameter_mm = seat.diameter_mm;
    layout.outside = *seat.feature;
    layout.blocks = *blocks;
    layout.overhang_mm = Overhang_mm(*blocks, cuts);
    return layout;
  }
  return NoHold(fmt::format("no outside of {} is long enough for V-blocks clear of the cuts",
                            sketch.part.text()),
                "hold it by its ends in the vise");
}

// Heights of a block, from the shaft's axis down.
struct VeeHeights {
  double apex_mm = 0;   // bottom of the V
  double mouth_mm = 0;  // top of the block
  double base_mm = 0;
};

VeeHeights HeightsOf(const HoldingDevice& vee, double diameter) {
  VeeHeights h;
  h.apex_mm = diameter / 2 / std::sin(kHalfVee_rad);
  const double deep = (vee.jaw_thickness_mm / 2 - kBesideVee_mm) / std::tan(kHalfVee_rad);
  h.mouth_mm = h.apex_mm - deep;
  h.base_mm = h.mouth_mm + vee.jaw_height_mm;
  return h;
}

// The wall of the V on the side of +-y: a slab whose face touches the round.
FixtureSolid Wall(const VeeLayout& layout, const HoldingDevice& vee, const Stand& block,
                  double side) {
  const double c = std::cos(kHalfVee_rad);
  const double s = std::sin(kHalfVee_rad);
  const Vec3 inward(0, -side * c, s);
  const Vec3 upward(0, side * s, c);
  const VeeHeights h = HeightsOf(vee, layout.diameter_mm);
  const Vec3 apex(0, layout.axis_S.y(), layout.axis_S.z() - h.apex_mm);
  Pose X_SF = Pose::Identity();
  X_SF.linear().col(0) = side * Vec3::UnitX();
  X_SF.linear().col(1) = upward;
  X_SF.linear().col(2) = inward;
  X_SF.translation() = apex;
  const double foot = vee.bore_mm / 2 / s;
  const double top = (h.apex_mm - h.mouth_mm) / c;
  const Vec3 a(side * block.body.from_mm, foot, -kVeeWall_mm);
  const Vec3 b(side * block.body.to_mm, top, 0);
  FixtureSolid wall;
  wall.role = FixtureRole::kBed;
  wall.shape = FixtureBox{{a.cwiseMin(b), a.cwiseMax(b)}, X_SF};
  wall.supports = true;
  wall.grip_normal_S = inward;
  return wall;
}

struct Footing {
  const HoldingDevice* vise = nullptr;
  double bed_S = 0;  // under the blocks
};

// The body under the walls, drawn as the block below the V and two shoulders.
void AddBody(std::vector<FixtureSolid>& solids, const VeeLayout& layout, const HoldingDevice& vee,
             const Stand& block, double bed) {
  const VeeHeights h = HeightsOf(vee, layout.diameter_mm);
  const double z = layout.axis_S.z();
  const double half = vee.jaw_thickness_mm / 2;
  const double y = layout.axis_S.y();
  const double below = z - h.apex_mm - std::hypot(kVeeWall_mm, kVeeWall_mm);
  solids.push_back(Block(FixtureRole::kBed, {block.body.from_mm, y - half, bed},
                         {block.body.to_mm, y + half, below}));
  for (const double side : {-1.0, 1.0}) {
    const double inner = y + side * (half - kBesideVee_mm);
    const double outer = y + side * half;
    solids.push_back(Block(FixtureRole::kBed, {block.body.from_mm, std::min(inner, outer), below},
                           {block.body.to_mm, std::max(inner, outer), z - h.mouth_mm}));
  }
}

void AddStand(Setup& setup, const VeeLayout& layout, const HoldingDevice& vee,
              const Footing& stand) {
  const double y = layout.axis_S.y();
  const double half = vee.jaw_thickness_mm / 2;
  const double x_mid = 0.5 * (layout.blocks.front().body.from_mm + layout.blocks.back().body.to_mm);
  double table = stand.bed_S;
  if (stand.vise != nullptr) {
    const HoldingDevice& vise = *stand.vise;
    const double x = vise.jaw_width_mm / 2;
    const double rear = vise.fixed_jaw_at_rear ? 1.0 : -1.0;
    table -= vise.bed_height_mm;
    for (const double side : {rear, -rear}) {
      const double near = y + side * half;
      const double far = near + side * vise.jaw_thickness_mm;
      setup.fixtures.push_back(
          Block(side == rear ? FixtureRole::kFixedJaw : FixtureRole::kMovingJaw,
                {x_mid - x, std::min(near, far), stand.bed_S},
                {x_mid + x, std::max(near, far), stand.bed_S + vise.jaw_height_mm}));
    }
    setup.fixtures.push_back(Block(FixtureRole::kBed,
                                   {x_mid - x, y - half - vise.jaw_thickness_mm, table},
                                   {x_mid + x, y + half + vise.jaw_thickness_mm, stand.bed_S}));
  }
  setup.fixtures.push_back(Block(FixtureRole::kTable, {x_mid - 250, y - 150, table - 30},
                                 {x_mid + 250, y + 150, table}));
}

void AddSolidsInVees(Setup& setup, const VeeLayout& layout, const HoldingDevice& vee,
               const Footing& stand) {
  const double top = layout.axis_S.z() + layout.diameter_mm / 2;
  const double half = vee.jaw_thickness_mm / 2;
  const double y = layout.axis_S.y();
  for (const Stand& block : layout.blocks) {
    for (const double side : {-1.0, 1.0}) setup.fixtures.push_back(Wall(layout, vee, block, side));
    AddBody(setup.fixtures, layout, vee, block, stand.bed_S);
    FixtureSolid clamp =
        Block(FixtureRole::kClamp, {block.clamp_mm - kClampLong_mm / 2, y - half, top},
              {block.clamp_mm + kClampLong_mm / 2, y + half, top + kClampThick_mm});
    clamp.grips = true;
    clamp.grip_normal_S = -Vec3::UnitZ();
    setup.fixtures.push_back(clamp);
  }
  AddStand(setup, layout, vee, stand);
}

void AddContactsInVees(Setup& setup, const VeeLayout& layout, const SetupSketch& sketch,
                 const PieceState& piece, const std::optional<Clock>& clock) {
  const double radius = layout.diameter_mm / 2;
  const Vec3& c = layout.axis_S;
  const ContactAdder add{setup, piece, layout.X_PS};
  for (const double x : {layout.blocks.front().seat.from_mm, layout.blocks.back().seat.to_mm}) {
    for (const double side : {-1.0, 1.0}) {
      const Vec3 n(0, -side * std::cos(kHalfVee_rad), std::sin(kHalfVee_rad));
      add.Add(ContactKind::kBed, layout.outside, Vec3(x, c.y(), c.z()) - radius * n, n);
    }
  }
  if (clock) {
    add.Add(ContactKind::kSetBySquare, clock->feature, clock->point_S, clock->normal_S);
  } else {
    add.Add(ContactKind::kSetBySquare, std::nullopt, {layout.box_S.centre_mm().x(), c.y(), c.z() + radius}, Vec3::UnitY());
  }
  const double x = layout.blocks.front().seat.from_mm;
  add.Add(ContactKind::kEdgeFound, FinishedFace(piece, sketch.jaw_P),
          {layout.box_S.min_mm.x(), c.y(), c.z()}, Vec3::UnitX());
  add.Add(ContactKind::kOuterCentred, layout.outside, {x, c.y(), c.z()}, Vec3::UnitY());
  add.Add(ContactKind::kTouchedOff, layout.outside, {x, c.y(), c.z() + radius}, -Vec3::UnitZ());
}

void SayHowInVees(Setup& setup, const VeeLayout& layout, const SetupSketch& sketch,
            const PieceState& piece, const Footing& stand, const std::optional<Clock>& clock) {
  const bool pair = layout.blocks.size() > 1;
  const double gap = pair ? layout.blocks[1].body.from_mm - layout.blocks[0].body.to_mm : 0;
  const std::string where =
      stand.vise != nullptr
          ? "in the vise, down on its bed, the V along the jaws"
          : "on the table, a straight edge trued in x behind it, clamped down by its foot";
  setup.hold_words = fmt::format(
      "{} {}{}. {} of the piece down in the V{}, a clamp over the top of {}, drawn tight evenly.",
      pair ? "V-blocks, the pair, both" : "One V-block", where,
      pair && gap > kSame_mm ? fmt::format(", {:.1f} mm between them", gap) : "",
      layout.outside.text(), pair ? "s" : "", pair ? "each" : "it");
  setup.hold_words +=
      fmt::format(" The left block begins {:.1f} mm from the end on your left hand.",
                  layout.blocks.front().body.from_mm);
  if (clock) setup.hold_words += ClockWords(piece, *clock, layout.X_PS, stand.vise != nullptr ? "jaws" : "table");
  const auto end = FinishedFace(piece, sketch.jaw_P);
  setup.zero.x_from = {piece.part->name, end.value_or(FeatureId{})};
  setup.zero.y_from = setup.zero.z_from = {piece.part->name, layout.outside};
}

void SayZeroInVees(Setup& setup, const VeeLayout& layout, const MachineTool& machine, double finder_mm) {
  const double radius = layout.diameter_mm / 2;
  setup.zero.routine = fmt::format(
      "Touch the outside on both sides with the {:.0f} mm edge finder, as low as the blocks let "
      "it: y is 0 half way, so {:.3f} mm at the side towards "
      "you. At the end on your left hand set x to {:.3f} mm. z: every tool touches the round on "
      "top, set 0 there{}.",
      finder_mm, machine.y_sense * -(radius + finder_mm / 2), machine.x_sense * -finder_mm / 2,
      layout.axis_S.z() + radius < -kSame_mm
          ? fmt::format(" (on {}: set {:.3f} mm)", layout.outside.text(),
                        machine.z_sense * (layout.axis_S.z() + radius))
          : "");
  setup.zero.witness = fmt::format(
      "over the far end the reading is {:.3f} in x; at the side away from you the finder reads "
      "{:.3f} in y.",
      machine.x_sense * layout.box_S.max_mm.x(), machine.y_sense * (radius + finder_mm / 2));
}

}  // namespace

HoldingDeviceId MountedDevice(const HoldingDeviceId& device, const Shop& shop) {
  const HoldingDevice* vee = shop.Find(device);
  if (vee == nullptr || vee->kind != HoldingDeviceKind::kVBlock) return device;
  for (const HoldingDevice& vise : shop.holding) {
    const bool takes = vise.kind == HoldingDeviceKind::kVise && vise.on == vee->on &&
                       vise.opening_mm >= vee->jaw_thickness_mm;
    if (takes && vise.jaw_height_mm < vee->jaw_height_mm) return vise.name;
  }
  return device;
}

Result<HeldPiece> HoldInVee(const SetupSketch& sketch, const PieceState& piece,
                            const MachineTool& machine, const HoldingDevice& vee,
                            const Shop& shop) {
  if (piece.bands.empty()) return NoHold("only round work lies in a V", "the vise");
  const double axial = std::abs(piece.part->turning_axis_P.direction.dot(sketch.up_P));
  if (axial > kSame_mm) return NoHold("round work lies level in a V", "the chuck");
  if (vee.jaw_width_mm <= 0 || vee.jaw_height_mm <= 0 || vee.jaw_thickness_mm <= 2 * kBesideVee_mm)
    return NoHold(fmt::format("the sizes of {} are not given", vee.name.text()),
                  "write jaw_width_mm, jaw_height_mm and jaw_thickness_mm in shop.toml");
  Footing stand;
  const HoldingDeviceId mounted = MountedDevice(vee.name, shop);
  if (mounted != vee.name) stand.vise = shop.Find(mounted);
  const Result<VeeLayout> layout = LayOutVee(sketch, piece, vee, stand.vise);
  if (!layout) return Unexpected(layout.error());
  const VeeHeights heights = HeightsOf(vee, layout->diameter_mm);
  stand.bed_S = layout->axis_S.z() - heights.base_mm;
  const double room = layout->box_S.min_mm.z() - stand.bed_S;
  if (room < RoomBelow_mm(sketch, piece, ExtentOf(piece, sketch.up_P).first))
    return NoHold("what comes out below reaches what the V-blocks stand on", "higher V-blocks");
  HeldPiece held;
  Setup& setup = held.setup;
  setup.parts.push_back({sketch.part, layout->X_PS, true});
  setup.zero.point_P_mm = layout->X_PS.translation();
  AddSolidsInVees(setup, *layout, vee, stand);
  const auto clock = FindClock(piece, layout->X_PS, setup.fixtures);
  if (!clock && !IsAlikeAllRound(piece)) return NoHold(CoveredWords(piece), "cut across the round before, or hold it so that it shows");
  AddContactsInVees(setup, *layout, sketch, piece, clock);
  SayHowInVees(setup, *layout, sketch, piece, stand, clock);
  SayZeroInVees(setup, *layout, machine, FinderDiameter_mm(shop));
  setup.opening_mm = layout->diameter_mm;
  held.clearance_below_mm = room;
  held.seat_min = shop.times.seat_in_vise * 2 + 3 * shop.times.find_edge;
  return held;
}

}  // namespace fitwright::planner
