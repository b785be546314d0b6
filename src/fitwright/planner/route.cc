#include "fitwright/planner/route.h"

#include <algorithm>
#include <cmath>

#include "fitwright/base/check.h"
#include "fitwright/planner/angle_setting.h"
#include "fitwright/planner/directions.h"
#include "fitwright/planner/holding_internal.h"
#include "fitwright/planner/holding_keyway.h"
#include "fitwright/planner/route_internal.h"
#include "fitwright/planner/setup_pins.h"

namespace fitwright::planner {
namespace {

constexpr double kTall_mm = 100;  // above this an angle plate is weighed against the vise, opinion

bool Skips(const Deferred& deferred, const FeatureId& id) {
  return std::find(deferred.not_cut.begin(), deferred.not_cut.end(), id) != deferred.not_cut.end();
}
bool AxisAligned(const Vec3& v) { return v.cwiseAbs().maxCoeff() > 1 - kSameDirection; }

}  // namespace

namespace {

// A counterbore follows its hole where the hole is drawn from the surface that both are entered from; it comes before a bore
// of closer limits, whose last cut then takes its burr away.
int RankIn(const Part& part, const Feature& feature) {
  constexpr int kAfterHoles = 5910;
  const auto* sunk = std::get_if<Hole>(&feature.shape);
  if (sunk == nullptr || sunk->use != HoleUse::kCounterbore) return CutRank(feature);
  for (const Feature& f : part.features) {
    const auto* hole = std::get_if<Hole>(&f.shape);
    if (hole == nullptr || hole == sunk || hole->use == HoleUse::kCounterbore || !SameWay(hole->into_P, sunk->into_P)) continue;
    const bool from_its_mouth = std::any_of(hole->entries_P_mm.begin(), hole->entries_P_mm.end(), [&](const Vec3& entry) {
      return (entry - sunk->entries_P_mm.front()).norm() < kDrawnAlike_mm;
    });
    if (!from_its_mouth || hole->diameter.nominal_mm >= sunk->diameter.nominal_mm) continue;
    if (hole->use == HoleUse::kHole) return kAfterHoles;
    if (part.envelope == EnvelopeKind::kBlock && hole->diameter.width_mm() < sunk->diameter.width_mm()) return CutRank(f) - 1;
  }
  return CutRank(feature);
}

}  // namespace

void SortCuts(const Part& part, std::vector<FeatureId>& cuts) {
  std::stable_sort(cuts.begin(), cuts.end(), [&](const FeatureId& a, const FeatureId& b) {
    return RankIn(part, *part.Find(a)) < RankIn(part, *part.Find(b));
  });
}

namespace {

// A key's seat along a bore goes with nothing else: no cutter turns, the spindle is locked.
void AddToGroup(const Part& part, std::vector<SideGroup>& groups, const Vec3& side, const FeatureId& id) {
  const bool slotted = IsHubKeyway(*part.Find(id));
  for (SideGroup& group : groups) {
    if (!slotted && SameWay(group.up_P, side) && !IsHubKeyway(*part.Find(group.cuts.front()))) {
      group.cuts.push_back(id);
      return;
    }
  }
  groups.push_back({side, {id}});
}

}  // namespace

namespace {

void SetApart(const Part& part, const std::vector<Pin>& pins, std::vector<SideGroup>& groups) {
  std::vector<SideGroup> all;
  for (const SideGroup& group : groups) {
    const std::vector<FeatureId> apart = PinnedApart(part, group.cuts, pins);
    SideGroup rest = group;
    std::erase_if(rest.cuts, [&](const FeatureId& id) { return std::find(apart.begin(), apart.end(), id) != apart.end(); });
    all.push_back(rest);
    if (!apart.empty()) all.push_back({group.up_P, apart});
  }
  groups = std::move(all);
}

}  // namespace

std::vector<SideGroup> GroupBySide(const Part& part, const std::vector<FeatureId>& ids, const std::vector<Pin>& pins) {
  std::vector<SideGroup> groups;
  for (const FeatureId& id : ids) {
    const std::vector<Vec3> sides = PinnedSides(part, id, pins);
    if (sides.size() == 1) AddToGroup(part, groups, sides.front(), id);
  }
  for (const FeatureId& id : ids) {  // those with a choice join a side that is visited anyway
    const std::vector<Vec3> sides = PinnedSides(part, id, pins);
    if (sides.size() < 2) continue;
    const auto visited = std::find_if(sides.begin(), sides.end(), [&](const Vec3& side) {
      return std::any_of(groups.begin(), groups.end(), [&](const SideGroup& g) { return SameWay(g.up_P, side); });
    });
    AddToGroup(part, groups, visited == sides.end() ? sides.front() : *visited, id);
  }
  SetApart(part, pins, groups);
  for (SideGroup& group : groups) {
    SortCuts(part, group.cuts);
    if (AxisAligned(group.up_P)) continue;
    // Of a slanting side the slope is the face: what else is cut there starts from it.
    std::stable_partition(group.cuts.begin(), group.cuts.end(), [&](const FeatureId& id) { return std::holds_alternative<EdgeChamfer>(part.Find(id)->shape); });
  }
  return groups;
}

std::vector<FeatureId> OwnCuts(const Part& part, const Deferred& deferred) {
  std::vector<FeatureId> ids;
  for (const Feature& feature : part.features) {
    if (IsAsSupplied(feature)) continue;
    if (!Skips(deferred, feature.name) && !IsCarried(part, feature)) ids.push_back(feature.name);
  }
  return ids;
}

// Takes the features made on the bench out of `ids`.
std::vector<FeatureId> TakeHandWork(const Part& part, std::vector<FeatureId>& ids) {
  const auto by_hand = [&](const FeatureId& id) { return IsHandWork(part, *part.Find(id)); };
  std::vector<FeatureId> taken;
  std::copy_if(ids.begin(), ids.end(), std::back_inserter(taken), by_hand);
  std::erase_if(ids, by_hand);
  return taken;
}

namespace {

// A sheet lies flat on the board for all that is cut from it.
std::vector<SideGroup> BenchGroups(const Part& part, const std::vector<FeatureId>& ids, const std::vector<Pin>& pins) {
  if (!IsSheet(part) || ids.empty()) return GroupBySide(part, ids, pins);
  int thin = 0;
  part.stock.box_P.size_mm().minCoeff(&thin);
  SideGroup group{Vec3::Unit(thin), ids};
  SortCuts(part, group.cuts);
  return {group};
}

struct Option {
  SetupSketch sketch;
  double score = 0;
};

bool GripsPrecious(const PieceState& piece, const Vec3& normal_P) {
  const auto face = FinishedFace(piece, normal_P);
  return face && piece.part->Find(*face)->do_not_grip;
}

std::vector<Vec3> JawSides(const SetupSketch& sketch, const PieceState& piece) {
  std::vector<Vec3> sides;
  if (!piece.bands.empty()) {
    const Vec3 axis = piece.part->turning_axis_P.direction;
    if (std::abs(axis.dot(sketch.up_P)) < kSameDirection) sides = {axis, -axis};
    return sides;
  }
  for (int i = 0; i < 3; ++i) {
    const Vec3 side = Vec3::Unit(i);
    if (std::abs(side.dot(sketch.up_P)) > kSameDirection) continue;
    sides.push_back(side);
    sides.push_back(-side);
  }
  return sides;
}

void AddViseOptions(std::vector<Option>& options, const SetupSketch& base, const PieceState& piece,
                    const HoldingDevice& vise, const Shop& shop) {
  const MachineTool* machine = shop.Find(vise.on);
  if (machine == nullptr || machine->kind == MachineToolKind::kLathe) return;
  const bool rest_finished = FinishedFace(piece, -base.up_P).has_value();
  const std::vector<Vec3> sides = JawSides(base, piece);
  const bool any_side = std::any_of(sides.begin(), sides.end(), [&](const Vec3& s) { return FinishedFace(piece, s).has_value(); });
  const bool any_face = any_side || rest_finished || FinishedFace(piece, base.up_P).has_value();
  for (const Vec3& side : sides) {
    const bool jaw_finished = FinishedFace(piece, side).has_value();
    const bool back_finished = FinishedFace(piece, -side).has_value();
    for (const HoldingKind kind : {HoldingKind::kViseBedFirst, HoldingKind::kViseJawFirst}) {
      const bool bed_first = kind == HoldingKind::kViseBedFirst;
      if (bed_first && (!piece.bands.empty() || !AxisAligned(base.up_P))) continue;
      // Sawn faces are a first seat only: later the piece is turned by what is finished already.
      if (bed_first ? (any_face && !rest_finished) || (any_side && !jaw_finished) : any_face && !jaw_finished) continue;
      Option option{base, 0};
      option.sketch.machine = vise.on;
      option.sketch.device = vise.name;
      option.sketch.holding = kind;
      option.sketch.jaw_P = side;
      if (!IsHeldInVise(option.sketch, piece, *machine, vise, shop)) continue;
      const auto [lo, hi] = ExtentOf(piece, side);
      option.score = (jaw_finished ? 4 : 0) + (back_finished ? 1 : 0) + (rest_finished ? 2 : 0) +
                     ((bed_first ? rest_finished : jaw_finished) ? 3 : 0) -
                     (GripsPrecious(piece, side) ? 3 : 0) - 0.005 * (hi - lo);
      options.push_back(option);
    }
  }
}

void AddChuckOption(std::vector<Option>& options, const SetupSketch& base, const PieceState& piece, const HoldingDevice& chuck, HoldingKind kind,
                    const Shop& shop) {
  Option option{base, 0};
  const MachineTool& machine = *shop.Find(chuck.on);
  if (IsSteady(base.support, shop)) option.sketch.support.reset();
  option.sketch.machine = chuck.on;
  option.sketch.device = chuck.name;
  option.sketch.holding = kind;
  Result<HeldPiece> held = HoldInChuck(option.sketch, piece, machine, chuck, shop);
  const bool centres_itself = kind == HoldingKind::kThreeJaw || kind == HoldingKind::kCollet;
  if (!held && machine.kind == MachineToolKind::kLathe && centres_itself && !option.sketch.support && !base.part_off) {
    option.sketch.support = SteadyOf(machine.name, shop);
    if (option.sketch.support) held = HoldInChuck(option.sketch, piece, machine, chuck, shop);
  }
  if (!held) return;
  bool seated = false;
  for (const Contact& c : held->setup.contacts) seated |= c.kind == ContactKind::kChuckFace;
  if (kind == HoldingKind::kThreeJawShort && !seated) return;
  const double need = std::max(6.0, 0.5 * held->setup.opening_mm);
  const double grip = std::min(1.0, held->setup.grip_depth_mm / need);
  option.score = (seated ? 3 : 0) + 2 * grip + (kind == HoldingKind::kThreeJaw ? 1 : 0) - (kind == HoldingKind::kFourJaw ? 1 : 0) +
                 (kind == HoldingKind::kCollet ? 3 : 0) - (chuck.soft_jaws ? 1 : 0) + (base.zero == ZeroFrom::kBore ? 0.5 : 0) - (IsSteady(option.sketch.support, shop) ? 4 : 0);
  options.push_back(option);
}

void AddChuckOptions(std::vector<Option>& options, const SetupSketch& base, const PieceState& piece,
                     const HoldingDevice& chuck, const Shop& shop, bool on_lathe) {
  const MachineTool* machine = shop.Find(chuck.on);
  if (machine == nullptr || (machine->kind == MachineToolKind::kLathe) != on_lathe) return;
  std::vector<HoldingKind> kinds;
  if (!on_lathe && (NeedsTurning(base, piece) || IsBeyondTravel(base, piece, *machine))) return;
  if (chuck.kind == HoldingDeviceKind::kThreeJaw) kinds = {HoldingKind::kThreeJawShort, HoldingKind::kThreeJaw};
  if (chuck.soft_jaws) kinds = {HoldingKind::kThreeJawShort};
  if (chuck.kind == HoldingDeviceKind::kFourJaw && on_lathe) kinds = {HoldingKind::kFourJaw};
  if (chuck.kind == HoldingDeviceKind::kCollet) kinds = {HoldingKind::kCollet};
  if (base.between_centres) {
    Option option{base, 0};
    option.sketch.machine = chuck.on;
    option.sketch.device = chuck.name;
    option.sketch.holding = HoldingKind::kBetweenCentres;
    option.sketch.zero = ZeroFrom::kEdges;
    const bool drives = chuck.kind == HoldingDeviceKind::kFaceplate;
    if (drives && HoldBetweenCentres(option.sketch, piece, *machine, chuck, shop)) options.push_back(option);
    return;
  }
  if (chuck.kind == HoldingDeviceKind::kMandrel && on_lathe) {
    Option option{base, chuck.jaw_reach_mm > 0 ? -0.5 : -1};  // a stub is turned anew each time
    option.sketch.machine = chuck.on;
    option.sketch.device = chuck.name;
    option.sketch.holding = HoldingKind::kStubMandrel;
    option.sketch.zero = ZeroFrom::kEdges;
    if (!base.part_off && HoldOnMandrel(option.sketch, piece, *machine, chuck, shop)) options.push_back(option);
    return;
  }
  std::vector<SetupSketch> zeros(1, base);
  zeros.front().zero = on_lathe ? ZeroFrom::kEdges : ZeroFrom::kOutside;
  if (!on_lathe) {
    for (const FeatureId& bore : BoresFromAbove(base, piece)) {
      zeros.push_back(base);
      zeros.back().zero = ZeroFrom::kBore;
      zeros.back().zero_on = bore;
    }
  }
  for (const HoldingKind kind : kinds) {
    for (const SetupSketch& zero : zeros) AddChuckOption(options, zero, piece, chuck, kind, shop);
  }
}

// Where the vise has too little to grip: a flat piece clamped down, on a finished underside.
void AddTableOptions(std::vector<Option>& options, const SetupSketch& base, const PieceState& piece,
                     const HoldingDevice& clamps, const Shop& shop) {
  const MachineTool* machine = shop.Find(clamps.on);
  if (machine == nullptr || machine->kind != MachineToolKind::kMill || !piece.bands.empty()) return;
  if (!AxisAligned(base.up_P) || !FinishedFace(piece, -base.up_P)) return;
  for (const Vec3& side : JawSides(base, piece)) {
    if (!FinishedFace(piece, side) || !FinishedFace(piece, side.cross(base.up_P))) continue;
    Option option{base, -2};
    option.sketch.machine = clamps.on;
    option.sketch.device = clamps.name;
    option.sketch.holding = HoldingKind::kClampsOnTable;
    option.sketch.jaw_P = side;
    const Vec3 along = side.cross(base.up_P);
    option.sketch.zero = ZeroFrom::kEdges;
    if (!HoldOnTable(option.sketch, piece, *machine, clamps, shop)) continue;
    const auto [lo, hi] = ExtentOf(piece, along);
    option.score += 0.001 * (hi - lo);
    options.push_back(option);
  }
}

// The lathe that the device is on, where a bore of the sketch may be turned in it; null otherwise.
const MachineTool* BoredOn(const HoldingDevice& device, const SetupSketch& base, const PieceState& piece, const Shop& shop) {
  const MachineTool* machine = shop.Find(device.on);
  if (machine == nullptr || machine->kind != MachineToolKind::kLathe || !AxisAligned(base.up_P) || !base.mates.empty()) return nullptr;
  const bool bores = std::any_of(base.cuts.begin(), base.cuts.end(), [&](const FeatureId& id) {
    const auto* hole = std::get_if<Hole>(&piece.part->Find(id)->shape);
    return hole != nullptr && hole->use == HoleUse::kBore;
  });
  return bores ? machine : nullptr;
}

Option InLathe(const SetupSketch& base, const HoldingDevice& device, HoldingKind holding, double score) {
  Option option{base, score};
  option.sketch.machine = device.on;
  option.sketch.device = device.name;
  option.sketch.holding = holding;
  option.sketch.zero = ZeroFrom::kEdges;
  return option;
}

// A block on the lathe, where its bore and the face round it can be had no other way or come truer.
void AddFourJawOption(std::vector<Option>& options, const SetupSketch& base, const PieceState& piece,
                      const HoldingDevice& chuck, const Shop& shop) {
  const MachineTool* machine = BoredOn(chuck, base, piece, shop);
  const Option option = InLathe(base, chuck, HoldingKind::kFourJaw, -3);
  if (machine != nullptr && HoldInFourJaw(option.sketch, piece, *machine, chuck, shop)) options.push_back(option);
}

// Clamped to the faceplate, where the four-jaw does not take it: too thin or too wide for its jaws, a bore wider
// than its own.
void AddFaceplateOption(std::vector<Option>& options, const SetupSketch& base, const PieceState& piece, const HoldingDevice& plate,
                        const Shop& shop) {
  const bool jaws = std::any_of(options.begin(), options.end(), [](const Option& o) { return o.sketch.holding == HoldingKind::kFourJaw; });
  const MachineTool* machine = jaws ? nullptr : BoredOn(plate, base, piece, shop);
  const Option option = InLathe(base, plate, HoldingKind::kFaceplate, -4);
  if (machine != nullptr && HoldOnFaceplate(option.sketch, piece, *machine, plate, shop)) options.push_back(option);
}

// Round work lying down. Above the vise, which grips it by its ends, where it is longer than it is thick.
void AddVeeOptions(std::vector<Option>& options, const SetupSketch& base, const PieceState& piece, const HoldingDevice& vee,
                   const Shop& shop) {
  const MachineTool* machine = shop.Find(vee.on);
  if (machine == nullptr || machine->kind == MachineToolKind::kLathe || piece.bands.empty()) return;
  const Vec3 axis = piece.part->turning_axis_P.direction;
  for (const Vec3& end : {axis, Vec3(-axis)}) {
    Option option{base, FinishedFace(piece, end) ? 4.0 : 2.0};
    option.sketch.machine = vee.on;
    option.sketch.device = vee.name;
    option.sketch.holding = HoldingKind::kVBlock;
    option.sketch.jaw_P = end;
    option.sketch.zero = ZeroFrom::kEdges;
    if (HoldInVee(option.sketch, piece, *machine, vee, shop)) options.push_back(option);
  }
}

// What the vise does not open for, or grips too low for its height: a finished face against the plate.
void AddPlateOptions(std::vector<Option>& options, const SetupSketch& base, const PieceState& piece, const HoldingDevice& plate,
                     const Shop& shop) {
  const MachineTool* machine = shop.Find(plate.on);
  if (machine == nullptr || machine->kind != MachineToolKind::kMill || !piece.bands.empty() || !AxisAligned(base.up_P)) return;
  for (const Vec3& side : JawSides(base, piece)) {
    if (!FinishedFace(piece, side)) continue;
    Option option{base, -1};
    option.sketch.machine = plate.on;
    option.sketch.device = plate.name;
    option.sketch.holding = HoldingKind::kAnglePlate;
    option.sketch.jaw_P = side;
    option.sketch.zero = ZeroFrom::kEdges;
    if (!HoldOnPlate(option.sketch, piece, *machine, plate, shop)) continue;
    option.score += (FinishedFace(piece, -base.up_P) ? 0.5 : 0) + (FinishedFace(piece, side.cross(base.up_P)) ? 0.25 : 0);
    options.push_back(option);
  }
}

void AddRotaryOptions(std::vector<Option>& options, const SetupSketch& base, const PieceState& piece, const HoldingDevice& rotary,
                      const Shop& shop) {
  const MachineTool* machine = shop.Find(rotary.on);
  if (machine == nullptr || machine->kind != MachineToolKind::kMill) return;
  if (!NeedsTurning(base, piece) && !IsBeyondTravel(base, piece, *machine) && !MayDivide(base, piece, *machine)) return;
  Option option{base, 0};
  option.sketch.machine = rotary.on;
  option.sketch.device = rotary.name;
  option.sketch.holding = HoldingKind::kRotaryTable;
  option.sketch.zero = ZeroFrom::kOutside;
  if (HoldOnRotary(option.sketch, piece, *machine, rotary, shop)) options.push_back(option);
}

// The bench holds anything.
void AddBenchOption(std::vector<Option>& options, const SetupSketch& base, const Shop& shop) {
  for (const MachineTool& machine : shop.machines) {
    if (machine.kind != MachineToolKind::kBench) continue;
    Option option{base, 0};
    option.sketch.machine = machine.name;
    option.sketch.device = HoldingDeviceId{};
    option.sketch.holding = HoldingKind::kBench;
    options.push_back(option);
    return;
  }
}

// A key's seat along a bore: broached on the bench where the shop has the broach, slotted in the lathe.
std::vector<Option> KeywayOptions(const SetupSketch& base, const PieceState& piece, const Shop& shop) {
  std::vector<Option> options;
  const Feature& feature = CutOf(piece, base.cuts.front());
  if (!HubBoreStands(base, piece, nullptr)) return options;
  if (FindKeywayTool(shop, *piece.part, feature, ToolKind::kBroach) != nullptr) {
    AddBenchOption(options, base, shop);
    for (Option& option : options) option.score = 10;
  }
  if (FindKeywayTool(shop, *piece.part, feature, ToolKind::kSlottingTool) != nullptr && !piece.bands.empty()) {
    for (const HoldingDevice& device : shop.holding) {
      if (device.kind != HoldingDeviceKind::kMandrel && !base.between_centres) AddChuckOptions(options, base, piece, device, shop, true);
    }
  }
  std::stable_sort(options.begin(), options.end(), [](const Option& a, const Option& b) { return a.score > b.score; });
  return options;
}

bool NeedsLathe(const SetupSketch& sketch, const Part& part) {
  if (sketch.part_off) return true;
  return std::any_of(sketch.cuts.begin(), sketch.cuts.end(),
                     [&](const FeatureId& id) { return IsTurned(part, *part.Find(id)); });
}

std::vector<Option> HoldingOptions(const SetupSketch& base, const PieceState& piece, const Shop& shop) {
  std::vector<Option> options;
  const Part& part = *piece.part;
  if (!base.cuts.empty() && IsHandWork(part, *part.Find(base.cuts.front()))) {
    AddBenchOption(options, base, shop);
    return options;
  }
  if (HasItsOutline(piece)) return options;
  if (CutsHubKeyway(base, piece)) return KeywayOptions(base, piece, shop);
  const bool axial = !piece.bands.empty() && std::abs(base.up_P.dot(part.turning_axis_P.direction)) > 1 - kSameDirection;
  for (const HoldingDevice& device : shop.holding) {
    if (device.kind == HoldingDeviceKind::kVise && !axial) {
      AddViseOptions(options, base, piece, device, shop);
    } else if (device.kind == HoldingDeviceKind::kClamps) {
      AddTableOptions(options, base, piece, device, shop);
    } else if (device.kind == HoldingDeviceKind::kFourJaw && piece.bands.empty()) {
      AddFourJawOption(options, base, piece, device, shop);
    } else if (device.kind == HoldingDeviceKind::kVBlock && !axial) {
      AddVeeOptions(options, base, piece, device, shop);
    } else if (device.kind == HoldingDeviceKind::kRotaryTable) {
      if (axial && !NeedsLathe(base, part)) AddRotaryOptions(options, base, piece, device, shop);
    } else if (axial) {
      AddChuckOptions(options, base, piece, device, shop, NeedsLathe(base, part));
    }
  }
  const bool in_vise = std::any_of(options.begin(), options.end(), [](const Option& o) { return o.sketch.holding != HoldingKind::kClampsOnTable; });
  const auto [low, high] = ExtentOf(piece, base.up_P);
  for (const HoldingDevice& device : shop.holding) {
    if (device.kind == HoldingDeviceKind::kAnglePlate && (!in_vise || high - low > kTall_mm)) AddPlateOptions(options, base, piece, device, shop);
  }
  for (const HoldingDevice& device : shop.holding) {
    if (device.kind == HoldingDeviceKind::kFaceplate && piece.bands.empty()) AddFaceplateOption(options, base, piece, device, shop);
  }
  std::stable_sort(options.begin(), options.end(), [](const Option& a, const Option& b) { return a.score > b.score; });
  return options;
}

// Simulates the cuts of a setup on the piece.
void ApplySetup(PieceState& piece, const SetupSketch& sketch) {
  for (const FeatureId& id : sketch.cuts) {
    const auto leave = sketch.leave_mm.find(id);
    ApplyCut(piece, *piece.part->Find(id), sketch.up_P, leave == sketch.leave_mm.end() ? 0 : leave->second);
  }
  if (sketch.part_off) ApplyPartOff(piece, *piece.part->Find(*sketch.part_off), sketch.part_off_leave_mm);
}

}  // namespace

namespace {

// The best holding that keeps the pins.
bool ChoosePinned(SetupSketch& sketch, const PieceState& piece, const Shop& shop, const std::vector<Pin>& pins, std::string* why) {
  if (pins.empty()) return ChooseHolding(sketch, piece, shop, why);
  const std::vector<Option> options = HoldingOptions(sketch, piece, shop);
  if (options.empty()) return ChooseHolding(sketch, piece, shop, why);
  const auto kept = std::find_if(options.begin(), options.end(), [&](const Option& o) { return KeepsSetupPins(pins, o.sketch); });
  if (kept != options.end()) {
    sketch = kept->sketch;
    return true;
  }
  if (why != nullptr) {
    *why = fmt::format("nothing that holds {} with {} towards the tool keeps the pin: {}", sketch.part.text(), SideWord(sketch.up_P), PinsAbout(pins, options.front().sketch));
  }
  return false;
}

}  // namespace

bool AddSetup(Route& route, PieceState& piece, SetupSketch sketch, const Shop& shop, const RouteWanted& deferred,
              std::string* why, std::optional<HoldingKind> wanted) {
  for (const FeatureId& id : sketch.cuts) {
    const auto leave = deferred.leave_mm.find(id);
    if (leave != deferred.leave_mm.end()) sketch.leave_mm[id] = leave->second;
  }
  if (wanted) {
    const std::vector<Option> options = HoldingOptions(sketch, piece, shop);
    const auto held = std::find_if(options.begin(), options.end(), [&](const Option& o) {
      return o.sketch.holding == *wanted && KeepsSetupPins(deferred.pins, o.sketch);
    });
    if (held == options.end()) return false;
    sketch = held->sketch;
  } else if (!ChoosePinned(sketch, piece, shop, deferred.pins, why)) {
    return false;
  }
  ApplySetup(piece, sketch);
  route.setups.push_back(sketch);
  return true;
}

SetupSketch SketchFor(const Part& part, const SideGroup& group) {
  SetupSketch sketch;
  sketch.part = part.name;
  sketch.up_P = group.up_P;
  sketch.cuts = group.cuts;
  return sketch;
}

namespace {

bool RunsOutSideways(const Part& part, const FeatureId& id) {
  const auto& shape = part.Find(id)->shape;
  return std::holds_alternative<StepCut>(shape) || std::holds_alternative<EdgeChamfer>(shape);
}

// The group in one setup; where nothing holds the piece for all of it, what runs out sideways and the
// rest in setups of their own, either first.
bool AddGroup(Route& route, PieceState& piece, const Part& part, const SideGroup& group, const Shop& shop,
              const RouteWanted& deferred, std::string* why) {
  if (AddSetup(route, piece, SketchFor(part, group), shop, deferred, why)) return true;
  SideGroup sideways{group.up_P, {}};
  SideGroup rest{group.up_P, {}};
  for (const FeatureId& id : group.cuts) (RunsOutSideways(part, id) ? sideways : rest).cuts.push_back(id);
  if (sideways.cuts.empty() || rest.cuts.empty()) return false;
  for (const auto& [first, second] : {std::pair(rest, sideways), std::pair(sideways, rest)}) {
    Route tried = route;
    PieceState state = piece;
    if (!AddSetup(tried, state, SketchFor(part, first), shop, deferred, why)) continue;
    if (!AddSetup(tried, state, SketchFor(part, second), shop, deferred, why)) continue;
    route = std::move(tried);
    piece = std::move(state);
    return true;
  }
  return false;
}

// The rest of the side first, then the bore alone: in the four-jaw where its corners would not clear the cross
// slide to be faced, or on the faceplate, clamps on the side that is finished.
bool AddBoreAfterFaces(Route& route, PieceState& piece, const Part& part, const SideGroup& bored, const SideGroup& rest, const Shop& shop,
                       const RouteWanted& deferred) {
  SideGroup faces{rest.up_P, rest.cuts};
  SideGroup bores{bored.up_P, {}};
  for (const FeatureId& id : bored.cuts) {
    (std::holds_alternative<PlanarFace>(part.Find(id)->shape) ? faces : bores).cuts.push_back(id);
  }
  SortCuts(part, faces.cuts);
  Route tried = route;
  PieceState state = piece;
  std::string why;
  if (!faces.cuts.empty() && !AddGroup(tried, state, part, faces, shop, deferred, &why)) return false;
  for (const HoldingKind holding : {HoldingKind::kFourJaw, HoldingKind::kFaceplate}) {
    if (!AddSetup(tried, state, SketchFor(part, bores), shop, deferred, &why, holding)) continue;
    route = std::move(tried);
    piece = std::move(state);
    return true;
  }
  return false;
}

// A bore on one axis with the face round it in the four-jaw, the rest of the side as ever.
bool AddGroupOnLathe(Route& route, PieceState& piece, const Part& part, const SideGroup& group, const Shop& shop,
                     const RouteWanted& deferred) {
  SideGroup bored{group.up_P, {}};
  SideGroup rest{group.up_P, {}};
  bool any = false;
  for (const FeatureId& id : group.cuts) {
    const auto& shape = part.Find(id)->shape;
    const auto* chamfer = std::get_if<RoundChamfer>(&shape);
    const auto* hole = std::get_if<Hole>(&(chamfer != nullptr ? part.Find(chamfer->on)->shape : shape));
    const bool bore = hole != nullptr && hole->use != HoleUse::kHole;
    any |= bore;
    (bore || std::holds_alternative<PlanarFace>(shape) ? bored : rest).cuts.push_back(id);
  }
  if (!any) return false;
  Route tried = route;
  PieceState state = piece;
  std::string why;
  if (!AddSetup(tried, state, SketchFor(part, bored), shop, deferred, &why, HoldingKind::kFourJaw)) {
    return AddBoreAfterFaces(route, piece, part, bored, rest, shop, deferred);
  }
  if (!rest.cuts.empty() && !AddGroup(tried, state, part, rest, shop, deferred, &why)) return false;
  route = std::move(tried);
  piece = std::move(state);
  return true;
}

bool HasStep(const Part& part, const SideGroup& group) {
  return std::any_of(group.cuts.begin(), group.cuts.end(),
                     [&](const FeatureId& id) { return std::holds_alternative<StepCut>(part.Find(id)->shape); });
}

// A slanting cut is counted from its two faces: both are cut by then.
bool FacesStand(const Part& part, const PieceState& piece, const SideGroup& group, std::string* why) {
  for (const FeatureId& id : group.cuts) {
    const auto* chamfer = std::get_if<EdgeChamfer>(&part.Find(id)->shape);
    if (chamfer == nullptr) continue;
    for (const FeatureId& face : {chamfer->face_a, chamfer->face_b}) {
      if (piece.IsMade(face) || IsAsSupplied(*part.Find(face)) || IsCarried(part, *part.Find(face))) continue;
      *why = fmt::format("{} of {} comes before its face {}", id.text(), part.name.text(), face.text());
      return false;
    }
  }
  return true;
}

// Slanting sides before the first side with a step, which may take the edge that they would stand on.
std::vector<SideGroup> SlantsBeforeSteps(const Part& part, std::vector<SideGroup> groups) {
  const auto step = std::find_if(groups.begin(), groups.end(), [&](const SideGroup& g) { return HasStep(part, g); });
  std::stable_partition(step, groups.end(), [](const SideGroup& g) { return !AxisAligned(g.up_P); });
  return groups;
}

// Squaring order: a, b, -b, -a, then the ends; slanting sides last.
std::vector<SideGroup> BlockOrder(std::vector<SideGroup> groups, const Vec3& a, const Vec3& b) {
  const Vec3 c = a.cross(b);
  const std::vector<Vec3> order = {a, b, -b, -a, c, -c};
  const auto rank = [&](const SideGroup& g) {
    for (std::size_t i = 0; i < order.size(); ++i) {
      if (SameWay(order[i], g.up_P)) return i;
    }
    return order.size();
  };
  std::stable_sort(groups.begin(), groups.end(),
                   [&](const SideGroup& x, const SideGroup& y) { return rank(x) < rank(y); });
  return groups;
}

// One order of the sides; with `lathe`, bores go to the four-jaw wherever it takes them.
std::optional<Route> BlockRoute(const Part& part, const Shop& shop, const RouteWanted& deferred, const std::vector<SideGroup>& order,
                                const std::vector<SideGroup>& bench, bool lathe, std::string* why) {
  Route route;
  PieceState piece = RawPiece(part);
  bool turned = false;
  for (const SideGroup& group : order) {
    if (!FacesStand(part, piece, group, why)) return std::nullopt;
    if (lathe && AddGroupOnLathe(route, piece, part, group, shop, deferred)) {
      turned = true;
      continue;
    }
    if (!AddGroup(route, piece, part, group, shop, deferred, why)) return std::nullopt;
  }
  for (const SideGroup& group : bench) {
    if (!AddSetup(route, piece, SketchFor(part, group), shop, deferred, why)) return std::nullopt;
  }
  if (lathe && !turned) return std::nullopt;
  return route;
}

std::vector<Route> BlockRoutes(const Part& part, const Shop& shop, const RouteWanted& deferred,
                               std::vector<std::string>* why) {
  std::vector<FeatureId> own = OwnCuts(part, deferred);
  const std::vector<SideGroup> bench = BenchGroups(part, TakeHandWork(part, own), deferred.pins);
  const std::vector<SideGroup> groups = GroupBySide(part, own, deferred.pins);
  std::vector<std::vector<SideGroup>> orders;
  for (int i = 0; i < 6; ++i) {
    for (int j = 0; j < 6; ++j) {
      const Vec3 a = Vec3::Unit(i / 2) * (i % 2 == 0 ? 1 : -1);
      const Vec3 b = Vec3::Unit(j / 2) * (j % 2 == 0 ? 1 : -1);
      if (std::abs(a.dot(b)) < kSameDirection) orders.push_back(BlockOrder(groups, a, b));
    }
  }
  const bool slants = std::any_of(groups.begin(), groups.end(), [](const SideGroup& g) { return !AxisAligned(g.up_P); });
  const bool steps = std::any_of(groups.begin(), groups.end(), [&](const SideGroup& g) { return HasStep(part, g); });
  std::vector<Route> routes;
  for (const std::vector<SideGroup>& order : orders) {
    std::string reason;
    auto route = BlockRoute(part, shop, deferred, order, bench, false, &reason);
    if (!route && why != nullptr) why->push_back(reason);
    if (!route && slants && steps) route = BlockRoute(part, shop, deferred, SlantsBeforeSteps(part, order), bench, false, &reason);
    if (route) routes.push_back(*route);
  }
  for (const std::vector<SideGroup>& order : orders) {
    std::string reason;
    const auto route = BlockRoute(part, shop, deferred, order, bench, true, &reason);
    if (!route) continue;
    routes.push_back(*route);
    if (deferred.pins.empty()) break;
  }
  return routes;
}

}  // namespace

bool ChooseHolding(SetupSketch& sketch, const PieceState& piece, const Shop& shop, std::string* why) {
  const std::vector<Option> options = HoldingOptions(sketch, piece, shop);
  if (options.empty()) {
    if (why != nullptr) {
      *why = fmt::format("nothing in the shop holds {} with {} towards the tool", sketch.part.text(), SideWord(sketch.up_P));
      if (CutsHubKeyway(sketch, piece)) {
        *why = WhyNoKeyway(sketch, piece, shop);
        return false;
      }
      // The first device that could have done it says why it does not.
      for (const HoldingDevice& device : shop.holding) {
        const MachineTool* machine = shop.Find(device.on);
        if (machine == nullptr) continue;
        SetupSketch probe = sketch;
        const bool on_lathe = machine->kind == MachineToolKind::kLathe;
        if (!piece.bands.empty() && device.kind == HoldingDeviceKind::kThreeJaw && on_lathe == NeedsLathe(sketch, *piece.part)) {
          const auto held = HoldInChuck(probe, piece, *machine, device, shop);
          if (!held) *why += ": " + held.error().message;
          break;
        }
        if (piece.bands.empty() && device.kind == HoldingDeviceKind::kVise) {
          for (const Vec3& side : JawSides(sketch, piece)) {
            probe.jaw_P = side;
            const auto held = HoldInVise(probe, piece, *machine, device, shop);
            if (!held) *why += ": " + held.error().message;
            break;
          }
          break;
        }
      }
    }
    return false;
  }
  sketch = options.front().sketch;
  return true;
}

namespace {

// A slanting setup may be set less finely and sooner.
void AddAngleWays(std::vector<SetupSketch>& variants, const SetupSketch& sketch, const Shop& shop) {
  if (AxisAligned(sketch.up_P)) return;
  const std::vector<AngleBy> ways = WaysToSet(shop);
  for (std::size_t i = 1; i < ways.size(); ++i) {  // the first is taken where none is named
    variants.push_back(sketch);
    variants.back().angle_by = ways[i];
  }
}

}  // namespace

std::vector<SetupSketch> Variants(const SetupSketch& sketch, const PieceState& piece, const Shop& shop) {
  std::vector<SetupSketch> variants;
  SetupSketch base = sketch;
  base.zero = ZeroFrom::kEdges;
  base.zero_on.reset();
  base.angle_by.reset();
  for (const Option& option : HoldingOptions(base, piece, shop)) {
    variants.push_back(option.sketch);
    AddAngleWays(variants, option.sketch, shop);
    if (option.sketch.holding != HoldingKind::kViseBedFirst && option.sketch.holding != HoldingKind::kViseJawFirst) continue;
    if (!NeedsPosition(sketch, piece)) continue;
    for (const FeatureId& id : piece.made) {
      const Feature& feature = *piece.part->Find(id);
      const auto* hole = std::get_if<Hole>(&feature.shape);
      if (hole == nullptr || hole->use != HoleUse::kBore || hole->entries_P_mm.size() != 1) continue;
      const bool open_this_way = SameWay(-hole->into_P, sketch.up_P) || (hole->through && SameWay(hole->into_P, sketch.up_P));
      if (!open_this_way) continue;
      SetupSketch on_bore = option.sketch;
      on_bore.zero = ZeroFrom::kBore;
      on_bore.zero_on = id;
      variants.push_back(on_bore);
    }
  }
  return variants;
}

std::vector<Route> FindRoutes(const Part& part, const Shop& shop, const Deferred& deferred, std::vector<std::string>* why) {
  return FindPinnedRoutes(part, shop, deferred, {}, why);
}

std::vector<Route> FindPinnedRoutes(const Part& part, const Shop& shop, const Deferred& deferred, const std::vector<Pin>& pins,
                                    std::vector<std::string>* why) {
  for (const FeatureId& id : OwnCuts(part, deferred)) {
    if (!ToolSides(part, *part.Find(id)).empty()) continue;
    const bool flats = std::holds_alternative<Flats>(part.Find(id)->shape);
    if (why != nullptr) {
      why->push_back(flats ? fmt::format("{} of {} stand between larger diameters, where a cutter comes at one flat at a time: write each as a flat of "
                                         "its own (count = 1), they are milled one after the other in the V-blocks",
                                         id.text(), part.name.text())
                           : fmt::format("no tool reaches {} of {} from any side", id.text(), part.name.text()));
    }
    return {};
  }
  const RouteWanted wanted{deferred, SetupPinsOf(pins, part.name)};
  return part.envelope == EnvelopeKind::kBlock ? BlockRoutes(part, shop, wanted, why) : TurnedRoutes(part, shop, wanted, why);
}

}  // namespace fitwright::planner
