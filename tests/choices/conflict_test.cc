// Decisions of the builder that cannot all hold, and ways that are forbidden.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "fitwright/files/project.h"
#include "fitwright/planner/conflict.h"
#include "fitwright/planner/pins.h"
#include "fitwright/planner/planner.h"

namespace fitwright::planner {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::Not;

const files::Project& TheBlock() {
  static const files::Project project = [] {
    Diagnostics faults;
    auto loaded = files::LoadProject(std::string(FITWRIGHT_SOURCE_DIR) + "/examples/bushed-block", {}, faults);
    FW_CHECK(loaded.has_value(), "bushed-block");
    return *std::move(loaded);
  }();
  return project;
}

PlannerOptions Quick() {
  PlannerOptions options;
  options.search_builds = 64;
  options.final_builds = 256;
  options.work.budget = 30;
  options.threads = 1;
  return options;
}

Result<Plan> PlanUnder(const std::vector<Pin>& pins, const Shop& shop) {
  const Choices choices{pins};
  Planner planner(TheBlock().machine, shop, choices, Quick());
  return planner.Choose();
}

const Pin kBlockFirst{PinKind::kOrder, "bush", "block", 0};
const Pin kBushFirst{PinKind::kOrder, "block", "bush", 0};
const Pin kHarmless{PinKind::kAim, "block.bore", "25.004", 0};

TEST(Conflict, TwoOrdersThatGoRoundAreShownWithoutWhatIsHarmless) {
  const Choices choices{{kHarmless, kBlockFirst, kBushFirst}};
  const Conflict conflict = SmallestConflict(TheBlock().machine, TheBlock().shop, choices, Quick());
  EXPECT_THAT(conflict.pins, ElementsAre(kBlockFirst, kBushFirst));
  const auto plan = PlanUnder(choices.pins, TheBlock().shop);
  ASSERT_FALSE(plan.has_value());
  EXPECT_EQ(plan.error().code, ErrorCode::kNoPlan);
  EXPECT_THAT(plan.error().message, HasSubstr("order bush = block"));
  EXPECT_THAT(plan.error().message, HasSubstr("order block = bush"));
  EXPECT_THAT(plan.error().message, HasSubstr("circle"));
  EXPECT_THAT(plan.error().message, Not(HasSubstr("25.004")));
  EXPECT_TRUE(PlanUnder({kHarmless, kBlockFirst}, TheBlock().shop).has_value()) << "either alone holds";
  EXPECT_TRUE(PlanUnder({kBushFirst}, TheBlock().shop).has_value());
}

TEST(Conflict, OnePinWithoutItsToolIsShownWithTheTool) {
  Shop shop = TheBlock().shop;
  std::erase_if(shop.tools, [](const Tool& t) { return t.kind == ToolKind::kTransferPunch; });
  const Pin punch{PinKind::kTechnique, "bush_screws", "transfer_punch", 0};
  const auto plan = PlanUnder({kHarmless, punch}, shop);
  ASSERT_FALSE(plan.has_value());
  EXPECT_THAT(plan.error().message, HasSubstr("this pin leaves no plan"));
  EXPECT_THAT(plan.error().message, HasSubstr("punch"));
  EXPECT_THAT(plan.error().message, Not(HasSubstr("25.004")));
  EXPECT_TRUE(PlanUnder({kHarmless, punch}, TheBlock().shop).has_value()) << "with the punch it holds";
}

Pin Banned(Technique way) { return {PinKind::kTechnique, "bush_screws", "not " + std::string(WordOf(way)), 0}; }

TEST(Forbidden, WaysAreNotTaken) {
  const auto way_in = [](const Plan& plan) {
    const auto joint = std::find_if(plan.joints.begin(), plan.joints.end(), [](const JointPlan& j) { return j.name == "bush_screws"; });
    return joint == plan.joints.end() ? std::optional<Technique>() : joint->technique;
  };
  std::vector<Pin> pins;
  std::vector<Technique> taken;
  // Each way that is chosen is forbidden in turn, until none is left.
  for (auto plan = PlanUnder(pins, TheBlock().shop); plan; plan = PlanUnder(pins, TheBlock().shop)) {
    const auto way = way_in(*plan);
    ASSERT_TRUE(way.has_value());
    ASSERT_EQ(std::count(taken.begin(), taken.end(), *way), 0) << "a forbidden way was taken";
    taken.push_back(*way);
    pins.push_back(Banned(*way));
    ASSERT_LE(pins.size(), 4U);
  }
  EXPECT_GE(taken.size(), 3U);
  const Choices choices{pins};
  EXPECT_EQ(SmallestConflict(TheBlock().machine, TheBlock().shop, choices, Quick()).pins.size(), pins.size()) << "none can be spared";
}

TEST(Forbidden, OfAFitAndOfAFlushPairToo) {
  const Pin not_each{PinKind::kTechnique, "foot_flush", "not by_coordinates", 0};
  const auto plan = PlanUnder({not_each}, TheBlock().shop);
  ASSERT_TRUE(plan.has_value()) << Format(plan.error());
  for (const JointPlan& joint : plan->joints) {
    if (joint.name == "foot_flush") {
      EXPECT_EQ(joint.technique, Technique::kMachineTogether);
    }
  }
  EXPECT_TRUE(Agrees(not_each, "machine_together"));
  EXPECT_FALSE(Agrees(not_each, "by_coordinates"));
  EXPECT_EQ(WordIn(not_each), "by_coordinates");
}

}  // namespace
}  // namespace fitwright::planner
