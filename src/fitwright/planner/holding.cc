#include "fitwright/planner/holding.h"

#include <algorithm>
#include <cmath>

#include "fitwright/base/check.h"
#include "fitwright/planner/holding_internal.h"
#include "fitwright/planner/holding_keyway.h"
#include "fitwright/planner/tool_choice.h"
#include "fitwright/trade/cutting.h"

namespace fitwright::planner {
namespace {

constexpr double kLeastRunOutRoom_mm = 8;  // below a through hole
constexpr double kBelowPoint_mm = 3;       // and below a drill's point that comes out

bool ComesOutBelow(const Hole& hole, const SetupSketch& sketch, double bottom) {
  const double end = sketch.up_P.dot(hole.entries_P_mm.front() + hole.into_P * hole.depth_mm);
  const double entry = sketch.up_P.dot(hole.entries_P_mm.front());
  return hole.through && std::min(end, entry) < bottom + kLeastRunOutRoom_mm;
}

}  // namespace

Unexpected NoHold(const std::string& message, const std::string& remedy) {
  return Unexpected(Error{ErrorCode::kNoPlan, message, {}, remedy, {}});
}

Box3 BoxInSetup(const PieceState& piece, const Pose& X_PS) {
  Box3 box;
  for (int axis = 0; axis < 3; ++axis) {
    const Vec3 direction_P = X_PS.linear().col(axis);
    const auto [lo, hi] = ExtentOf(piece, direction_P);
    const double origin = direction_P.dot(X_PS.translation());
    box.min_mm[axis] = lo - origin;
    box.max_mm[axis] = hi - origin;
  }
  return box;
}

Pose MatePose(const Machine& machine, const PartId& part, const Pose& X_PS, const PartId& mate) {
  const auto place = machine.FindPlace(part);
  const auto mate_place = machine.FindPlace(mate);
  FW_CHECK(place.has_value() && mate_place.has_value(), part.text(), mate.text());
  return mate_place->inverse() * *place * X_PS;
}

const Feature& CutOf(const PieceState& piece, const FeatureId& id) {
  const Feature* feature = piece.part->Find(id);
  FW_CHECK(feature != nullptr, id.text());
  return *feature;
}

double TopAfterCuts(const SetupSketch& sketch, const PieceState& piece) {
  double top = ExtentOf(piece, sketch.up_P).second;
  for (const FeatureId& id : sketch.cuts) {
    const Feature& feature = CutOf(piece, id);
    const auto* face = std::get_if<PlanarFace>(&feature.shape);
    if (face == nullptr || IsCarried(*piece.part, feature)) continue;
    if (face->normal_P.dot(sketch.up_P) < 1 - 1e-9) continue;
    const auto leave = sketch.leave_mm.find(id);
    top = std::min(top, face->at.middle_mm() + (leave == sketch.leave_mm.end() ? 0 : leave->second));
  }
  return top;
}

bool NeedsPosition(const SetupSketch& sketch, const PieceState& piece) {
  if (sketch.through || sketch.on_marks) return false;
  return std::any_of(sketch.cuts.begin(), sketch.cuts.end(), [&](const FeatureId& id) {
    const auto& shape = CutOf(piece, id).shape;
    return !std::holds_alternative<PlanarFace>(shape) && !std::holds_alternative<EdgeChamfer>(shape);
  });
}

std::string SideWord(const Vec3& direction_P) {
  static constexpr std::array<const char*, 3> kAxes = {"x", "y", "z"};
  for (int i = 0; i < 3; ++i) {
    if (std::abs(direction_P[i]) > 1 - 1e-9) {
      return fmt::format("{}{}", direction_P[i] > 0 ? "+" : "-", kAxes[static_cast<std::size_t>(i)]);
    }
  }
  return fmt::format("({:.3f}, {:.3f}, {:.3f})", direction_P.x(), direction_P.y(), direction_P.z());
}

double RoomBelow_mm(const SetupSketch& sketch, const PieceState& piece, double bottom) {
  double room = 0;
  for (const FeatureId& id : sketch.cuts) {
    const auto& shape = CutOf(piece, id).shape;
    const auto* hole = std::get_if<Hole>(&shape);
    const auto* slot = std::get_if<Slot>(&shape);
    if (hole != nullptr && ComesOutBelow(*hole, sketch, bottom)) {
      const double drill = std::min(hole->diameter.upper_mm, kLargestDrill_mm);
      room = std::max({room, kLeastRunOutRoom_mm, trade::DrillPointLength_mm(drill, trade::kUsualDrillPoint_deg) + kBelowPoint_mm});
    }
    if (slot != nullptr && slot->through) room = std::max(room, kLeastRunOutRoom_mm);
  }
  return room;
}

void ContactAdder::Add(ContactKind kind, const std::optional<FeatureId>& face, const Vec3& p_S, const Vec3& n_S) const {
  const bool stays = face || kind == ContactKind::kEdgeFound || kind == ContactKind::kSetBySquare ||
                     kind == ContactKind::kAngleSet || kind == ContactKind::kLineSet;
  Contact contact;
  contact.kind = stays ? kind : ContactKind::kRough;
  contact.surface = {piece.part->name, face.value_or(FeatureId{})};
  contact.point_P_mm = X_PS * p_S;
  contact.normal_P = X_PS.linear() * n_S;
  setup.contacts.push_back(contact);
}

FixtureSolid Block(FixtureRole role, const Vec3& low_S, const Vec3& high_S) {
  FixtureSolid solid;
  solid.role = role;
  solid.shape = FixtureBox{{low_S, high_S}, Pose::Identity()};
  return solid;
}

double FinderDiameter_mm(const Shop& shop) {
  constexpr double kUsual_mm = 10;
  double finder_mm = kUsual_mm;
  for (const Instrument& i : shop.instruments) {
    if (i.kind == InstrumentKind::kEdgeFinder && i.finder_diameter_mm > 0) finder_mm = i.finder_diameter_mm;
  }
  return finder_mm;
}

Result<HeldPiece> HoldOnBench(const SetupSketch& sketch, const PieceState& piece) {
  HeldPiece held;
  Pose X_PS = Pose::Identity();
  const auto keyed = KeywaySide(sketch, piece);
  const auto across = [&]() -> Vec3 {
    if (keyed) return *keyed;
    for (int i = 0; i < 3; ++i) {
      if (std::abs(sketch.up_P[i]) < 0.5) return (Vec3::Unit(i) - sketch.up_P * sketch.up_P[i]).normalized();
    }
    return Vec3::UnitX();
  }();
  X_PS.linear().col(0) = across;
  X_PS.linear().col(1) = sketch.up_P.cross(across);
  X_PS.linear().col(2) = sketch.up_P;
  X_PS.translation() = sketch.up_P * ExtentOf(piece, sketch.up_P).second;
  if (keyed) X_PS.translation() += HubAxisFoot(sketch, piece);
  held.setup.parts.push_back({sketch.part, X_PS, true});
  held.setup.zero.point_P_mm = X_PS.translation();
  const Feature* first = sketch.cuts.empty() ? nullptr : piece.part->Find(sketch.cuts.front());
  const bool rubbed = first != nullptr && std::holds_alternative<PlanarFace>(first->shape);
  held.setup.hold_words = keyed                  ? PressWords(sketch, piece)
                          : IsSheet(*piece.part) ? "On the bench, on a flat board."
                          : rubbed             ? "On the bench, flat on the paper under the fingers, pressed evenly; under the paper glass or a plate that nothing is measured on."
                                               : "On the bench, in the vise between soft jaws where it must be held fast.";
  return held;
}

Result<HeldPiece> MakeHolding(const SetupSketch& sketch, const PieceStates& pieces,
                              const Machine& machine, const Shop& shop) {
  const HoldingDevice* device = shop.Find(sketch.device);
  const MachineTool* tool = shop.Find(sketch.machine);
  FW_CHECK(tool != nullptr, sketch.machine.text());
  const PieceState& piece = pieces.at(sketch.part);
  if (tool->kind != MachineToolKind::kBench && HasItsOutline(piece)) {
    return NoHold(fmt::format("{} has its outline already and no flat sides to hold it by", sketch.part.text()),
                  "cut the outline last");
  }
  Result<HeldPiece> held = tool->kind == MachineToolKind::kBench ? HoldOnBench(sketch, piece)
                           : device->kind == HoldingDeviceKind::kVise
                               ? HoldInVise(sketch, piece, *tool, *device, shop)
                           : device->kind == HoldingDeviceKind::kClamps
                               ? HoldOnTable(sketch, piece, *tool, *device, shop)
                           : device->kind == HoldingDeviceKind::kAnglePlate
                               ? HoldOnPlate(sketch, piece, *tool, *device, shop)
                           : device->kind == HoldingDeviceKind::kVBlock
                               ? HoldInVee(sketch, piece, *tool, *device, shop)
                           : device->kind == HoldingDeviceKind::kRotaryTable
                               ? HoldOnRotary(sketch, piece, *tool, *device, shop)
                           : device->kind == HoldingDeviceKind::kMandrel
                               ? HoldOnMandrel(sketch, piece, *tool, *device, shop)
                           : sketch.holding == HoldingKind::kFaceplate
                               ? HoldOnFaceplate(sketch, piece, *tool, *device, shop)
                           : device->kind == HoldingDeviceKind::kFaceplate
                               ? HoldBetweenCentres(sketch, piece, *tool, *device, shop)
                           : device->kind == HoldingDeviceKind::kFourJaw && piece.bands.empty()
                               ? HoldInFourJaw(sketch, piece, *tool, *device, shop)
                               : HoldInChuck(sketch, piece, *tool, *device, shop);
  if (!held) return held;
  Setup& setup = held->setup;
  setup.machine = sketch.machine;
  setup.device = sketch.device;
  setup.holding = sketch.holding;
  setup.up = SideWord(sketch.up_P) + " of " + sketch.part.text();
  for (const PartId& mate : sketch.mates) {
    if (machine.FindBought(mate) != nullptr) continue;
    const bool on = std::find(sketch.on_already.begin(), sketch.on_already.end(), mate) != sketch.on_already.end();
    setup.parts.push_back({mate, MatePose(machine, sketch.part, setup.parts.front().X_PS, mate), on});
  }
  return held;
}

}  // namespace fitwright::planner
