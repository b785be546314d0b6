// Small shops, machines and plans made by hand, for tests of the error model.
#pragma once

#include <cmath>
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"

namespace fitwright::testing {

inline std::vector<std::string> SplitCsvLine(const std::string& line) {
  std::vector<std::string> cells(1);
  bool quoted = false;
  for (const char c : line) {
    if (c == '"') {
      quoted = !quoted;
    } else if (c == ',' && !quoted) {
      cells.emplace_back();
    } else {
      cells.back() += c;
    }
  }
  return cells;
}

inline double NumberOr0(const std::string& text) { return text.empty() ? 0 : std::stod(text); }

// The spreads that ship, as the program reads them.
inline std::map<std::string, Spread> ShippedSpreads() {
  std::map<std::string, Spread> spreads;
  std::ifstream in(std::string(FITWRIGHT_SOURCE_DIR) + "/data/spreads.csv");
  std::string line;
  std::getline(in, line);
  while (std::getline(in, line)) {
    const auto cells = SplitCsvLine(line);
    if (cells.size() < 12) continue;
    Spread s;
    s.id = cells[0];
    s.words = cells[1];
    s.unit = cells[2];
    s.careful = {NumberOr0(cells[3]), NumberOr0(cells[4])};
    s.usual = {NumberOr0(cells[5]), NumberOr0(cells[6])};
    s.worn = {NumberOr0(cells[7]), NumberOr0(cells[8])};
    s.distribution = EnumOf<SpreadDistribution>(cells[9]).value_or(SpreadDistribution::kNormal);
    s.scope = cells[10];
    s.basis = cells[11];
    spreads[s.id] = s;
  }
  return spreads;
}

inline Tool MakeTool(const std::string& name, ToolKind kind, double diameter_mm) {
  Tool tool;
  tool.name = ToolId(name);
  tool.kind = kind;
  tool.words = name;
  tool.on = "any";
  tool.diameter_mm = diameter_mm;
  return tool;
}

inline Instrument MakeInstrument(const std::string& name, InstrumentKind kind, double from_mm,
                                 double to_mm) {
  Instrument i;
  i.name = InstrumentId(name);
  i.kind = kind;
  i.words = name;
  i.from_mm = from_mm;
  i.to_mm = to_mm;
  return i;
}

// A mill with a vise, a lathe with a three-jaw, a bench; no spreads.
inline Shop BareShop() {
  Shop shop;
  for (const auto& [name, kind] :
       {std::pair("mill", MachineToolKind::kMill), std::pair("lathe", MachineToolKind::kLathe),
        std::pair("bench", MachineToolKind::kBench)}) {
    MachineTool m;
    m.name = MachineToolId(name);
    m.kind = kind;
    m.words = name;
    shop.machines.push_back(m);
  }
  HoldingDevice vise;
  vise.name = HoldingDeviceId("vise");
  vise.kind = HoldingDeviceKind::kVise;
  HoldingDevice chuck;
  chuck.name = HoldingDeviceId("chuck");
  chuck.kind = HoldingDeviceKind::kThreeJaw;
  shop.holding = {vise, chuck};
  for (const double d : {2.5, 3.2, 4.5, 8.0}) {
    shop.tools.push_back(
        MakeTool("drill_" + std::to_string(static_cast<int>(d * 10)), ToolKind::kDrill, d));
  }
  shop.tools.push_back(MakeTool("spot_drill", ToolKind::kSpotDrill, 6));
  shop.tools.push_back(MakeTool("tap_m3", ToolKind::kTap, 3));
  shop.tools.push_back(MakeTool("reamer_8", ToolKind::kReamer, 8));
  shop.instruments = {MakeInstrument("mike_0_25", InstrumentKind::kMicrometer, 0, 25),
                      MakeInstrument("mike_25_50", InstrumentKind::kMicrometer, 25, 50),
                      MakeInstrument("bore_gauge", InstrumentKind::kBoreGauge, 18, 60),
                      MakeInstrument("caliper", InstrumentKind::kCaliper, 0, 150)};
  return shop;
}

inline Shop ShippedShop() {
  Shop shop = BareShop();
  shop.spreads = ShippedSpreads();
  return shop;
}

// Everything 0 but what is named, in the spread's own unit.
inline Shop ShopWithOnly(const std::map<std::string, double>& spreads) {
  Shop shop = BareShop();
  for (auto [id, spread] : ShippedSpreads()) {
    const auto it = spreads.find(id);
    if (it == spreads.end()) continue;
    spread.usual.spread = it->second;
    spread.careful = spread.worn = spread.usual;
    spread.origin = SpreadOrigin::kStated;
    shop.spreads[id] = spread;
  }
  return shop;
}

inline Size MakeSize(double lower_mm, double upper_mm) {
  Size size;
  size.lower_mm = lower_mm;
  size.upper_mm = upper_mm;
  size.nominal_mm = 0.5 * (lower_mm + upper_mm);
  size.origin = LimitsOrigin::kLimits;
  return size;
}

inline Feature MakeFace(const std::string& name, const Vec3& normal, double at_mm) {
  PlanarFace face;
  face.normal_P = normal;
  face.at = MakeSize(at_mm - 0.1, at_mm + 0.1);
  return {FeatureId(name), face, Finish::kAsMachined, false, {}};
}

// A block x0..x1 etc. with its six faces: top bottom front rear left right = +z -z +x -x +y -y.
inline Part MakeBlock(const std::string& name, const Vec3& low, const Vec3& high) {
  Part part;
  part.name = PartId(name);
  part.material = "aluminium";
  part.envelope = EnvelopeKind::kBlock;
  part.block_P = {low, high};
  part.features = {
      MakeFace("top", Vec3::UnitZ(), high.z()),   MakeFace("bottom", -Vec3::UnitZ(), -low.z()),
      MakeFace("front", Vec3::UnitX(), high.x()), MakeFace("rear", -Vec3::UnitX(), -low.x()),
      MakeFace("left", Vec3::UnitY(), high.y()),  MakeFace("right", -Vec3::UnitY(), -low.y())};
  return part;
}

inline Feature MakeHoles(const std::string& name, const Vec3& into, std::vector<Vec3> entries,
                         const Size& diameter, double depth_mm, bool through) {
  Hole hole;
  hole.into_P = into;
  hole.entries_P_mm = std::move(entries);
  hole.diameter = diameter;
  hole.depth_mm = depth_mm;
  hole.through = through;
  return {FeatureId(name), hole, Finish::kAsMachined, false, {}};
}

inline Feature MakeOutside(const std::string& name, const Axis3& axis, double from_mm, double to_mm,
                           const Size& diameter) {
  OuterDiameter outer;
  outer.axis_P = axis;
  outer.from_mm = from_mm;
  outer.to_mm = to_mm;
  outer.diameter = diameter;
  return {FeatureId(name), outer, Finish::kAsMachined, false, {}};
}

// S axes in P: x, z; y follows.
inline Pose SetupPose(const Vec3& x_P, const Vec3& z_P, const Vec3& zero_P) {
  Pose X_PS = Pose::Identity();
  X_PS.linear().col(0) = x_P;
  X_PS.linear().col(1) = z_P.cross(x_P);
  X_PS.linear().col(2) = z_P;
  X_PS.translation() = zero_P;
  return X_PS;
}

class PlanBuilder {
 public:
  Setup& AddSetup(const std::string& part, const std::string& machine, HoldingKind holding,
                  const std::string& device, const Pose& X_PS) {
    Setup setup;
    setup.number = static_cast<int>(plan.setups.size()) + 1;
    setup.id = SetupId("s" + std::to_string(setup.number));
    setup.machine = MachineToolId(machine);
    setup.holding = holding;
    setup.device = HoldingDeviceId(device);
    setup.parts.push_back({PartId(part), X_PS, true});
    setup.time_min = 10;
    plan.setups.push_back(setup);
    return plan.setups.back();
  }
  // point and normal in P of the setup's first part; an empty feature is raw stock.
  void Touch(ContactKind kind, const std::string& feature, const Vec3& point_P,
             const Vec3& normal_P, bool lifts = false) {
    Setup& setup = plan.setups.back();
    setup.contacts.push_back({feature.empty() ? ContactKind::kRough : kind,
                              {setup.parts.front().part, FeatureId(feature)},
                              point_P,
                              normal_P,
                              lifts});
  }
  Step& Cut(Operation operation, const std::string& feature, const std::string& tool = "",
            const std::string& part = "") {
    Setup& setup = plan.setups.back();
    Step step;
    step.id = StepId(setup.id.text() + "." + std::to_string(setup.steps.size() + 1));
    step.operation = operation;
    const PartId on = part.empty() ? setup.parts.front().part : PartId(part);
    if (!feature.empty()) step.features = {{on, FeatureId(feature)}};
    step.tool = ToolId(tool);
    step.finishes = true;
    step.time_min = 5;
    setup.steps.push_back(step);
    return setup.steps.back();
  }
  Plan plan;
};

// Bed first: bed 3, fixed jaw 2, stop 1, all on named faces of a block in the pose X_PS. `lifts`:
// the bed contact at the moving jaw.
inline void SeatBedFirst(PlanBuilder& b, const Part& part, const Pose& X_PS, const std::string& bed,
                         const std::string& jaw, const std::string& stop) {
  const Pose X_SP = X_PS.inverse();
  const Vec3 p = X_SP * part.block_P.min_mm;
  const Vec3 q = X_SP * part.block_P.max_mm;
  const Vec3 low = p.cwiseMin(q);
  const Vec3 high = p.cwiseMax(q);
  const Vec3 mid = 0.5 * (low + high);
  const auto touch = [&](ContactKind kind, const std::string& f, const Vec3& at_S, const Vec3& n_S,
                         bool lifts = false) {
    b.Touch(kind, f, X_PS * at_S, X_PS.linear() * n_S, lifts);
  };
  touch(ContactKind::kBed, bed, {low.x(), high.y(), low.z()}, Vec3::UnitZ());
  touch(ContactKind::kBed, bed, {high.x(), high.y(), low.z()}, Vec3::UnitZ());
  touch(ContactKind::kBed, bed, {mid.x(), low.y(), low.z()}, Vec3::UnitZ(), true);
  touch(ContactKind::kFixedJaw, jaw, {low.x(), high.y(), mid.z()}, -Vec3::UnitY());
  touch(ContactKind::kFixedJaw, jaw, {high.x(), high.y(), mid.z()}, -Vec3::UnitY());
  touch(ContactKind::kStop, stop, {low.x(), mid.y(), mid.z()}, Vec3::UnitX());
}

// A block with a bored seat and four tapped holes; a cover with a spigot and four clearance holes.
inline Machine CoverMachine(double clearance_mm = 3.2) {
  Machine machine;
  machine.name = "cover on block";
  Part block = MakeBlock("block", {-25, -25, 0}, {25, 25, 30});
  block.features.push_back(
      MakeHoles("bore", -Vec3::UnitZ(), {{0, 0, 30}}, MakeSize(30, 30.021), 30, true));
  std::get<Hole>(block.features.back().shape).use = HoleUse::kBore;
  std::vector<Vec3> places = {{18, 18, 30}, {-18, 18, 30}, {-18, -18, 30}, {18, -18, 30}};
  block.features.push_back(
      MakeHoles("tapped", -Vec3::UnitZ(), places, MakeSize(2.45, 2.6), 9, false));
  std::get<Hole>(block.features.back().shape).thread = InternalThread{"M3", 3, 0.5, 7};
  Part cover;
  cover.name = PartId("cover");
  cover.material = "aluminium";
  cover.envelope = EnvelopeKind::kTurned;
  const Axis3 axis;
  cover.features.push_back(MakeOutside("spigot", axis, -8, 0, MakeSize(29.980, 29.993)));
  cover.features.push_back(MakeOutside("flange", axis, 0, 8, MakeSize(63.9, 64.1)));
  cover.features.push_back(MakeFace("seat", -Vec3::UnitZ(), 0));
  for (Vec3& p : places) p.z() = 8;
  cover.features.push_back(MakeHoles("holes", -Vec3::UnitZ(), places,
                                     MakeSize(clearance_mm - 0.05, clearance_mm + 0.05), 8, true));
  machine.parts = {block, cover};
  Pose up = Pose::Identity();
  up.translation() = Vec3(0, 0, 30);
  machine.uses = {{PartId("block"), 1, Pose::Identity()}, {PartId("cover"), 1, up}};
  const auto ref = [](const char* part, const char* feature) {
    return FeatureRef{PartId(part), FeatureId(feature)};
  };
  Joint face{JointId("face"),
             JointKind::kFaceContact,
             ref("block", "top"),
             ref("cover", "seat"),
             {},
             FloatKind::kChance,
             true,
             -Vec3::UnitZ(),
             true};
  Joint spigot = face;
  spigot.name = JointId("spigot");
  spigot.kind = JointKind::kSpigotInBore;
  spigot.fixed = ref("block", "bore");
  spigot.moving = ref("cover", "spigot");
  Joint screws = face;
  screws.name = JointId("screws");
  screws.kind = JointKind::kScrewedPattern;
  screws.fixed = ref("block", "tapped");
  screws.moving = ref("cover", "holes");
  screws.screw = Screw{"M3", 14, 3, 0.5};
  machine.joints = {face, spigot, screws};
  Requirement enter;
  enter.name = RequirementId("enter");
  enter.kind = RequirementKind::kScrewsEnter;
  enter.joint = JointId("screws");
  Requirement fit;
  fit.name = RequirementId("fit");
  fit.kind = RequirementKind::kClearance;
  fit.a = ref("cover", "spigot");
  fit.b = ref("block", "bore");
  fit.lower = 0.007;
  fit.upper = 0.041;
  Requirement square;
  square.name = RequirementId("square");
  square.kind = RequirementKind::kSquare;
  square.a = ref("block", "bore");
  square.b = ref("block", "bottom");
  square.upper = 0.7e-3;
  machine.requirements = {enter, fit, square};
  return machine;
}

// The cover: turned in one chucking, drilled on the mill on its spigot's axis.
inline void AddCoverSetups(PlanBuilder& b) {
  const Pose lathe = SetupPose(Vec3::UnitX(), -Vec3::UnitZ(), {0, 0, -8});
  b.AddSetup("cover", "lathe", HoldingKind::kThreeJaw, "chuck", lathe);
  b.Touch(ContactKind::kRough, "", {0, 0, 8}, -Vec3::UnitZ());
  Step& spigot = b.Cut(Operation::kTurn, "spigot");
  spigot.features.push_back({PartId("cover"), FeatureId("seat")});
  Aim aim;
  aim.kind = AimKind::kBringToSize;
  aim.lower_mm = 29.980;
  aim.upper_mm = 29.993;
  aim.target_mm = 29.989;
  spigot.aim = aim;
  b.Cut(Operation::kTurn, "flange");
  const Pose mill = SetupPose(Vec3::UnitX(), Vec3::UnitZ(), {0, 0, 8});
  Setup& setup = b.AddSetup("cover", "mill", HoldingKind::kThreeJaw, "chuck", mill);
  setup.opening_mm = 30;
  for (int i = 0; i < 3; ++i) {
    const double a = kPi / 2 + i * 2 * kPi / 3;
    b.Touch(ContactKind::kChuckFace, "seat", {28 * std::cos(a), 28 * std::sin(a), 0},
            Vec3::UnitZ());
  }
  b.Touch(ContactKind::kChuckGrip, "spigot", {-15, 0, -4}, Vec3::UnitX());
  b.Touch(ContactKind::kChuckGrip, "spigot", {0, -15, -4}, Vec3::UnitY());
  b.Touch(ContactKind::kSetBySquare, "", {32, 0, 4}, Vec3::UnitY());
  b.Touch(ContactKind::kOuterCentred, "spigot", {0, 0, 8}, Vec3::UnitX());
  b.Touch(ContactKind::kOuterCentred, "spigot", {0, 0, 8}, Vec3::UnitY());
  b.Cut(Operation::kSpot, "holes", "spot_drill").finishes = false;
  b.Cut(Operation::kDrill, "holes", "drill_32");
}

// The block: bottom, then top and bore from it, sides raw.
inline void AddBlockSetups(PlanBuilder& b, const Machine& machine, bool tap_by_coordinates) {
  const Part& block = machine.parts[0];
  const Pose down = SetupPose(Vec3::UnitX(), -Vec3::UnitZ(), {-25, -25, 0});
  b.AddSetup("block", "mill", HoldingKind::kViseBedFirst, "vise", down);
  SeatBedFirst(b, block, down, "", "", "");
  b.Cut(Operation::kFace, "bottom");
  const Pose up = SetupPose(Vec3::UnitX(), Vec3::UnitZ(), {0, 0, 30});
  b.AddSetup("block", "mill", HoldingKind::kViseBedFirst, "vise", up).zero.witness = "check";
  SeatBedFirst(b, block, up, "bottom", "", "");
  b.Cut(Operation::kFace, "top");
  Step& bore = b.Cut(Operation::kBore, "bore");
  Aim aim;
  aim.kind = AimKind::kBringToSize;
  aim.lower_mm = 30;
  aim.upper_mm = 30.021;
  aim.target_mm = 30.007;
  bore.aim = aim;
  if (!tap_by_coordinates) return;
  b.AddSetup("block", "mill", HoldingKind::kViseBedFirst, "vise", up);
  SeatBedFirst(b, block, up, "bottom", "", "");
  b.Touch(ContactKind::kBoreCentred, "bore", {0, 0, 30}, Vec3::UnitX());
  b.Touch(ContactKind::kBoreCentred, "bore", {0, 0, 30}, Vec3::UnitY());
  b.Cut(Operation::kSpot, "tapped", "spot_drill").finishes = false;
  b.Cut(Operation::kDrill, "tapped", "drill_25").finishes = false;
  b.Cut(Operation::kTap, "tapped", "tap_m3");
}

inline Plan CoverByCoordinates(const Machine& machine) {
  PlanBuilder b;
  AddBlockSetups(b, machine, true);
  AddCoverSetups(b);
  return b.plan;
}

// `first` holes spotted, tapped and screwed down before the rest.
inline Plan CoverSpottedThrough(const Machine& machine, int first) {
  PlanBuilder b;
  AddBlockSetups(b, machine, false);
  AddCoverSetups(b);
  const Pose up = SetupPose(Vec3::UnitX(), Vec3::UnitZ(), {0, 0, 30});
  b.AddSetup("block", "mill", HoldingKind::kViseBedFirst, "vise", up);
  SeatBedFirst(b, machine.parts[0], up, "bottom", "", "");
  Pose cover = Pose::Identity();
  b.plan.setups.back().parts.push_back({PartId("cover"), cover, false});
  std::vector<std::vector<int>> groups;
  std::vector<int> rest;
  for (int i = 0; i < 4; ++i) {
    if (i < first) {
      groups.push_back({i});
    } else {
      rest.push_back(i);
    }
  }
  groups.push_back(rest);
  for (const auto& group : groups) {
    Step& on = b.Cut(Operation::kAssemble, "");
    on.parts = {PartId("cover")};
    on.joints = {JointId("face"), JointId("spigot"), JointId("screws")};
    Step& spot = b.Cut(Operation::kSpotThrough, "tapped", "drill_32");
    spot.through = FeatureRef{PartId("cover"), FeatureId("holes")};
    spot.holes = group;
    b.Cut(Operation::kTakeApart, "").parts = {PartId("cover")};
    b.Cut(Operation::kDrill, "tapped", "drill_25").holes = group;
    b.Cut(Operation::kTap, "tapped", "tap_m3").holes = group;
  }
  return b.plan;
}

}  // namespace fitwright::testing
