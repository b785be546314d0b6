// Turned parts go through the whole planner: routes weighed, odds drawn, and the plan chosen is sound.
#include <gtest/gtest.h>

#include "fitwright/planner/planner.h"
#include "tests/support/lathe_parts.h"

namespace fitwright {
namespace {

using namespace lathe_parts;  // NOLINT: test helpers

class WholePlan : public testing::TestWithParam<Part (*)()> {};

TEST_P(WholePlan, IsChosenJudgedAndSound) {
  const Machine machine = MachineOf(GetParam()());
  const Shop shop = files::DefaultShop();
  planner::PlannerOptions options;
  options.final_builds = 500;
  const auto plan = planner::MakePlan(machine, shop, {}, options);
  ASSERT_TRUE(plan) << Format(plan.error());
  EXPECT_GT(plan->hours_expected, 0);
  const auto report = replay::Replay(machine, shop, *plan);
  ASSERT_TRUE(report) << Format(report.error());
  EXPECT_TRUE(report->ok) << TextOf(*plan) << TextOf(*report);
}

INSTANTIATE_TEST_SUITE_P(Parts, WholePlan,
                         testing::Values(GudgeonPin, Crankpin, Ring, DrivenPulley, Crankshaft, SpacerTube, Spacer, Washer,
                                         RearCover, TaperPlug, Knob));

}  // namespace
}  // namespace fitwright
