#include "fitwright/planner/holding_keyway.h"

#include <algorithm>
#include <cmath>

#include "fitwright/planner/clocking.h"
#include "fitwright/planner/directions.h"
#include "fitwright/planner/holding_internal.h"

namespace fitwright::planner {
namespace {

constexpr double kLeft_mm = 0.6;    // of a bar over a face that is faced later: the bore goes on through it
constexpr double kLock_min = 3;     // locking the spindle, setting the bit level with the axis; opinion
constexpr double kRunsOut_mm = 3;   // behind the piece, for the bit and its chip; opinion
constexpr double kBeside_mm = 0.5;  // round the bit there

const Keyway* KeywayOf(const SetupSketch& sketch, const PieceState& piece) {
  if (sketch.cuts.size() != 1) return nullptr;
  const Feature& feature = CutOf(piece, sketch.cuts.front());
  return IsHubKeyway(feature) ? &std::get<Keyway>(feature.shape) : nullptr;
}

// Along `up`: the bore's own ends.
std::pair<double, double> BoreEnds(const Keyway& keyway, const Vec3& up) {
  const auto at = [&](double along) { return up.dot(keyway.axis_P.point_mm + keyway.axis_P.direction * along); };
  return std::minmax(at(keyway.from_mm), at(keyway.to_mm));
}

bool IsAbout(const Keyway& keyway, const Hole& hole) {
  const Vec3& along = keyway.axis_P.direction;
  if (hole.entries_P_mm.size() != 1 || std::abs(hole.into_P.dot(along)) < 1 - kSame_mm) return false;
  const Vec3 d = hole.entries_P_mm.front() - keyway.axis_P.point_mm;
  return (d - along * along.dot(d)).norm() < kSame_mm;
}

bool Overlaps(const Keyway& keyway, const Hole& hole) {
  const Vec3& along = keyway.axis_P.direction;
  const double entry = along.dot(hole.entries_P_mm.front() - keyway.axis_P.point_mm);
  const auto [low, high] = std::minmax({entry, entry + along.dot(hole.into_P) * hole.depth_mm});
  const auto [from, to] = std::minmax(keyway.from_mm, keyway.to_mm);
  return std::min(high, to) - std::max(low, from) > kDrawnAlike_mm;
}

// Behind the piece the chuck leaves the bit's way free: between the jaws, or in the chuck's own bore.
bool RunsOut(const Setup& setup, double edge_mm, double exit_S) {
  return std::none_of(setup.fixtures.begin(), setup.fixtures.end(), [&](const FixtureSolid& f) {
    const auto* ring = std::get_if<FixtureCylinder>(&f.shape);
    return ring != nullptr && ring->from_mm < exit_S && ring->to_mm > exit_S - kRunsOut_mm && ring->inner_mm / 2 < edge_mm + kBeside_mm;
  });
}

}  // namespace

bool CutsHubKeyway(const SetupSketch& sketch, const PieceState& piece) { return KeywayOf(sketch, piece) != nullptr; }

std::optional<Vec3> KeywaySide(const SetupSketch& sketch, const PieceState& piece) {
  const Keyway* keyway = KeywayOf(sketch, piece);
  return keyway == nullptr ? std::nullopt : std::optional(keyway->side_P);
}

double KeywayRoom_mm(const SetupSketch& sketch, const PieceState& piece) {
  const Keyway* keyway = KeywayOf(sketch, piece);
  return keyway == nullptr ? 0 : 2 * keyway->floor_mm;
}

Vec3 HubAxisFoot(const SetupSketch& sketch, const PieceState& piece) {
  const Keyway* keyway = KeywayOf(sketch, piece);
  if (keyway == nullptr) return Vec3::Zero();
  const Vec3& p = keyway->axis_P.point_mm;
  return p - sketch.up_P * sketch.up_P.dot(p);
}

double HubBore_mm(const Part& part, const Keyway& keyway) {
  double bore = 0;
  for (const Feature& f : part.features) {
    const auto* hole = std::get_if<Hole>(&f.shape);
    if (hole == nullptr || !IsAbout(keyway, *hole) || !Overlaps(keyway, *hole)) continue;
    const double d = hole->diameter.middle_mm();
    bore = bore > 0 ? std::min(bore, d) : d;
  }
  return bore;
}

const Tool* FindKeywayTool(const Shop& shop, const Part& part, const Feature& feature, ToolKind kind) {
  const auto& keyway = std::get<Keyway>(feature.shape);
  const double bore = HubBore_mm(part, keyway);
  const double length = std::abs(keyway.to_mm - keyway.from_mm);
  const Tool* best = nullptr;
  for (const Tool& tool : shop.tools) {
    const bool wide = tool.width_mm > keyway.width.lower_mm - kSame_mm && tool.width_mm < keyway.width.upper_mm + kSame_mm;
    if (tool.kind != kind || !wide || tool.diameter_min_mm > bore - kDrawnAlike_mm || tool.reach_mm < length) continue;
    if (tool.flute_mm < keyway.floor_mm - bore / 2) continue;
    if (best == nullptr || tool.reach_mm < best->reach_mm) best = &tool;
  }
  return best;
}

bool HubBoreStands(const SetupSketch& sketch, const PieceState& piece, std::string* why) {
  const Keyway& keyway = *KeywayOf(sketch, piece);
  for (const Feature& f : piece.part->features) {
    const auto* hole = std::get_if<Hole>(&f.shape);
    if (hole == nullptr || !IsAbout(keyway, *hole) || !Overlaps(keyway, *hole) || piece.IsMade(f.name)) continue;
    if (why != nullptr) *why = fmt::format("{} of {} is not bored yet", f.name.text(), sketch.part.text());
    return false;
  }
  const auto [low, high] = BoreEnds(keyway, sketch.up_P);
  const auto [piece_low, piece_high] = ExtentOf(piece, sketch.up_P);
  if (piece.bands.empty() || (piece_low > low - kLeft_mm && piece_high < high + kLeft_mm)) return true;
  if (why != nullptr) *why = fmt::format("the bore of {} is not open at both ends", sketch.part.text());
  return false;
}

std::string WhyNoKeyway(const SetupSketch& sketch, const PieceState& piece, const Shop& shop) {
  const Feature& feature = CutOf(piece, sketch.cuts.front());
  const Keyway& keyway = *KeywayOf(sketch, piece);
  const std::string name = fmt::format("{} of {}", feature.name.text(), sketch.part.text());
  std::string why;
  if (!HubBoreStands(sketch, piece, &why)) return why;
  const double bore = HubBore_mm(*piece.part, keyway);
  if (FindKeywayTool(shop, *piece.part, feature, ToolKind::kSlottingTool) != nullptr) {
    return piece.bands.empty() ? fmt::format("{}: a block's bore is not slotted in the lathe; a keyway broach {:g} mm wide with its guide bush would cut it",
                                             name, keyway.width.nominal_mm)
                               : fmt::format("{}: no chuck of the lathe holds the piece so that the bit is reached and runs out", name);
  }
  return fmt::format("{}: no tool of the shop cuts a seat {:g} mm wide and {:.2f} deep, {:g} long, in a bore of {:g}; a keyway broach of that width with a guide "
                     "bush would, or a slotting bit ground to it in a bar for the lathe (shop.toml: kind = \"broach\", or \"slotting_tool\")",
                     name, keyway.width.nominal_mm, keyway.floor_mm - bore / 2, std::abs(keyway.to_mm - keyway.from_mm), bore);
}

Result<HeldPiece> SetForKeyway(HeldPiece held, const SetupSketch& sketch, const PieceState& piece, const Shop& shop) {
  const Keyway* keyway = KeywayOf(sketch, piece);
  const MachineTool* machine = shop.Find(sketch.machine);
  if (keyway == nullptr || machine == nullptr || machine->kind != MachineToolKind::kLathe) return held;
  Setup& setup = held.setup;
  const Pose& X_PS = setup.parts.front().X_PS;
  const double exit_S = ExtentOf(piece, sketch.up_P).first - sketch.up_P.dot(X_PS.translation());
  if (!RunsOut(setup, keyway->floor_mm, exit_S)) {
    return NoHold(fmt::format("behind {} the bit would run into what holds it", sketch.part.text()), "a chuck with a wider bore, or a broach");
  }
  const ContactAdder add{setup, piece, X_PS};
  if (const auto clock = FindClock(piece, X_PS, setup.fixtures)) {
    add.Add(ContactKind::kSetBySquare, clock->feature, clock->point_S, clock->normal_S);
    setup.hold_words += ClockWords(piece, *clock, X_PS, "bed");
  } else if (!IsAlikeAllRound(piece)) {
    return NoHold(CoveredWords(piece), "slot it before what goes across the piece");
  } else {
    add.Add(ContactKind::kSetBySquare, std::nullopt, {keyway->floor_mm, 0, 0}, Vec3::UnitY());
  }
  setup.hold_words += " Nothing may turn from here on: lock the spindle, by back gear and bull pin together or a stop against a jaw, and pull the mains plug.";
  setup.zero.routine =
      "z is 0 at the end face. Set the edge of the bit level with the spindle's axis and square to it: a flat centre in the tailstock, its edge run along "
      "the bit; x is 0 there when the edge is brought back to the axis, and it cuts on the side towards you.";
  setup.zero.witness = fmt::format("the bit touches the bore's wall at {:.3f} from the axis.", HubBore_mm(*piece.part, *keyway) / 2);
  held.seat_min += kLock_min;
  return held;
}

std::string PressWords(const SetupSketch& sketch, const PieceState& piece) {
  const Keyway& keyway = *KeywayOf(sketch, piece);
  return fmt::format(
      "On the bench, under an arbor press, {} side of the piece down on a plate with a hole for the broach to come out; the guide bush in the bore, "
      "{:.2f} mm across less a running clearance, its slot towards the seat.",
      SideWord(-sketch.up_P), HubBore_mm(*piece.part, keyway));
}

}  // namespace fitwright::planner
