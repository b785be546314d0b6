// What several parts add up to, against sums by hand.
#include "fitwright/planner/sums_before.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "fitwright/planner/measured_before.h"
#include "tests/support/process_bench.h"

namespace fitwright::planner {
namespace {

using namespace bench;  // NOLINT: test helpers
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::Not;

Part Slab(const std::string& name, double low, double high) {
  Part part = MakeSawnBlock(name, Vec3(-20, -20, low), Vec3(20, 20, high));
  part.features = {Make("top", PlanarFace{kZ, Plain(high, 0.2)}), Make("bottom", PlanarFace{-kZ, Plain(-low, 0.2)})};
  return part;
}

Joint Between(JointKind kind, const char* lower, const char* upper) {
  Joint joint;
  joint.kind = kind;
  joint.fixed = {PartId(lower), FeatureId("top")};
  joint.moving = {PartId(upper), FeatureId("bottom")};
  return joint;
}

// 20, 5 and 0.3 one on the other: 25.3 from the lowest to the highest.
Machine Stack(JointKind highest) {
  Machine machine;
  machine.parts = {Slab("block", 0, 20), Slab("plate", 20, 25), Slab("paper", 25, 25.3)};
  machine.joints = {Between(JointKind::kFaceContact, "block", "plate"), Between(highest, "plate", "paper")};
  Requirement r;
  r.name = RequirementId("R3");
  r.kind = RequirementKind::kDistance;
  r.words = "height of all";
  r.a = {PartId("paper"), FeatureId("top")};
  r.b = {PartId("block"), FeatureId("bottom")};
  r.lower = -25.6;  // along b's normal, which looks down
  r.upper = -25.1;
  machine.requirements = {r};
  return machine;
}

// Setup 3 measures the plate in its second step.
Plan Measured() {
  Plan plan;
  plan.setups.resize(1);
  plan.setups[0].number = 3;
  plan.setups[0].steps.resize(2);
  Step& step = plan.setups[0].steps[1];
  step.operation = Operation::kMeasure;
  step.measure = MeasureLine{};
  step.measure->between = {{PartId("plate"), FeatureId("bottom")}, {PartId("plate"), FeatureId("top")}};
  return plan;
}

TEST(SumsBefore, TermsAddUpToWhatIsDrawn) {
  const Machine machine = Stack(JointKind::kFaceContact);
  std::vector<double> drawn;
  for (const DistanceTerm& term : TermsOfDistance(machine, machine.requirements.front())) drawn.push_back(term.drawn_mm);
  EXPECT_THAT(drawn, ElementsAre(::testing::DoubleNear(-0.3, 1e-9), ::testing::DoubleNear(-5, 1e-9), ::testing::DoubleNear(-20, 1e-9)));
}

TEST(SumsBefore, SaysEachWithTheStepThatMeasuredIt) {
  const auto steps = SumsBefore(Stack(JointKind::kFaceContact), MakeBenchShop(), {}, Measured());
  ASSERT_EQ(steps.size(), 1U);
  for (const char* words : {"what R3 comes to, height of all", "plate, top to bottom, 5.000 mm drawn, as made at step 3.2 ________", "block, top to bottom, 20.000 mm drawn, measured now ________",
                            "Together 25.300 mm drawn, ________ as measured; 25.100 mm to 25.600 mm will do", "the one that is furthest off first"})
    EXPECT_THAT(steps.front().words, HasSubstr(words));
  EXPECT_THAT(steps.front().words, Not(HasSubstr("less"))) << "nothing counts against it";
}

TEST(SumsBefore, AGasketIsCutThickerOrThinner) {
  const auto steps = SumsBefore(Stack(JointKind::kGasketedFace), MakeBenchShop(), {}, Measured());
  ASSERT_EQ(steps.size(), 1U);
  EXPECT_THAT(steps.front().words, HasSubstr("Where it does not: paper of sheet that is as much thicker or thinner puts it right"));
}

TEST(SumsBefore, WhatIsMadeToSuitAndShortChainsHaveNone) {
  const Machine machine = Stack(JointKind::kFaceContact);
  EXPECT_TRUE(SumsBefore(machine, MakeBenchShop(), {RequirementId("R3")}, Measured()).empty());
  Machine two = machine;
  two.requirements.front().a = {PartId("plate"), FeatureId("top")};
  EXPECT_TRUE(SumsBefore(two, MakeBenchShop(), {}, Measured()).empty());
}

// The plate's top is faced to stand proud of the block's: the depth under it was measured, and is told what for.
TEST(SumsBefore, ADepthThatAFaceIsCutToSaysSo) {
  Machine machine = Stack(JointKind::kFaceContact);
  machine.parts[0].features.push_back(Make("rim", PlanarFace{kZ, Plain(22, 0.2)}));
  Plan plan = Measured();
  plan.setups[0].steps[1].measure->between = {{PartId("block"), FeatureId("rim")}, {PartId("block"), FeatureId("top")}};
  plan.setups.resize(2);
  plan.setups[1].number = 5;
  Step face;
  face.operation = Operation::kFace;
  face.features = {{PartId("plate"), FeatureId("top")}};
  face.aim = Aim{};
  face.aim->kind = AimKind::kFitToMeasured;
  face.aim->mate = FeatureRef{PartId("block"), FeatureId("rim")};
  plan.setups[1].steps = {face};
  SayMeasuredBefore(machine, plan);
  EXPECT_THAT(plan.setups[0].steps[1].measure->words, HasSubstr("top of plate is cut to suit it in setup 5"));
}

}  // namespace
}  // namespace fitwright::planner
