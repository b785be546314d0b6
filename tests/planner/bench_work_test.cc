// Bonding and trial assemblies: which parts, in which order, and what a length is made to.
#include "fitwright/planner/bench_work.h"

#include <gtest/gtest.h>

#include "fitwright/planner/joint_looks.h"
#include "fitwright/planner/measured_before.h"
#include "tests/support/slow_builds.h"

namespace fitwright::planner {
namespace {

using namespace fitwright::testing;

std::vector<PartId> Ids(const std::vector<std::string>& names) {
  return std::vector<PartId>(names.begin(), names.end());
}

// A shaft in two bearings of a housing; a disc bonded on it, a pin bonded in the disc, a spacer between disc and
// bearing, a pulley behind the other. A lid is screwed to the housing and has nothing to do with the float.
Machine ShaftMachine() {
  Machine machine;
  const Size ten = MakeSize(10, 10);
  for (const char* name : {"housing", "shaft", "disc", "pin", "spacer", "pulley", "lid"}) {
    machine.parts.push_back(SuppliedRound(name, ten, ten, 8));
    machine.uses.push_back(StandsAt(name, {0, 0, 0}));
  }
  for (Feature& feature : machine.parts[4].features) feature.finish = Finish::kAsMachined;
  std::get<PlanarFace>(machine.parts[4].features.back().shape).at = MakeSize(7.98, 8.02);
  for (const char* name : {"near", "far"}) {
    BoughtPart bearing;
    bearing.part = SuppliedRound(name, MakeSize(26, 26), ten, 8);
    bearing.kind = BoughtKind::kBearing;
    bearing.placed = true;
    machine.bought.push_back(bearing);
    machine.bought_uses.push_back(StandsAt(name, {0, 0, 0}));
  }
  machine.joints = {JoinedBy("seat_near", JointKind::kBearingSeat, "housing.bore", "near.outside"),
                    JoinedBy("seat_far", JointKind::kBearingSeat, "housing.bore", "far.outside"),
                    JoinedBy("on_near", JointKind::kBearingOnShaft, "near.bore", "shaft.outside"),
                    JoinedBy("on_far", JointKind::kBearingOnShaft, "far.bore", "shaft.outside"),
                    JoinedBy("glued_disc", JointKind::kBonded, "shaft.outside", "disc.bore"),
                    JoinedBy("glued_pin", JointKind::kBonded, "disc.bore", "pin.outside"),
                    JoinedBy("hub", JointKind::kHubOnShaft, "shaft.outside", "pulley.bore"),
                    JoinedBy("loose", JointKind::kRunningFit, "shaft.outside", "spacer.bore"),
                    JoinedBy("lid_face", JointKind::kFaceContact, "housing.high_end", "lid.low_end")};
  machine.joints[4].cure_min = 90;
  Requirement r = Required("float", RequirementKind::kEndFloat, "", "", 0.05, 0.12);
  r.gaps = {{RefTo("disc.high_end"), RefTo("spacer.low_end")},
            {RefTo("spacer.high_end"), RefTo("near.low_end")},
            {RefTo("far.high_end"), RefTo("pulley.low_end")}};
  machine.requirements = {r};
  return machine;
}

TEST(Closing, TheDistancePieceIsMadeToATrialOfAllThatStandsBetween) {
  const Machine machine = ShaftMachine();
  const Subjects subjects = FindSubjects(machine);
  ASSERT_EQ(subjects.suits.size(), 1U);
  const SuitPair& pair = subjects.suits.front();
  EXPECT_TRUE(pair.closes);
  EXPECT_EQ(pair.shaft, RefTo("spacer.low_end"));  // exact, where the other end may be 0.02 off
  EXPECT_EQ(pair.trial, Ids({"housing", "shaft", "disc", "pulley", "near", "far"}));
}

// A piece made twice, a bought one, or one with a face in one gap only closes nothing.
TEST(Closing, OnlyOneMadePieceThatEndsTwoGapsDoes) {
  Machine twice = ShaftMachine();
  twice.uses[4].quantity = 2;
  EXPECT_TRUE(FindSubjects(twice).suits.empty());
  Machine open = ShaftMachine();
  open.requirements.front().upper.reset();
  EXPECT_TRUE(FindSubjects(open).suits.empty());
  Machine one = ShaftMachine();
  one.requirements.front().gaps = {{RefTo("disc.high_end"), RefTo("near.low_end")}};
  EXPECT_TRUE(FindSubjects(one).suits.empty());
}

TEST(Closing, TheFaceStaysOverLengthInThePiecesOwnWay) {
  const Machine machine = ShaftMachine();
  const Subjects subjects = FindSubjects(machine);
  Strategy strategy;
  strategy.suits[RequirementId("float")] = Technique::kByCoordinates;
  EXPECT_TRUE(DeferredOf(machine, subjects, strategy, PartId("spacer")).leave_mm.empty());
  strategy.suits[RequirementId("float")] = Technique::kFitToMeasured;
  EXPECT_GT(DeferredOf(machine, subjects, strategy, PartId("spacer")).leave_mm.at(FeatureId("low_end")), 0);
  EXPECT_TRUE(DeferredOf(machine, subjects, strategy, PartId("disc")).leave_mm.empty());
}

TEST(Bonds, JointsThatShareAPartAreOneGroup) {
  const auto groups = FindBondGroups(ShaftMachine());
  ASSERT_EQ(groups.size(), 1U);
  EXPECT_EQ(groups.front().parts, Ids({"shaft", "disc", "pin"}));
  EXPECT_EQ(groups.front().joints, (std::vector<JointId>{JointId("glued_disc"), JointId("glued_pin")}));
}

// Washed, bonded one after the other, then one wait as long as the slowest takes.
// What the adhesive fixes for good is read while it is wet: 1.25 mrad are 0.0125 in 10, printed so that it passes.
TEST(Bonds, AreLookedAtWhileTheyCanBeMoved) {
  Machine machine = ShaftMachine();
  std::get<OuterDiameter>(machine.parts[3].features.front().shape).to_mm = 30;
  std::get<OuterDiameter>(machine.parts[1].features.front().shape).to_mm = 60;
  machine.requirements = {Required("lean", RequirementKind::kParallel, "pin.outside", "shaft.outside", std::nullopt, 0.00125),
                          Required("true", RequirementKind::kInLine, "shaft.outside", "pin.outside", std::nullopt, 0.02),
                          Required("other", RequirementKind::kParallel, "pulley.outside", "shaft.outside", std::nullopt, 0.00125)};
  SetupSketch sketch;
  sketch.part = PartId("shaft");
  sketch.mates = Ids({"disc", "pin"});
  sketch.bench = SetupSketch::Bench::kBond;
  sketch.joints = {machine.joints[4].name, machine.joints[5].name};
  Shop shop;
  shop.instruments.resize(1);
  shop.instruments[0].kind = InstrumentKind::kIndicator;
  EXPECT_FALSE(BenchSteps(machine, Shop{}, FindSubjects(machine), sketch)[4].settles) << "without an indicator nothing is set by it";
  const std::vector<Step> steps = BenchSteps(machine, shop, FindSubjects(machine), sketch);
  ASSERT_EQ(steps.size(), 7U);
  EXPECT_EQ(steps[4].operation, Operation::kMeasure);
  ASSERT_TRUE(steps[4].measure && steps[5].measure);
  EXPECT_NE(steps[4].measure->words.find("look at lean"), std::string::npos);
  EXPECT_NE(steps[4].measure->words.find("at most 0.006 mm in 10 mm"), std::string::npos) << steps[4].measure->words;
  EXPECT_NE(steps[5].measure->words.find("at most 0.040 mm on a full turn"), std::string::npos) << steps[5].measure->words;
  EXPECT_EQ(steps[6].operation, Operation::kCure);
  ASSERT_TRUE(steps[4].settles);
  EXPECT_DOUBLE_EQ(steps[4].settles->within_rad, 0.0006);
  EXPECT_FALSE(steps[5].settles);
}

// 16.3 long in a hole of 8: of the 8.3 that stand out the indicator runs along 6 clear of the corner and the chamfer; half of
// 1.25 mrad are 0.00375 in 6.
TEST(Bonds, TheIndicatorRunsNoFurtherThanThePinStandsOut) {
  Machine machine = ShaftMachine();
  auto& pin = std::get<OuterDiameter>(machine.parts[3].features.front().shape);
  pin.to_mm = pin.from_mm + 16.3;
  machine.requirements = {Required("lean", RequirementKind::kParallel, "pin.outside", "shaft.outside", std::nullopt, 0.00125)};
  std::get<OuterDiameter>(machine.parts[1].features.front().shape).to_mm = 60;
  Shop shop;
  shop.instruments.resize(1);
  shop.instruments[0].kind = InstrumentKind::kIndicator;
  const std::vector<Step> looks = LooksWhileWet(machine, shop, Ids({"shaft", "disc", "pin"}));
  ASSERT_EQ(looks.size(), 1U);
  EXPECT_NE(looks.front().measure->words.find("run along pin on its top, and a quarter round: at most 0.003 mm in 6 mm"), std::string::npos)
      << looks.front().measure->words;
}

// A pin is driven: what was looked at while the adhesive was wet is looked at again, and where it was told how is named.
TEST(Bonds, ADrivenPinIsFollowedByTheSameLook) {
  Machine machine = ShaftMachine();
  machine.requirements = {Required("lean", RequirementKind::kParallel, "pin.outside", "shaft.outside", std::nullopt, 0.00125)};
  Plan plan;
  plan.setups.resize(2);
  plan.setups[0].number = 4;
  plan.setups[0].steps = LooksWhileWet(machine, Shop{}, Ids({"shaft", "disc", "pin"}));
  plan.setups[1].number = 7;
  plan.setups[1].steps = PinSteps(machine, Shop{}, Ids({"disc", "shaft", "pin"}), {});
  ASSERT_EQ(plan.setups[1].steps.size(), 2U);
  EXPECT_EQ(plan.setups[1].steps[0].words.find("look again"), std::string::npos);
  SayMeasuredBefore(machine, plan);
  const std::string& again = plan.setups[1].steps[1].measure->words;
  EXPECT_NE(again.find("After the blows look at lean"), std::string::npos) << again;
  EXPECT_NE(again.find("; as at step 4.1 (________)"), std::string::npos) << again;
  EXPECT_EQ(plan.setups[0].steps[0].measure->words.find("step"), std::string::npos);
  machine.requirements.clear();
  const auto bare = PinSteps(machine, Shop{}, Ids({"disc", "shaft"}), {});
  ASSERT_EQ(bare.size(), 1U);
  EXPECT_NE(bare.front().words.find("look again at what the joint is to keep"), std::string::npos);
}

TEST(Bonds, AreWashedBondedAndLeftToCure) {
  const Machine machine = ShaftMachine();
  SetupSketch sketch;
  sketch.bench = SetupSketch::Bench::kBond;
  sketch.part = PartId("shaft");
  sketch.mates = Ids({"disc", "pin"});
  sketch.joints = {JointId("glued_disc"), JointId("glued_pin")};
  const std::vector<Step> steps = BenchSteps(machine, BareShop(), FindSubjects(machine), sketch);
  ASSERT_EQ(steps.size(), 5U);
  EXPECT_EQ(steps[0].operation, Operation::kWash);
  EXPECT_NE(steps[0].words.find("V-blocks on the plate with a light strap over each for the shaft, a stop against its far end, and packing from the plate under disc and pin"),
            std::string::npos)
      << steps[0].words;
  EXPECT_EQ(steps[1].operation, Operation::kWash);
  EXPECT_EQ(steps[2].operation, Operation::kBond);
  EXPECT_EQ(steps[2].words.find("Bond shaft into the bore of disc"), 0U) << steps[2].words;
  EXPECT_NE(steps[2].words.find("leave it 0.000 to 0.000 mm on the diameter"), std::string::npos) << steps[2].words;
  EXPECT_EQ(steps[3].operation, Operation::kBond);
  EXPECT_EQ(steps[4].operation, Operation::kCure);
  EXPECT_EQ(steps[4].time_min, 0);
  EXPECT_EQ(steps[4].wait_min, kCureDefault_min);  // the pin's is not stated
  EXPECT_EQ(steps[4].joints, sketch.joints);
}

}  // namespace
}  // namespace fitwright::planner
