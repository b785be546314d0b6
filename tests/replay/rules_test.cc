// Each rule of the closed list, broken on purpose in the sample plan.
#include "fitwright/replay/rules.h"

#include <gtest/gtest.h>

#include <functional>
#include <set>

#include "fitwright/replay/replay.h"
#include "tests/support/replay_samples.h"

namespace fitwright {
namespace {

using replay::Rule;

struct Case {
  Machine machine = samples::SampleMachine();
  Shop shop = samples::SampleShop();
  Plan plan;
};

struct RuleCase {
  Rule rule;
  std::function<void(Case&)> spoil;
};

std::set<std::string> RulesBroken(const Case& c) {
  const auto report = replay::Replay(c.machine, c.shop, c.plan);
  EXPECT_TRUE(report) << Format(report.error());
  std::set<std::string> rules;
  if (!report) return rules;
  for (const ReplayPart& part : report->parts) {
    for (const ReplayViolation& v : part.violations) {
      rules.insert(v.rule);
      EXPECT_FALSE(v.say.empty());
    }
  }
  EXPECT_EQ(report->ok, rules.empty());
  return rules;
}

Step& StepAt(Case& c, std::size_t setup, std::size_t step) {
  return c.plan.setups[setup].steps[step];
}
void Remove(Case& c, std::size_t setup, std::size_t step) {
  auto& steps = c.plan.setups[setup].steps;
  steps.erase(steps.begin() + static_cast<std::ptrdiff_t>(step));
}
Tool& ToolNamed(Case& c, const std::string& name) {
  for (Tool& t : c.shop.tools) {
    if (t.name.text() == name) return t;
  }
  FailCheck("tool is there", __FILE__, __LINE__, name);
}
FixtureBox& BoxAt(Case& c, std::size_t setup, std::size_t fixture) {
  return std::get<FixtureBox>(c.plan.setups[setup].fixtures[fixture].shape);
}

// Setups: 0 plate, 1 block from above, 2 block's side, 3 bush turned, 4 bush faced back.
// Fixtures of a vise: 0 fixed jaw, 1 moving jaw, 2 bed, 3 table, 4 and 5 parallels.
std::vector<RuleCase> PlanAndSeatCases() {
  return {
      {Rule::kSetupIdDuplicate, [](Case& c) { c.plan.setups[2].id = c.plan.setups[1].id; }},
      {Rule::kStepIdDuplicate, [](Case& c) { StepAt(c, 1, 1).id = StepAt(c, 1, 0).id; }},
      {Rule::kOrderViolation, [](Case& c) { c.plan.setups[0].waits_for = {SetupId("s02")}; }},
      {Rule::kMachineUnknown, [](Case& c) { c.plan.setups[0].machine = MachineToolId("planer"); }},
      {Rule::kDeviceUnknown, [](Case& c) { c.plan.setups[0].device = HoldingDeviceId("magnet"); }},
      {Rule::kDeviceOccupied, [](Case& c) { c.plan.setups[4].keeps_chucking = true; }},
      {Rule::kPartMissing, [](Case& c) { Remove(c, 1, 3); }},
      {Rule::kPartLeftOn, [](Case& c) { Remove(c, 1, 5); }},
      {Rule::kPartsOverlap, [](Case& c) { c.plan.setups[1].parts[1].X_PS.translation().z() += 1; }},
      {Rule::kPartsApart, [](Case& c) { c.plan.setups[1].parts[1].X_PS.translation().z() -= 1; }},
      {Rule::kPoseNotRigid, [](Case& c) { c.plan.setups[4].parts[0].X_PS.linear()(0, 0) = 1.001; }},
      {Rule::kZeroDisagrees, [](Case& c) { c.plan.setups[0].zero.point_P_mm.x() += 0.5; }},
      {Rule::kWayUpDisagrees, [](Case& c) { c.plan.setups[0].up = "-z of plate"; }},
      {Rule::kFixtureOverlapsPart, [](Case& c) { BoxAt(c, 0, 0).X_SF.translation().y() -= 1; }},
      {Rule::kFixtureDiffers, [](Case& c) { BoxAt(c, 0, 0).box_F.max_mm.z() += 1; }},
      {Rule::kParallelsMissing,
       [](Case& c) {
         c.shop.holding[0].parallels_mm = {20, 30};
       }},
      {Rule::kHoldingDisagrees, [](Case& c) { c.plan.setups[0].opening_mm += 0.2; }},
      {Rule::kGripMissing, [](Case& c) { BoxAt(c, 0, 1).X_SF.translation().y() -= 0.1; }},
      {Rule::kGripTooSmall,
       [](Case& c) {
         for (const std::size_t jaw : {0U, 1U})
           BoxAt(c, 0, jaw).X_SF.translation().z() -= 3.1;  // 2.9 left
       }},
      {Rule::kNotSupported,
       [](Case& c) {
         for (const std::size_t strip : {4U, 5U}) BoxAt(c, 0, strip).X_SF.translation().z() -= 0.1;
       }},
      {Rule::kNotHeld, [](Case& c) { std::swap(StepAt(c, 3, 5), StepAt(c, 3, 6)); }},
      {Rule::kOpeningExceeded, [](Case& c) { c.shop.holding[0].opening_mm = 29; }},
      {Rule::kCapacityExceeded, [](Case& c) { c.shop.holding[1].grip_max_mm = 25; }},
      {Rule::kSwingExceeded, [](Case& c) { c.shop.machines[1].swing_mm = 29; }},
      {Rule::kDatumMissing, [](Case& c) { c.plan.setups[0].contacts[0].point_P_mm.z() -= 0.1; }},
      {Rule::kDatumCovered,
       [](Case& c) {  // the spigot's side, deep in the jaws, is to show how the bush is turned
         Setup& setup = c.plan.setups[4];
         samples::AddContact(setup, ContactKind::kSetBySquare, {10, 0, -12}, -Vec3::UnitX());
         setup.contacts.back().surface.feature = FeatureId("spigot");
       }},
      {Rule::kThrustUnsupported, [](Case& c) { BoxAt(c, 0, 5).X_SF.translation().y() -= 19; }},  // 4 beside, 6 in the jaws
      {Rule::kFixturesOverlap, [](Case& c) { BoxAt(c, 0, 5).X_SF.translation().y() -= 24; }},
  };
}

std::vector<RuleCase> MachineCases() {
  return {
      {Rule::kTravelExceeded, [](Case& c) { c.shop.machines[0].travel_mm.x() = 69; }},
      {Rule::kDaylightExceeded, [](Case& c) { c.shop.machines[0].daylight_mm = 200; }},
      {Rule::kSpeedNotOnMachine, [](Case& c) { StepAt(c, 0, 0).rpm = 960; }},
      {Rule::kFeedExceeded, [](Case& c) { StepAt(c, 0, 0).feed_mm_min = 301; }},
      {Rule::kCoordinatesDisagree, [](Case& c) { StepAt(c, 0, 0).coordinates[0].x_mm += 0.002; }},
      {Rule::kDepthDisagrees, [](Case& c) { StepAt(c, 0, 0).depth_mm += 0.03; }},
      {Rule::kToolUnknown, [](Case& c) { StepAt(c, 0, 0).tool = ToolId("knife"); }},
      {Rule::kNoPath,
       [](Case& c) {
         StepAt(c, 0, 0).path.clear();
         StepAt(c, 0, 0).coordinates.clear();
       }},
      {Rule::kPathImpossible, [](Case& c) { StepAt(c, 1, 0).path[0].points_S_mm[1].z() += 1; }},
  };
}

std::vector<RuleCase> CutterCases() {
  return {
      {Rule::kToolTooShort, [](Case& c) { ToolNamed(c, "drill_4.5").flute_mm = 10; }},
      {Rule::kHolderCollision,
       [](Case& c) {
         ToolNamed(c, "drill_5").flute_mm = ToolNamed(c, "drill_5").stick_out_mm = 20;
       }},
      {Rule::kSpindleCollision,
       [](Case& c) {
         Tool& drill = ToolNamed(c, "drill_5");
         drill.flute_mm = drill.stick_out_mm = 20;
         drill.holder_length_mm = 0;
       }},
      {Rule::kFixtureCut, [](Case& c) { BoxAt(c, 0, 5).X_SF.translation().y() -= 12; }},
      {Rule::kMateCut, [](Case& c) { StepAt(c, 1, 4).tool = ToolId("drill_5"); }},
      {Rule::kNoMaterial,
       [](Case& c) {
         Step again = StepAt(c, 1, 0);
         again.id = StepId("again");
         auto& steps = c.plan.setups[1].steps;
         steps.insert(steps.begin() + 1, again);
       }},
      {Rule::kPartNotCut, [](Case& c) { StepAt(c, 1, 4).parts = {PartId("block"), PartId("plate")}; }},
      {Rule::kDrillWithoutStart, [](Case& c) { Remove(c, 0, 0); }},
      {Rule::kNoHoleBefore, [](Case& c) { Remove(c, 3, 4); }},
      {Rule::kTapHoleMissing, [](Case& c) { Remove(c, 1, 6); }},
      {Rule::kBarTooSlender, [](Case& c) { ToolNamed(c, "bar_8").shank_mm = 7.9; }},
      {Rule::kPlungeNotCentreCutting,
       [](Case& c) { StepAt(c, 1, 0).path[0].points_S_mm[0] = Vec3(0, -9, 0); }},
      {Rule::kLoosePiece,
       [](Case& c) {
         StepAt(c, 1, 0).path[0].points_S_mm = {{0, -40, -20.5}, {0, 40, -20.5}};
       }},
      {Rule::kNotMade, [](Case& c) { StepAt(c, 2, 2).path[0].points_S_mm[1].y() = 4; }},
      {Rule::kNotTapped, [](Case& c) { Remove(c, 1, 7); }},
      {Rule::kNotHoned, [](Case& c) { c.machine.parts[2].features[2].finish = Finish::kHoned; }},
  };
}

// The bush's outside, which nothing threads or knurls.
FeatureId OutsideOf(const Part& part) {
  for (const Feature& f : part.features) {
    if (std::holds_alternative<OuterDiameter>(f.shape)) return f.name;
  }
  FailCheck("an outside is there", __FILE__, __LINE__, part.name.text());
}
Step& FirstTurning(Case& c) {
  for (Step& step : c.plan.setups[3].steps) {
    if (step.operation == Operation::kTurn) return step;
  }
  FailCheck("the bush is turned", __FILE__, __LINE__, "");
}

// A seat slotted in the bush while it is on the bar: the stroke ends in the bar.
void SlotOnTheBar(Case& c) {
  Tool& bit = c.shop.tools.emplace_back();
  bit.name = ToolId("slotting_2");
  bit.kind = ToolKind::kSlottingTool;
  bit.words = "2 mm slotting bit";
  bit.on = "lathe";
  bit.width_mm = 2;
  bit.flute_mm = 2;
  bit.shank_mm = 2;
  bit.diameter_min_mm = 3;
  bit.reach_mm = 60;
  Step& bored = StepAt(c, 3, 5);
  Step step = bored;
  step.id = StepId("slotted");
  step.operation = Operation::kShape;
  step.tool = bit.name;
  step.rpm = step.feed_mm_min = 0;
  step.path.resize(1);
  step.path[0].kind = PathKind::kStroke;
  step.path[0].points_S_mm = {{6.5, 0, 2}, {6.5, 0, -5}};
  step.coordinates.clear();
  c.plan.setups[3].steps.insert(c.plan.setups[3].steps.begin() + 6, step);
}

std::vector<RuleCase> TurningCases() {
  return {
      {Rule::kStrokeEndsInside, SlotOnTheBar},
      {Rule::kWorkTooSlender,
       [](Case& c) {
         for (FixtureSolid& f : c.plan.setups[3].fixtures)
           std::get<FixtureCylinder>(f.shape).axis_S.point_mm.z() -= 100;
       }},
      {Rule::kBlankMissing,
       [](Case& c) {
         Step& turning = FirstTurning(c);
         turning.operation = Operation::kThread;
         for (PathPiece& piece : turning.path) {
           for (Vec3& p : piece.points_S_mm) p.x() += 40;
         }
       }},
      {Rule::kNotThreaded,
       [](Case& c) {
         ExternalThread thread;
         thread.on = OutsideOf(c.machine.parts[2]);
         thread.length_mm = 3;
         thread.designation = "M3";
         c.machine.parts[2].features.push_back({FeatureId("thread"), thread, Finish::kAsMachined, false, {}});
       }},
      {Rule::kNotKnurled,
       [](Case& c) {
         Knurl knurl;
         knurl.on = OutsideOf(c.machine.parts[2]);
         knurl.to_mm = 2;
         knurl.pitch_mm = 1;
         c.machine.parts[2].features.push_back({FeatureId("knurl"), knurl, Finish::kAsMachined, false, {}});
       }},
  };
}

// A bench setup is put before the last setup (the bush faced back): block and plate are washed, bonded,
// left to cure, and tried together for a length that the bush's last face closes.
std::size_t AddBench(Case& c) {
  MachineTool bench;
  bench.name = MachineToolId("bench");
  bench.kind = MachineToolKind::kBench;
  c.shop.machines.push_back(bench);
  Joint joint;
  joint.name = JointId("glue");
  joint.kind = JointKind::kBonded;
  joint.fixed = {PartId("block"), FeatureId("top")};
  joint.moving = {PartId("plate"), FeatureId("bottom")};
  joint.cure_min = 60;
  c.machine.joints.push_back(joint);
  Setup setup;
  setup.id = SetupId("glueing");
  setup.machine = MachineToolId("bench");
  setup.holding = HoldingKind::kBench;
  setup.parts = {{PartId("bush"), Pose::Identity(), true}};
  for (const Operation operation : {Operation::kWash, Operation::kBond, Operation::kCure, Operation::kTrial}) {
    Step step;
    step.id = StepId(fmt::format("glueing.{}", setup.steps.size() + 1));
    step.operation = operation;
    step.parts = {PartId("block"), PartId("plate")};
    if (operation == Operation::kBond || operation == Operation::kCure) step.joints = {joint.name};
    if (operation == Operation::kCure) step.wait_min = 60;
    setup.steps.push_back(step);
  }
  Aim aim;
  aim.kind = AimKind::kFitToMeasured;
  aim.closes = RequirementId("float");
  setup.steps.back().aim = aim;
  c.plan.setups.insert(c.plan.setups.end() - 1, setup);
  c.plan.setups.back().steps.front().aim = aim;
  for (std::size_t i = 0; i < c.plan.setups.size(); ++i) c.plan.setups[i].number = static_cast<int>(i) + 1;
  return c.plan.setups.size() - 2;
}

std::vector<RuleCase> BenchCases() {
  return {
      {Rule::kWashMissing, [](Case& c) { Remove(c, AddBench(c), 0); }},
      {Rule::kCureMissing, [](Case& c) { Remove(c, AddBench(c), 2); }},
      {Rule::kCureMissing, [](Case& c) { StepAt(c, AddBench(c), 2).wait_min = 59; }},
      {Rule::kCureMissing,
       [](Case& c) {
         const std::size_t at = AddBench(c);
         std::swap(StepAt(c, at, 2), StepAt(c, at, 3));
       }},
      {Rule::kCureMissing,
       [](Case& c) {
         const std::size_t at = AddBench(c);
         Remove(c, at, 3);
         Remove(c, at, 2);
       }},
      {Rule::kTrialMissing, [](Case& c) { Remove(c, AddBench(c), 3); }},
      {Rule::kTrialOutdated,
       [](Case& c) { StepAt(c, AddBench(c), 3).parts.emplace_back("bush"); }},
  };
}

// The first straight cut of the plan on the mill.
PathPiece& MilledPiece(Case& c) {
  for (Setup& setup : c.plan.setups) {
    const MachineTool* machine = c.shop.Find(setup.machine);
    if (machine == nullptr || machine->kind != MachineToolKind::kMill) continue;
    for (Step& step : setup.steps) {
      for (PathPiece& piece : step.path) {
        if (piece.kind == PathKind::kMill && piece.points_S_mm.size() > 1) return piece;
      }
    }
  }
  throw std::logic_error("the sample plan mills nothing");
}

Setup& MilledSetup(Case& c) {
  for (Setup& setup : c.plan.setups) {
    const MachineTool* machine = c.shop.Find(setup.machine);
    if (machine != nullptr && machine->kind == MachineToolKind::kMill) return setup;
  }
  throw std::logic_error("the sample plan has no setup on the mill");
}

std::vector<RuleCase> AngleCases() {
  return {
      {Rule::kAngleDisagrees,
       [](Case& c) { MilledSetup(c).angle = AngleSetting{AngleBy::kProtractor, 30, 0, {}, 0}; }},
      {Rule::kBlocksMissing,
       [](Case& c) {
         Instrument bar;
         bar.name = InstrumentId("bar");
         bar.kind = InstrumentKind::kSineBar;
         bar.centres_mm = 100;
         c.shop.instruments.push_back(bar);
         MilledSetup(c).angle = AngleSetting{AngleBy::kSineBar, 0, 0, {7.77}, 0};
       }},
      {Rule::kAslantOfSlides, [](Case& c) { MilledPiece(c).points_S_mm[1] += Vec3(3, 3, 0); }},
  };
}

std::vector<RuleCase> AllCases() {
  std::vector<RuleCase> all = PlanAndSeatCases();
  for (const auto& more : {MachineCases(), CutterCases(), TurningCases(), BenchCases(), AngleCases()})
    all.insert(all.end(), more.begin(), more.end());
  return all;
}

void ExpectFound(const std::vector<RuleCase>& cases) {
  for (const RuleCase& test : cases) {
    Case c;
    c.plan = samples::SamplePlan(c.shop);
    test.spoil(c);
    const std::set<std::string> broken = RulesBroken(c);
    std::string all;
    for (const std::string& rule : broken) all += rule + " ";
    EXPECT_TRUE(broken.contains(std::string(WordOf(test.rule))))
        << WordOf(test.rule) << " not among " << all;
  }
}

TEST(Rules, OfListAndSeatAreFoundWhenBroken) { ExpectFound(PlanAndSeatCases()); }
TEST(Rules, OfMachinesAreFoundWhenBroken) { ExpectFound(MachineCases()); }
TEST(Rules, OfCuttersAreFoundWhenBroken) { ExpectFound(CutterCases()); }

TEST(Rules, OfTurningAreFoundWhenBroken) { ExpectFound(TurningCases()); }

TEST(Rules, OfTheBenchAreFoundWhenBroken) { ExpectFound(BenchCases()); }

TEST(Rules, OfSetAnglesAreFoundWhenBroken) { ExpectFound(AngleCases()); }

TEST(Rules, ASoundBenchBreaksNone) {
  Case c;
  c.plan = samples::SamplePlan(c.shop);
  AddBench(c);
  for (const std::string& rule : RulesBroken(c)) ADD_FAILURE() << rule;
}

TEST(Rules, NoneIsWithoutItsCase) {
  std::set<Rule> tested;
  for (const RuleCase& test : AllCases()) tested.insert(test.rule);
  for (const auto& entry : WordsOf<Rule>::kAll)
    EXPECT_TRUE(tested.contains(entry.value)) << entry.word;
}

// Just inside the limit nothing is said: the figures of rules.h are the ones in force.
TEST(Rules, LimitsAreWhereTheyAreSaidToBe) {
  const std::vector<std::function<void(Case&)>> sound = {
      [](Case& c) { c.plan.setups[0].opening_mm += 0.04; },
      [](Case& c) { StepAt(c, 0, 0).coordinates[0].x_mm += 0.0009; },
      [](Case& c) { StepAt(c, 0, 0).depth_mm += 0.004; },
      [](Case& c) { c.shop.machines[0].travel_mm.x() = 70; },
      [](Case& c) { c.shop.holding[0].opening_mm = 30; },
      [](Case& c) { c.plan.setups[0].contacts[0].point_P_mm.z() -= 0.04; },
      [](Case& c) { StepAt(c, 0, 0).feed_mm_min = 300; },
  };
  for (std::size_t i = 0; i < sound.size(); ++i) {
    Case c;
    c.plan = samples::SamplePlan(c.shop);
    sound[i](c);
    EXPECT_TRUE(RulesBroken(c).empty()) << "case " << i << ": " << *RulesBroken(c).begin();
  }
}

}  // namespace
}  // namespace fitwright
