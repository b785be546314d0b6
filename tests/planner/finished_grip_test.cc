// Sizes that jaws held are measured again and compared with what they were; figures by hand.
#include "fitwright/planner/finished_grip.h"

#include <gtest/gtest.h>

#include "fitwright/planner/holding_words.h"
#include "fitwright/planner/measured_before.h"
#include "tests/support/process_bench.h"

namespace fitwright::planner {
namespace {

using namespace fitwright::bench;

// A spigot turned to 0.009 to 0.050 under a bore, then held by three jaws for what comes next.
struct Held {
  Part part = MakeTurned("housing", 60, -13, 57);
  PieceStates pieces;
  Plan plan;
  explicit Held(bool fitted) {
    part.features = {Outer("spigot", -10, 0, Fit(40, "g6", -0.025, -0.009))};
    pieces[part.name].part = &part;
    pieces[part.name].made = {FeatureId("spigot")};
    Step turn;
    turn.operation = Operation::kTurn;
    turn.finishes = true;
    turn.features = {{part.name, FeatureId("spigot")}, {part.name, FeatureId("flange_face")}};
    turn.measure = MeasureLine{turn.features.front(), InstrumentId("mic"), "its own size", 39.975, 39.991};
    Aim aim;
    aim.kind = fitted ? AimKind::kFitToMeasured : AimKind::kBringToSize;
    if (fitted) aim.mate = FeatureRef{PartId("body"), FeatureId("crank_bore")};
    aim.clearance_lower_mm = 0.009;
    aim.clearance_upper_mm = 0.050;
    turn.aim = aim;
    plan.setups.resize(2);
    plan.setups[0].number = 7;
    plan.setups[0].steps = {Step{}, turn};
    Contact grip;
    grip.kind = ContactKind::kChuckGrip;
    grip.surface = turn.features.front();
    plan.setups[1].number = 8;
    plan.setups[1].contacts = {grip};
    GaugeAgain(MakeBenchShop(), pieces, plan.setups[1]);
    SayMeasuredBefore(Machine{}, plan);
  }
  const MeasureLine& line() const { return *plan.setups[1].steps.front().measure; }
};

TEST(FinishedGrip, AHeldSizeIsComparedWithWhatItWas) {
  const Held held(false);
  ASSERT_EQ(held.plan.setups[1].steps.size(), 1U);
  EXPECT_NE(held.line().words.find("every reading must be within 0.006 mm of what it was at step 7.2 (________)"), std::string::npos)
      << held.line().words;  // two readings of a micrometer good to 0.004: that by root two
  EXPECT_DOUBLE_EQ(held.line().lower_mm, 39.975);
  EXPECT_DOUBLE_EQ(held.line().upper_mm, 39.991);
}

// Made to its mate it may well lie outside the sheet's limits.
TEST(FinishedGrip, AFittedSizeHasTheMatesLimitsNotTheSheets) {
  const Held held(true);
  EXPECT_NE(held.line().words.find("at step 7.2 (________), and 0.009 to 0.050 mm under the crank bore of the body as measured"), std::string::npos)
      << held.line().words;
  EXPECT_EQ(held.line().lower_mm, held.line().upper_mm);
}

// A close bore that a vise presses oval is gauged once more when it is free; one that no vise presses, and a rough one, are not.
TEST(FinishedGrip, ABoreThatAVisePressesIsGaugedWhenItIsOut) {
  for (const bool pressed : {true, false}) {
    for (const double half_mm : {0.0125, 0.1}) {
      Part part = MakeSawnBlock("body", Vec3(0, 0, 0), Vec3(60, 60, 50));
      Hole hole;
      hole.use = HoleUse::kBore;
      hole.into_P = -Vec3::UnitZ();
      hole.entries_P_mm = {Vec3(30, 30, 50)};
      hole.depth_mm = 50;
      hole.diameter = Fit(40, "H7", 0, 2 * half_mm);
      part.features = {Make("crank_bore", hole)};
      PieceStates pieces;
      pieces[part.name].part = &part;
      pieces[part.name].made = {FeatureId("crank_bore")};
      fitwright::Setup setup;
      setup.parts = {{part.name, Pose::Identity(), true}};
      setup.steps.resize(1);
      setup.steps[0].operation = Operation::kBore;
      setup.steps[0].finishes = true;
      setup.steps[0].features = {{part.name, FeatureId("crank_bore")}};
      if (pressed) {
        FixtureBox jaw;
        jaw.box_F = Box3{Vec3(0, 60, 0), Vec3(60, 80, 40)};
        FixtureSolid moving;
        moving.role = FixtureRole::kMovingJaw;
        moving.shape = jaw;
        setup.fixtures = {moving};
      }
      GaugeAgain(MakeBenchShop(), pieces, setup);
      const bool again = pressed && half_mm < 0.02;
      ASSERT_EQ(setup.steps.size(), again ? 2U : 1U) << pressed << half_mm;
      if (!again) continue;
      EXPECT_TRUE(setup.steps[1].measure->words.starts_with("Out of the vise: measure crank bore again")) << setup.steps[1].measure->words;
    }
  }
}

}  // namespace
}  // namespace fitwright::planner
