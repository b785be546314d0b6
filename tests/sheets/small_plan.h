// A plan made by hand: a bored block and a bush screwed into it, short but with every kind of line that
// a build book has.
#pragma once

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"

namespace fitwright::sheets {

struct SmallPlan {
  Machine machine;
  Shop shop;
  Plan plan;
};

namespace small_plan {

inline Size MakeSize(double lower, double upper) {
  return {0.5 * (lower + upper), lower, upper, LimitsOrigin::kLimits, ""};
}

inline Machine MakeMachine() {
  Machine m;
  m.name = "bushed block";
  Part block;
  block.name = PartId("block");
  block.material = "aluminium";
  block.block_P = {Vec3(0, 0, 0), Vec3(50, 40, 20)};
  block.stock.box_P = {Vec3(-2, -2, -1), Vec3(52, 42, 21)};
  Hole bore;
  bore.use = HoleUse::kBore;
  bore.diameter = MakeSize(20.000, 20.021);
  block.features.push_back({FeatureId("bore"), bore, Finish::kAsMachined, false, ""});
  block.features.push_back({FeatureId("bottom"), PlanarFace{}, Finish::kAsMachined, false, ""});
  Hole taps;
  taps.thread = InternalThread{"M3", 3, 0.5, 7};
  block.features.push_back({FeatureId("tapped_holes"), taps, Finish::kAsMachined, false, ""});
  Part bush;
  bush.name = PartId("bush");
  bush.material = "bronze";
  bush.envelope = EnvelopeKind::kTurned;
  bush.stock = {StockForm::kRound, {}, {}, 40, -3, 20, false};
  bush.features.push_back({FeatureId("spigot"), OuterDiameter{}, Finish::kAsMachined, false, ""});
  bush.features.push_back({FeatureId("holes"), Hole{}, Finish::kAsMachined, false, ""});
  m.parts = {block, bush};
  m.uses = {{block.name, 1, Pose::Identity()}, {bush.name, 1, Pose::Identity()}};
  Requirement fit{RequirementId("spigot_fit"), RequirementKind::kClearance, {}, {}, {}, 0.005, 0.030,
                  {}, "", false};
  fit.a = {bush.name, FeatureId("spigot")};
  fit.b = {block.name, FeatureId("bore")};
  Requirement square{RequirementId("R1"), RequirementKind::kSquare, {}, {}, {}, {}, 0.0007, {},
                     "bore square to the bottom", false};
  m.requirements = {fit, square};
  m.cautions = {"The bush runs hot."};
  return m;
}

inline Shop MakeShop() {
  Shop shop;
  MachineTool mill;
  mill.name = MachineToolId("mill");
  mill.words = "the mill";
  MachineTool lathe;
  lathe.name = MachineToolId("lathe");
  lathe.kind = MachineToolKind::kLathe;
  lathe.words = "the lathe";
  lathe.x_reads_diameter = true;
  shop.machines = {mill, lathe};
  const auto tool = [](const char* name, ToolKind kind, const char* words, double diameter) {
    Tool t;
    t.name = ToolId(name);
    t.kind = kind;
    t.words = words;
    t.diameter_mm = diameter;
    return t;
  };
  shop.tools = {tool("drill_2.5", ToolKind::kDrill, "2.5 mm drill", 2.5),
                tool("drill_3.2", ToolKind::kDrill, "3.2 mm drill", 3.2),
                tool("tap_M3", ToolKind::kTap, "M3 second tap", 3),
                tool("knife", ToolKind::kTurningTool, "knife tool", 0)};
  shop.instruments = {{InstrumentId("mike_25"), InstrumentKind::kMicrometer, "micrometer 0-25 mm", 0, 25, 0, 0, {}},
                      {InstrumentId("finder"), InstrumentKind::kEdgeFinder, "10 mm edge finder", 0, 0, 10, 0, {}}};
  return shop;
}

inline Step MakeStep(const char* id, Operation operation, FeatureRef feature, const char* tool) {
  Step s;
  s.id = StepId(id);
  s.operation = operation;
  s.features = {std::move(feature)};
  s.tool = ToolId(tool);
  s.finishes = true;
  return s;
}

inline Setup MakeBushSetup() {
  Setup s;
  s.id = SetupId("s01");
  s.number = 1;
  s.machine = MachineToolId("lathe");
  s.holding = HoldingKind::kThreeJaw;
  s.device = HoldingDeviceId("three_jaw");
  s.parts = {{PartId("bush"), Pose::Identity(), true}};
  s.up = "-z of bush";
  s.contacts = {{ContactKind::kRough, {PartId("bush"), {}}, Vec3::Zero(), Vec3::UnitZ(), false}};
  s.hold_words = "Three-jaw, 40 mm bar, 25 mm out of the jaws";
  s.opening_mm = 40;
  s.grip_depth_mm = 20;
  s.zero.routine = "Face a skim off, set Z to 0 there.";
  s.zero.witness = "tool on the face reads Z 0.000";
  s.time_min = 48;
  s.leave_it_in = {"Leave the bush in the chuck until the spigot has been tried in the bore."};
  Step turn = MakeStep("s01.1", Operation::kTurn, {PartId("bush"), FeatureId("spigot")}, "knife");
  turn.words = "Turn the spigot to suit the bore, 6 mm long.";
  turn.rpm = 800;
  turn.feed_mm_min = 40;
  turn.coordinates = {{"start", 19.985, 0, 1}, {"end", 19.985, 0, -6}};
  Aim aim;
  aim.kind = AimKind::kFitToMeasured;
  aim.target_mm = 19.993;
  aim.mate = FeatureRef{PartId("block"), FeatureId("bore")};
  aim.clearance_mm = 0.0175;
  aim.clearance_lower_mm = 0.005;
  aim.clearance_upper_mm = 0.03;
  turn.aim = aim;
  turn.measure = MeasureLine{{PartId("bush"), FeatureId("spigot")}, InstrumentId("mike_25"),
                             "mike the spigot at two places", 0, 0};
  turn.caution = "the chuck key comes out first";
  s.steps = {turn};
  return s;
}

inline Setup MakeBlockSetup() {
  Setup s;
  s.id = SetupId("s02");
  s.number = 2;
  s.machine = MachineToolId("mill");
  s.device = HoldingDeviceId("vise");
  s.parts = {{PartId("block"), Pose::Identity(), true}, {PartId("bush"), Pose::Identity(), false}};
  s.up = "+z of block";
  s.contacts = {{ContactKind::kBed, {PartId("block"), FeatureId("bottom")}, Vec3::Zero(), Vec3::UnitZ(), false},
                {ContactKind::kEdgeFound, {PartId("block"), FeatureId("left")}, Vec3::Zero(), Vec3::UnitX(), false}};
  s.opening_mm = 40;
  s.grip_depth_mm = 12;
  s.parallels_mm = 8;
  s.zero.routine = "X from the left, Y from the front.";
  s.zero.witness = "spindle over the far left corner reads X 0.000 Y 40.000";
  s.reasons = {"The bottom is finished and square to nothing else."};
  s.waits_for = {SetupId("s01")};
  s.time_min = 133;
  const FeatureRef taps{PartId("block"), FeatureId("tapped_holes")};
  Step spot = MakeStep("s02.1", Operation::kSpotThrough, taps, "drill_3.2");
  spot.finishes = false;
  spot.through = FeatureRef{PartId("bush"), FeatureId("holes")};
  spot.words = "Spot the two holes through the bush.";
  spot.rpm = 1600;
  spot.coordinates = {{"1", 10, 20, -1.2}, {"2", 40, 20.5, -1.2}};
  Step drill = MakeStep("s02.2", Operation::kDrill, taps, "drill_2.5");
  drill.finishes = false;
  drill.rpm = 2000;
  drill.feed_mm_min = 80;
  drill.depth_mm = 9;
  drill.coordinates = {{"1", 10, 20, -9}, {"2", 40, 20.5, -9}};
  drill.levels_mm = {4.5, 9};
  Step tap = MakeStep("s02.3", Operation::kTap, taps, "tap_M3");
  tap.coordinates = {{"1", 10, 20, -7}, {"2", 40, 20.5, -7}};
  s.steps = {spot, drill, tap};
  return s;
}

inline Odds MakeOdds() {
  Odds odds;
  odds.all = {0.957, 0.94, 0.97, 0.88, 0.99};
  odds.builds = 20000;
  odds.seed = 1;
  odds.blunders_expected = 0.4;
  odds.assumed = {"Every spread is a default: nothing of this shop was measured."};
  odds.requirements = {
      {RequirementId("spigot_fit"), RequirementKind::kClearance, "0.005 to 0.030 mm",
       {0.998, 0.997, 0.999, 0.98, 1}, 0.0175, 0.004, {{"turned diameter", "turned_diameter", 0.8}, {"rest", "", 0.2}}},
      {RequirementId("R1"), RequirementKind::kSquare, "0.7 mrad",
       {0.962, 0.955, 0.968, 0.9, 0.99}, 0.0001, 0.0003,
       {{"tilt of the head of the mill", "column_tram", 0.62},
        {"lift of the work by 0.02 mm at the moving jaw", "jaw_lift", 0.30},
        {"a chip under the work", "chip_under_work", 0.01},
        {"rest", "", 0.07}}}};
  return odds;
}

inline Plan MakePlan() {
  Plan p;
  p.project = "bushed-block";
  p.version = "0.1.0";
  p.inputs_hash = "0123456789abcdef";
  p.seed = 1;
  p.hours_cutting = 3.02;
  p.hours_expected = 3.3;
  p.odds = MakeOdds();
  p.parts = {{PartId("block"), 1, "aluminium", "flat bar 54 x 44 x 22 mm, sawn", 141.2},
             {PartId("bush"), 1, "bronze", "round bar 40 mm, 23 mm long", 254}};
  p.setups = {MakeBushSetup(), MakeBlockSetup()};
  JointPlan joint;
  joint.name = "bush_screws";
  joint.kind = "screwed_pattern";
  joint.parts = {PartId("block"), PartId("bush")};
  joint.technique = Technique::kSpotThrough;
  joint.first = 1;
  joint.alternatives = {{Technique::kByCoordinates, 0, 0.51, 60}, {Technique::kSpotThrough, 1, 0.99, 40}};
  joint.reason = "The clearance of 0.1 mm is less than coordinates hold.";
  p.joints = {joint};
  p.advice = {{"Spot the two holes through the bush.", {{PinKind::kTechnique, "bush_screws", "spot_through", 1}}, 0.51, 0.957, -20}};
  p.choices = {{"as planned", 0.957, 3.3, {}}, {"fewest setups", 0.51, 2.9, {{PinKind::kTechnique, "bush_screws", "by_coordinates", 0}}}};
  p.buy = {{"M3 x 12 mm cap screws", 2, "bush screws"}};
  p.assumed = {"General tolerance m (ISO 2768-1) for the block."};
  p.warnings = {"No gauge is good to a quarter of the bore's limits."};
  return p;
}

}  // namespace small_plan

inline SmallPlan MakeSmallPlan() {
  return {small_plan::MakeMachine(), small_plan::MakeShop(), small_plan::MakePlan()};
}

}  // namespace fitwright::sheets
