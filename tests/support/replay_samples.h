// A small machine with a plan written by hand: a block that is faced, drilled and tapped in the
// vise, a plate through whose hole it is spotted, and a flanged bush turned and parted off.
#pragma once

#include <fmt/format.h>

#include <string>
#include <utility>
#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"

namespace fitwright::samples {

inline Size Exact(double mm) { return {mm, mm, mm, LimitsOrigin::kLimits, {}}; }

inline Tool SpindleTool(const std::string& name, ToolKind kind, double diameter, double point_deg,
                        double flute, double stick_out) {
  Tool t;
  t.name = ToolId(name);
  t.words = name;
  t.kind = kind;
  t.on = kind == ToolKind::kEndMill ? "mill" : "any";
  t.diameter_mm = diameter;
  t.point_deg = point_deg;
  t.flute_mm = flute;
  t.stick_out_mm = stick_out;
  t.shank_mm = diameter;
  t.holder_diameter_mm = 36;
  t.holder_length_mm = 70;
  t.centre_cutting = kind != ToolKind::kEndMill;
  return t;
}

inline Tool LatheTool(const std::string& name, ToolKind kind, std::vector<Vec2> section) {
  Tool t;
  t.name = ToolId(name);
  t.words = name;
  t.kind = kind;
  t.on = "lathe";
  t.section_T_mm = std::move(section);
  return t;
}

inline std::vector<Tool> SampleTools() {
  std::vector<Tool> tools;
  tools.push_back(SpindleTool("mill_16", ToolKind::kEndMill, 16, 180, 32, 50));
  tools.push_back(SpindleTool("mill_12", ToolKind::kEndMill, 12, 180, 26, 53));
  tools.push_back(SpindleTool("spot_6", ToolKind::kSpotDrill, 6, 90, 20, 46));
  for (const double d : {2.5, 3.3, 4.5, 5.0, 6.0, 10.0}) {
    tools.push_back(SpindleTool(fmt::format("drill_{:g}", d), ToolKind::kDrill, d, 118, 10 + 8 * d,
                                30 + 9 * d));
  }
  Tool tap = SpindleTool("tap_m4", ToolKind::kTap, 4, 180, 13, 30);
  tap.tip_flat_mm = 1.4;
  tap.thread = "M4";
  tools.push_back(tap);
  Tool head = SpindleTool("head_8", ToolKind::kBoringHead, 40, 180, 32, 32);
  head.shank_mm = 8;
  head.diameter_min_mm = 10;
  head.reach_mm = 32;
  head.rpm_max = 900;
  tools.push_back(head);
  tools.push_back(
      LatheTool("knife", ToolKind::kTurningTool, {{0, 0}, {45, 3.937}, {45, 12}, {1.05, 12}}));
  tools.push_back(LatheTool("parting_2", ToolKind::kPartingTool,
                            {{0, 0}, {3, 0.131}, {51, 0.131}, {51, 1.869}, {3, 1.869}, {0, 2}}));
  Tool bar = LatheTool("bar_8", ToolKind::kBoringBar,
                       {{0, 0}, {-0.157, 3}, {-1, 4}, {-1, 32}, {-9, 32}, {-9, 0.787}});
  bar.diameter_min_mm = 9.5;
  bar.shank_mm = 8;
  bar.reach_mm = 32;
  bar.stick_out_mm = 32;
  tools.push_back(bar);
  return tools;
}

inline Shop SampleShop() {
  Shop shop;
  MachineTool mill;
  mill.name = MachineToolId("mill");
  mill.kind = MachineToolKind::kMill;
  mill.travel_mm = {400, 145, 300};
  mill.daylight_mm = 400;
  mill.quill_mm = 75;
  mill.nose_diameter_mm = 60;
  mill.speeds_rpm = {100, 320, 950, 2500};
  mill.feed_max_mm_min = 300;
  MachineTool lathe;
  lathe.name = MachineToolId("lathe");
  lathe.kind = MachineToolKind::kLathe;
  lathe.travel_mm = {130, 0, 450};
  lathe.swing_mm = 230;
  lathe.swing_cross_slide_mm = 130;
  lathe.between_centres_mm = 500;
  lathe.spindle_bore_mm = 26;
  lathe.speeds_rpm = {125, 370, 760, 1080};
  lathe.feed_max_mm_min = 300;
  lathe.x_reads_diameter = true;
  lathe.z_sense = -1;
  shop.machines = {mill, lathe};
  HoldingDevice vise;
  vise.name = HoldingDeviceId("vise");
  vise.kind = HoldingDeviceKind::kVise;
  vise.on = mill.name;
  vise.opening_mm = 125;
  vise.jaw_width_mm = 110;
  vise.jaw_height_mm = 40;
  vise.jaw_thickness_mm = 20;
  vise.bed_height_mm = 50;
  vise.parallels_mm = {20, 28, 30, 34};
  vise.parallel_thickness_mm = 5;
  HoldingDevice chuck;
  chuck.name = HoldingDeviceId("three_jaw");
  chuck.kind = HoldingDeviceKind::kThreeJaw;
  chuck.on = lathe.name;
  chuck.body_diameter_mm = 125;
  chuck.body_length_mm = 62;
  chuck.jaw_reach_mm = 26;
  chuck.grip_min_mm = 3;
  chuck.grip_max_mm = 110;
  chuck.bore_mm = 30;
  shop.holding = {vise, chuck};
  shop.tools = SampleTools();
  return shop;
}

inline Feature MakeFeature(const std::string& name, FeatureShape shape) {
  Feature f;
  f.name = FeatureId(name);
  f.shape = std::move(shape);
  return f;
}

inline Hole MakeHole(std::vector<Vec3> entries, const Vec3& into, double diameter, double depth,
                     bool through) {
  Hole hole;
  hole.entries_P_mm = std::move(entries);
  hole.into_P = into;
  hole.diameter = Exact(diameter);
  hole.depth_mm = depth;
  hole.through = through;
  return hole;
}

inline Part SampleBlock() {
  Part part;
  part.name = PartId("block");
  part.block_P = {{-20, -15, 0}, {20, 15, 20}};
  part.stock.box_P = {{-20, -15, 0}, {20, 15, 22}};
  part.features.push_back(
      MakeFeature("through", MakeHole({{0, 0, 20}}, -Vec3::UnitZ(), 5, 20, true)));
  Hole tapped = MakeHole({{-12, 0, 20}, {12, 0, 20}}, -Vec3::UnitZ(), 3.3, 10, false);
  tapped.thread = InternalThread{"M4", 4, 0.7, 8};
  part.features.push_back(MakeFeature("tapped", tapped));
  part.features.push_back(
      MakeFeature("cross", MakeHole({{10, -15, 6}}, Vec3::UnitY(), 6, 8, false)));
  StepCut step;
  step.into_P = Vec3::UnitY();
  step.removed_P = {{-20, -15, 0}, {-10, -9, 20}};
  part.features.push_back(MakeFeature("step", step));
  return part;
}

inline Part SamplePlate() {
  Part part;
  part.name = PartId("plate");
  part.block_P = {{-20, -15, 0}, {20, 15, 8}};
  part.stock.box_P = part.block_P;
  part.features.push_back(
      MakeFeature("holes", MakeHole({{-12, 0, 8}, {12, 0, 8}}, -Vec3::UnitZ(), 4.5, 8, true)));
  return part;
}

inline Part SampleBush() {
  Part part;
  part.name = PartId("bush");
  part.envelope = EnvelopeKind::kTurned;
  part.stock.form = StockForm::kRound;
  part.stock.diameter_mm = 30;
  part.stock.from_mm = -30;
  part.stock.to_mm = 22;
  OuterDiameter flange;
  flange.from_mm = 0;
  flange.to_mm = 6;
  flange.diameter = Exact(28);
  OuterDiameter spigot;
  spigot.from_mm = 6;
  spigot.to_mm = 20;
  spigot.diameter = Exact(20);
  Hole bore = MakeHole({{0, 0, 20}}, -Vec3::UnitZ(), 12, 20, true);
  bore.use = HoleUse::kBore;
  bore.bottom = HoleBottom::kFlat;
  part.features = {MakeFeature("flange", flange), MakeFeature("spigot", spigot),
                   MakeFeature("bore", bore)};
  return part;
}

inline Machine SampleMachine() {
  Machine machine;
  machine.name = "sample";
  machine.parts = {SampleBlock(), SamplePlate(), SampleBush()};
  machine.uses = {{PartId("block"), 1, Pose::Identity()},
                  {PartId("plate"), 1, Pose(Eigen::Translation3d(0, 0, 20))},
                  {PartId("bush"), 1, Pose(Eigen::Translation3d(100, 0, 0))}};
  return machine;
}

inline void AddReadings(const MachineTool& machine, Step& step) {
  for (const PathPiece& piece : step.path) {
    for (const Vec3& p : piece.points_S_mm) {
      const double x = machine.x_reads_diameter ? 2 * p.x() : p.x();
      step.coordinates.push_back({std::to_string(step.coordinates.size() + 1), machine.x_sense * x,
                                  machine.y_sense * p.y(), machine.z_sense * p.z()});
    }
  }
}

// Numbers the steps as they come.
class SetupWriter {
 public:
  SetupWriter(const Shop& shop, Setup setup) : shop_(shop), setup_(std::move(setup)) {}
  Step& Add(Operation operation, const std::string& tool, double rpm, double depth,
            PathPiece piece) {
    Step step;
    step.id = StepId(fmt::format("{}.{}", setup_.id.text(), setup_.steps.size() + 1));
    step.operation = operation;
    step.tool = ToolId(tool);
    step.rpm = rpm;
    step.depth_mm = depth;
    if (depth > 0) step.levels_mm = {depth};
    step.path = {std::move(piece)};
    AddReadings(*shop_.Find(setup_.machine), step);
    setup_.steps.push_back(std::move(step));
    return setup_.steps.back();
  }
  // The tip goes to depth + point below z = top.
  Step& Plunge(Operation operation, const std::string& tool, double rpm,
               const std::vector<Vec2>& at, double top, double depth, double beyond = 0,
               double set_mm = 0) {
    PathPiece piece;
    piece.kind = PathKind::kPlunge;
    piece.from_z_mm = top + 2;
    piece.set_diameter_mm = set_mm;
    for (const Vec2& p : at) piece.points_S_mm.emplace_back(p.x(), p.y(), top - depth - beyond);
    return Add(operation, tool, rpm, depth, std::move(piece));
  }
  Step& Mill(Operation operation, const std::string& tool, std::vector<Vec3> points, double depth) {
    PathPiece piece;
    piece.kind = PathKind::kMill;
    piece.points_S_mm = std::move(points);
    return Add(operation, tool, 950, depth, std::move(piece));
  }
  Step& Turn(Operation operation, const std::string& tool, std::vector<Vec3> points) {
    PathPiece piece;
    piece.kind = PathKind::kTurn;
    piece.points_S_mm = std::move(points);
    return Add(operation, tool, 370, 0, std::move(piece));
  }
  Step& Together(Operation operation, const PartId& part) {
    Step step;
    step.id = StepId(fmt::format("{}.{}", setup_.id.text(), setup_.steps.size() + 1));
    step.operation = operation;
    step.parts = {part};
    setup_.steps.push_back(step);
    return setup_.steps.back();
  }
  Setup Take() { return std::move(setup_); }

