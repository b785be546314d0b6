// Angle plate on the mill table: a block stands with a finished face against the plate, a bar
// across its front drawn up by two bolts through the plate's slots, both lower than the cuts reach.
#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/planner/directions.h"
#include "fitwright/planner/holding_internal.h"

namespace fitwright::planner {
namespace {

constexpr double kBarHigh_mm = 20;  // opinion, as what follows
constexpr double kBarThick_mm = 12;
constexpr double kBoltRoom_mm = 14;   // beside the piece, for a bolt of the bar
constexpr double kStandAbove_mm = 2;  // what is cut sideways above bar and plate
constexpr double kStrip_mm = 10;      // packing under the piece
constexpr double kMostAbove = 0.4;    // share of the height that may stand above the plate
constexpr double kLeastFace_mm = 15;  // of the face on the plate

struct PlateLayout {
  Pose X_PS = Pose::Identity();
  Box3 box_S;
  double pack_mm = 0;
  double plate_top_S = 0;
  double bar_low_S = 0;
};

// Packing and bar so that plate and bar stay below the cuts; the reason where there is none.
Status PlaceHeights(PlateLayout& layout, const SetupSketch& sketch, const PieceState& piece,
                    const HoldingDevice& plate) {
  const Box3& box = layout.box_S;
  const double cuts_down_to =
      -SidewaysDepth_mm(sketch, piece, TopAfterCuts(sketch, piece)) - kStandAbove_mm;
  const double room = RoomBelow_mm(sketch, piece, ExtentOf(piece, sketch.up_P).first);
  std::vector<double> packs = plate.parallels_mm;
  packs.push_back(0);
  std::sort(packs.begin(), packs.end());
  const double low = box.min_mm.z();
  for (const double pack : packs) {
    const double top = low - pack + plate.jaw_height_mm;
    if (pack < room || top > cuts_down_to) continue;
    if (top - low < kLeastFace_mm || -top > kMostAbove * (0 - low)) break;
    const auto [back_low, back_high] = SideSpan(piece, -sketch.jaw_P, sketch.up_P);
    const double offset = layout.X_PS.linear().col(2).dot(layout.X_PS.translation());
    const double from = std::max(low, back_low - offset);
    const double to = std::min({top, cuts_down_to, back_high - offset});
    if (to - from < kBarHigh_mm) break;
    layout.pack_mm = pack;
    layout.plate_top_S = top;
    layout.bar_low_S = std::min(from + 0.6 * (to - from), to - kBarHigh_mm);
    return Ok{};
  }
  return NoHold(fmt::format("{} with {} up does not stand on the angle plate clear of the cuts",
                            sketch.part.text(), SideWord(sketch.up_P)),
                "other packing, or another way up");
}

// Two strips along y under the piece, clear of what comes out below; empty where there is no room.
std::vector<FixtureSolid> Packing(const PlateLayout& layout,
                                  const std::vector<std::pair<Vec2, double>>& holes) {
  const Box3& box = layout.box_S;
  const auto is_clear = [&](double x0) {
    return std::none_of(holes.begin(), holes.end(), [&](const auto& h) {
      return h.first.x() + h.second > x0 - 0.5 && h.first.x() - h.second < x0 + kStrip_mm + 0.5;
    });
  };
  std::vector<FixtureSolid> strips;
  for (const double sign : {-1.0, 1.0}) {
    double x0 = sign < 0 ? box.min_mm.x() : box.max_mm.x() - kStrip_mm;
    while (!is_clear(x0) && x0 >= box.min_mm.x() - kSame_mm &&
           x0 + kStrip_mm <= box.max_mm.x() + kSame_mm)
      x0 -= sign * 0.5;
    if (x0 < box.min_mm.x() - kSame_mm || x0 + kStrip_mm > box.max_mm.x() + kSame_mm) return {};
    FixtureSolid strip =
        Block(FixtureRole::kParallel, {x0, box.min_mm.y(), box.min_mm.z() - layout.pack_mm},
              {x0 + kStrip_mm, box.max_mm.y(), box.min_mm.z()});
    strip.supports = true;
    strips.push_back(strip);
  }
  return strips;
}

Status AddSolidsOnPlate(Setup& setup, const PlateLayout& layout, const SetupSketch& sketch,
                 const PieceState& piece, const HoldingDevice& plate) {
  const Box3& box = layout.box_S;
  const double x_mid = box.centre_mm().x();
  const double half = plate.jaw_width_mm / 2;
  const double table = box.min_mm.z() - layout.pack_mm;
  const double rear = box.max_mm.y();
  const double thick = plate.jaw_thickness_mm;
  FixtureSolid face = Block(FixtureRole::kFixedJaw, {x_mid - half, rear, table},
                            {x_mid + half, rear + thick, layout.plate_top_S});
  face.grips = true;
  face.grip_normal_S = -Vec3::UnitY();
  setup.fixtures.push_back(face);
  setup.fixtures.push_back(Block(FixtureRole::kBed, {x_mid - half, rear + thick, table},
                                 {x_mid + half, rear + plate.body_length_mm, table + thick}));
  FixtureSolid bar =
      Block(FixtureRole::kClamp, {x_mid - half, box.min_mm.y() - kBarThick_mm, layout.bar_low_S},
            {x_mid + half, box.min_mm.y(), layout.bar_low_S + kBarHigh_mm});
  bar.grips = true;
  bar.grip_normal_S = Vec3::UnitY();
  setup.fixtures.push_back(bar);
  FixtureSolid under = Block(FixtureRole::kTable, {x_mid - 250, box.min_mm.y() - 120, table - 30},
                             {x_mid + 250, rear + 150, table});
  under.supports = layout.pack_mm == 0;
  setup.fixtures.push_back(under);
  if (layout.pack_mm == 0) return Ok{};
  const auto strips = Packing(layout, ThroughPlaces(sketch, piece, layout.X_PS));
  if (strips.empty())
    return NoHold(fmt::format("what comes out below {} leaves no room for packing under it",
                              sketch.part.text()),
                  "hold it in the vise");
  setup.fixtures.insert(setup.fixtures.end(), strips.begin(), strips.end());
  return Ok{};
}

void AddContactsOnPlate(Setup& setup, const PlateLayout& layout, const SetupSketch& sketch,
                 const PieceState& piece, bool needs_position) {
  const Box3& b = layout.box_S;
  const ContactAdder add{setup, piece, layout.X_PS};
  const auto face = FinishedFace(piece, sketch.jaw_P);
  const auto rest = FinishedFace(piece, -sketch.up_P);
  const Vec3 off = -Vec3::UnitY();
  const double y = b.max_mm.y();
  const double z0 = b.min_mm.z();
  const double z1 = std::min(layout.plate_top_S, b.max_mm.z());
  add.Add(ContactKind::kFixedJaw, face, {b.min_mm.x(), y, z0}, off);
  add.Add(ContactKind::kFixedJaw, face, {b.max_mm.x(), y, z0}, off);
  add.Add(ContactKind::kFixedJaw, face, {b.centre_mm().x(), y, z1}, off);
  for (const double x : {b.min_mm.x(), b.max_mm.x()})
    add.Add(ContactKind::kBed, rest, {x, b.centre_mm().y(), z0}, Vec3::UnitZ());
  const auto left = FinishedFace(piece, layout.X_PS.linear() * -Vec3::UnitX());
  add.Add(needs_position ? ContactKind::kEdgeFound : ContactKind::kStop, left,
          {b.min_mm.x(), b.centre_mm().y(), b.max_mm.z()}, Vec3::UnitX());
  if (needs_position)
    add.Add(ContactKind::kEdgeFound, face, {b.centre_mm().x(), y, b.max_mm.z()}, off);
}

void SayHow(Setup& setup, const PlateLayout& layout, const SetupSketch& sketch,
            const PieceState& piece, const MachineTool& machine, double finder_mm,
            bool needs_position) {
  const auto face = FinishedFace(piece, sketch.jaw_P);
  const auto rest = FinishedFace(piece, -sketch.up_P);
  const Box3& b = layout.box_S;
  setup.hold_words = fmt::format(
      "Angle plate on the table, its face away from you trued along x with the indicator and run "
      "up and down in z to know what it leans. {} against the plate, "
      "{} down on {}; a bar across the front, its lower edge {:.1f} mm above the underside, drawn "
      "up evenly by two bolts through the plate.",
      face ? face->text() : "the raw side", rest ? rest->text() : "the underside",
      layout.pack_mm > 0 ? fmt::format("{:.0f} mm packing", layout.pack_mm) : "the table",
      layout.bar_low_S - b.min_mm.z());
  Zero& zero = setup.zero;
  zero.z_from = {piece.part->name, FinishedFace(piece, sketch.up_P).value_or(FeatureId{})};
  const double above = b.max_mm.z();
  const std::string z_words = above > kSame_mm
                                  ? fmt::format(
                                        " z: touch the first tool on the highest place of the top "
                                        "as it is and set {:.3f} mm, or what its step reckons from "
                                        "the measured piece, so that 0 is the finished top; every later tool touches there, set 0.",
                                        machine.z_sense * above)
                                  : " z: every tool touches the top, set 0 there.";
  if (!needs_position) {
    zero.routine =
        "No close zero is needed in x and y: the cuts run right across; 0 is the left edge at the "
        "plate, near enough by eye." +
        z_words;
    return;
  }
  zero.x_from = {piece.part->name,
                 FinishedFace(piece, layout.X_PS.linear() * -Vec3::UnitX()).value_or(FeatureId{})};
  zero.y_from = {piece.part->name, face.value_or(FeatureId{})};
  zero.routine =
      fmt::format(
          "With the {:.0f} mm edge finder at the edge on your left hand set x to {:.3f} mm, at the "
          "plate's face beside the piece set y to "
          "{:.3f} mm; both are 0 at that corner.",
          finder_mm, machine.x_sense * -finder_mm / 2, machine.y_sense * -finder_mm / 2) +
      z_words;
  zero.witness =
      fmt::format("over the far corner the readings are about {:.3f} in x and {:.3f} in y.",
                  machine.x_sense * b.max_mm.x(), machine.y_sense * b.min_mm.y());
}

}  // namespace

Result<HeldPiece> HoldOnPlate(const SetupSketch& sketch, const PieceState& piece,
                              const MachineTool& machine, const HoldingDevice& plate,
                              const Shop& shop) {
  if (!piece.bands.empty())
    return NoHold("round work does not stand against an angle plate", "the chuck or the V-blocks");
  if (plate.jaw_width_mm <= 0 || plate.jaw_height_mm <= 0 || plate.jaw_thickness_mm <= 0 ||
      plate.body_length_mm <= plate.jaw_thickness_mm)
    return NoHold(
        fmt::format("the sizes of {} are not given", plate.name.text()),
        "write jaw_width_mm, jaw_height_mm, jaw_thickness_mm and body_length_mm in shop.toml");
  PlateLayout layout;
  layout.X_PS.linear().col(0) = sketch.jaw_P.cross(sketch.up_P);
  layout.X_PS.linear().col(1) = sketch.jaw_P;
  layout.X_PS.linear().col(2) = sketch.up_P;
  const Box3 raw = BoxInSetup(piece, layout.X_PS);
  layout.X_PS.translation() =
      layout.X_PS.linear() * Vec3(raw.min_mm.x(), raw.max_mm.y(), TopAfterCuts(sketch, piece));
  layout.box_S = BoxInSetup(piece, layout.X_PS);
  if (layout.box_S.size_mm().x() > plate.jaw_width_mm - 2 * kBoltRoom_mm)
    return NoHold(
        fmt::format("{} is {:.1f} mm wide, too wide for bolts beside it on the angle plate",
                    sketch.part.text(), layout.box_S.size_mm().x()),
        "a wider angle plate, or clamp it to the table");
  if (const Status placed = PlaceHeights(layout, sketch, piece, plate); !placed)
    return Unexpected(placed.error());
  HeldPiece held;
  Setup& setup = held.setup;
  setup.parts.push_back({sketch.part, layout.X_PS, true});
  setup.zero.point_P_mm = layout.X_PS.translation();
  if (const Status added = AddSolidsOnPlate(setup, layout, sketch, piece, plate); !added)
    return Unexpected(added.error());
  const bool needs_position = NeedsPosition(sketch, piece);
  AddContactsOnPlate(setup, layout, sketch, piece, needs_position);
  SayHow(setup, layout, sketch, piece, machine, FinderDiameter_mm(shop), needs_position);
  setup.opening_mm = layout.box_S.size_mm().y();
  setup.grip_depth_mm =
      std::min(layout.plate_top_S, layout.box_S.max_mm.z()) - layout.box_S.min_mm.z();
  setup.parallels_mm = layout.pack_mm;
  held.clearance_below_mm = layout.pack_mm;
  held.seat_min = 2 * shop.times.seat_in_vise + (needs_position ? 2 * shop.times.find_edge : 0);
  return held;
}

}  // namespace fitwright::planner