 private:
  const Shop& shop_;
  Setup setup_;
};

inline FixtureSolid BoxFixture(FixtureRole role, const Vec3& low, const Vec3& high) {
  FixtureSolid solid;
  solid.role = role;
  solid.shape = FixtureBox{{low, high}, Pose::Identity()};
  return solid;
}

// Vise round a box that stands in S; y across the jaws.
inline void HoldInVise(Setup& setup, const HoldingDevice& vise, const Box3& box, double parallels) {
  const double x = box.centre_mm().x();
  const double bed = box.min_mm.z() - parallels;
  const double half = vise.jaw_width_mm / 2;
  const auto jaw = [&](FixtureRole role, double y, double outward) {
    const double y2 = y + outward * vise.jaw_thickness_mm;
    FixtureSolid solid = BoxFixture(role, {x - half, std::min(y, y2), bed},
                                    {x + half, std::max(y, y2), bed + vise.jaw_height_mm});
    solid.grips = true;
    solid.grip_normal_S = Vec3(0, -outward, 0);
    setup.fixtures.push_back(solid);
  };
  jaw(FixtureRole::kFixedJaw, box.max_mm.y(), 1);
  jaw(FixtureRole::kMovingJaw, box.min_mm.y(), -1);
  setup.fixtures.push_back(BoxFixture(FixtureRole::kBed,
                                      {x - half, box.min_mm.y() - 20, bed - vise.bed_height_mm},
                                      {x + half, box.max_mm.y() + 20, bed}));
  setup.fixtures.push_back(BoxFixture(FixtureRole::kTable,
                                      {x - 250, -150, bed - vise.bed_height_mm - 30},
                                      {x + 250, 150, bed - vise.bed_height_mm}));
  const double t = vise.parallel_thickness_mm;
  for (const double y : {box.min_mm.y(), box.max_mm.y() - t}) {
    FixtureSolid strip =
        BoxFixture(FixtureRole::kParallel, {x - half, y, bed}, {x + half, y + t, box.min_mm.z()});
    strip.supports = true;
    setup.fixtures.push_back(strip);
  }
  setup.device = vise.name;
  setup.machine = vise.on;
  setup.opening_mm = box.size_mm().y();
  setup.parallels_mm = parallels;
  setup.grip_depth_mm = std::min(vise.jaw_height_mm - parallels, box.size_mm().z());
}

inline void AddContact(Setup& setup, ContactKind kind, const Vec3& p_S, const Vec3& n_S) {
  const PartPose& held = setup.parts.front();
  Contact contact;
  contact.kind = kind;
  contact.surface.part = held.part;
  contact.point_P_mm = held.X_PS * p_S;
  contact.normal_P = held.X_PS.linear() * n_S;
  setup.contacts.push_back(contact);
}

inline void AddViseContacts(Setup& setup, const Box3& b) {
  for (const double x : {b.min_mm.x(), b.max_mm.x()}) {
    AddContact(setup, ContactKind::kBed, {x, b.max_mm.y(), b.min_mm.z()}, Vec3::UnitZ());
    AddContact(setup, ContactKind::kFixedJaw, {x, b.max_mm.y(), b.min_mm.z()}, -Vec3::UnitY());
  }
  AddContact(setup, ContactKind::kEdgeFound, {b.min_mm.x(), 0, b.max_mm.z()}, Vec3::UnitX());
}

inline Setup NewSetup(int number, const PartId& part, const Pose& X_PS, const std::string& up) {
  Setup setup;
  setup.number = number;
  setup.id = SetupId(fmt::format("s{:02d}", number));
  setup.parts = {{part, X_PS, true}};
  setup.zero.point_P_mm = X_PS.translation();
  setup.up = up;
  return setup;
}

inline Setup PlateSetup(const Shop& shop) {
  Setup setup = NewSetup(1, PartId("plate"), Pose(Eigen::Translation3d(0, 0, 8)), "+z of plate");
  const Box3 box{{-20, -15, -8}, {20, 15, 0}};
  HoldInVise(setup, shop.holding[0], box, 34);
  AddViseContacts(setup, box);
  SetupWriter write(shop, setup);
  const std::vector<Vec2> holes = {{-12, 0}, {12, 0}};
  write.Plunge(Operation::kSpot, "spot_6", 950, holes, 0, 1.5);
  const double point = 2.25 / std::tan(59 * kRadPerDeg);
  write.Plunge(Operation::kDrill, "drill_4.5", 950, holes, 0, 9, point);
  return write.Take();
}

inline Setup BlockSetup(const Shop& shop) {
  Setup setup = NewSetup(2, PartId("block"), Pose(Eigen::Translation3d(0, 0, 20)), "+z of block");
  const Box3 box{{-20, -15, -20}, {20, 15, 2}};
  HoldInVise(setup, shop.holding[0], box, 30);
  AddViseContacts(setup, box);
  setup.waits_for = {SetupId("s01")};
  setup.parts.push_back({PartId("plate"), Pose::Identity(), false});
  SetupWriter write(shop, setup);
  write.Mill(Operation::kFace, "mill_16",
             {{-35, -9, 0}, {35, -9, 0}, {35, 0, 0}, {-35, 0, 0}, {-35, 9, 0}, {35, 9, 0}}, 2);
  write.Plunge(Operation::kSpot, "spot_6", 950, {{0, 0}}, 0, 2);
  write.Plunge(Operation::kDrill, "drill_5", 950, {{0, 0}}, 0, 21, 2.5 / std::tan(59 * kRadPerDeg));
  const std::vector<Vec2> tapped = {{-12, 0}, {12, 0}};
  write.Together(Operation::kAssemble, PartId("plate"));
  Step& through = write.Plunge(Operation::kSpotThrough, "drill_4.5", 950, tapped, 8, 8.9);
  through.through = FeatureRef{PartId("plate"), FeatureId("holes")};
  write.Together(Operation::kTakeApart, PartId("plate"));
  write.Plunge(Operation::kDrill, "drill_3.3", 2500, tapped, 0, 10,
               1.65 / std::tan(59 * kRadPerDeg));
  write.Plunge(Operation::kTap, "tap_m4", 0, tapped, 0, 8, 1.4);
  return write.Take();
}

// Front of the block up: z of S is -y of the block.
inline Setup SideSetup(const Shop& shop) {
  Pose X_PS = Pose::Identity();
  X_PS.linear().col(0) = Vec3::UnitX();
  X_PS.linear().col(1) = Vec3::UnitZ();
  X_PS.linear().col(2) = -Vec3::UnitY();
  X_PS.translation() = Vec3(0, -15, 10);
  Setup setup = NewSetup(3, PartId("block"), X_PS, "-y of block");
  const Box3 box{{-20, -10, -30}, {20, 10, 0}};
  HoldInVise(setup, shop.holding[0], box, 20);
  AddViseContacts(setup, box);
  SetupWriter write(shop, setup);
  write.Plunge(Operation::kSpot, "spot_6", 950, {{10, -4}}, 0, 2);
  write.Plunge(Operation::kDrill, "drill_6", 950, {{10, -4}}, 0, 8, 3 / std::tan(59 * kRadPerDeg));
  write.Mill(Operation::kMill, "mill_12", {{-16, -20, -6}, {-16, 20, -6}}, 6);
  return write.Take();
}

inline FixtureSolid RingFixture(FixtureRole role, double from, double to, double outer,
                                double inner) {
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

inline void HoldInChuck(Setup& setup, const HoldingDevice& chuck, double jaw_end, double diameter,
                        double grip) {
  FixtureSolid jaws =
      RingFixture(FixtureRole::kChuckJaw, jaw_end - chuck.jaw_reach_mm, jaw_end, 125, diameter);
  jaws.grips = true;
  setup.fixtures.push_back(jaws);
  const double root = jaw_end - chuck.jaw_reach_mm;
  setup.fixtures.push_back(
      RingFixture(FixtureRole::kChuckBody, root - chuck.body_length_mm, root, 125, chuck.bore_mm));
  setup.device = chuck.name;
  setup.machine = chuck.on;
  setup.holding = HoldingKind::kThreeJaw;
  setup.opening_mm = diameter;
  setup.grip_depth_mm = grip;
}

// Spigot end towards the tailstock; z = 0 at the finished spigot end.
inline Setup TurnSetup(const Shop& shop) {
  Setup setup = NewSetup(4, PartId("bush"), Pose(Eigen::Translation3d(0, 0, 20)), "+z of bush");
  HoldInChuck(setup, shop.holding[1], -26, 30, 24);
  AddContact(setup, ContactKind::kRough, {-15, 0, -30}, Vec3::UnitX());
  SetupWriter write(shop, setup);
  write.Turn(Operation::kFace, "knife", {{17, 0, 0}, {-0.2, 0, 0}});
  write.Turn(Operation::kTurn, "knife", {{14, 0, 2}, {14, 0, -23}, {17, 0, -23}});
  write.Turn(Operation::kTurn, "knife", {{10, 0, 2}, {10, 0, -14}, {16, 0, -14}});
  write.Plunge(Operation::kSpot, "spot_6", 1080, {{0, 0}}, 0, 2);
  write.Plunge(Operation::kDrill, "drill_10", 370, {{0, 0}}, 0, 23, 5 / std::tan(59 * kRadPerDeg));
  write.Turn(Operation::kBore, "bar_8", {{6, 0, 2}, {6, 0, -22}});
  write.Turn(Operation::kPartOff, "parting_2", {{17, 0, -22.5}, {5, 0, -22.5}});
  return write.Take();
}

// Held by the spigot, flange outwards: its face is brought to length.
inline Setup FaceBackSetup(const Shop& shop) {
  Pose X_PS = Pose::Identity();
  X_PS.linear().col(1) = -Vec3::UnitY();
  X_PS.linear().col(2) = -Vec3::UnitZ();
  Setup setup = NewSetup(5, PartId("bush"), X_PS, "-z of bush");
  HoldInChuck(setup, shop.holding[1], -7, 20, 13);
  AddContact(setup, ContactKind::kChuckGrip, {-10, 0, -12}, Vec3::UnitX());
  SetupWriter write(shop, setup);
  write.Turn(Operation::kFace, "knife", {{17, 0, 0}, {5, 0, 0}});
  return write.Take();
}

inline Plan SamplePlan(const Shop& shop) {
  Plan plan;
  plan.setups = {PlateSetup(shop), BlockSetup(shop), SideSetup(shop), TurnSetup(shop),
                 FaceBackSetup(shop)};
  return plan;
}

}  // namespace fitwright::samples
