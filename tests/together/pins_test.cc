// What the builder decides: held against what there is to decide, and kept by the plan.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>

#include "fitwright/files/project.h"
#include "fitwright/planner/planner.h"
#include "fitwright/replay/replay.h"

namespace fitwright {
namespace {

using testing::HasSubstr;

const files::Project& BushedBlock() {
  static const files::Project project = [] {
    Diagnostics faults;
    auto loaded = files::LoadProject(std::filesystem::path(FITWRIGHT_SOURCE_DIR) / "examples/bushed-block", {}, faults);
    FW_CHECK(loaded.has_value(), "bushed-block");
    return *std::move(loaded);
  }();
  return project;
}

Result<Plan> PlanWith(const Pin& pin) {
  Choices choices;
  choices.pins = {pin};
  planner::PlannerOptions options;
  options.final_builds = 1024;
  return planner::MakePlainPlan(BushedBlock().machine, BushedBlock().shop, choices, options);
}

std::string Refusal(const Pin& pin, ErrorCode code) {
  const auto plan = PlanWith(pin);
  if (plan) return "planned";
  EXPECT_EQ(plan.error().code, code);
  return plan.error().message + " / " + plan.error().remedy;
}

// Of the step that ends the feature.
const Aim* AimOf(const Plan& plan, const FeatureRef& ref) {
  for (const Setup& setup : plan.setups) {
    for (const Step& step : setup.steps) {
      const bool ends = step.finishes && step.aim && !step.features.empty() && step.features.front() == ref;
      if (ends) return &*step.aim;
    }
  }
  return nullptr;
}

TEST(Pins, OfWhatNoTechniqueIsChosenForAreRefusedWithWhatIsOpen) {
  const std::string said = Refusal({PinKind::kTechnique, "bore_square", "machine_together", 0}, ErrorCode::kUnknownSubject);
  EXPECT_THAT(said, HasSubstr("bore_square"));
  EXPECT_THAT(said, HasSubstr("foot_flush"));
  EXPECT_THAT(said, HasSubstr("bush_screws"));
}

TEST(Pins, OfATechniqueThatIsNoWayToMakeItAreRefusedWithTheWays) {
  const std::string said = Refusal({PinKind::kTechnique, "bush_screws", "machine_together", 0}, ErrorCode::kUnknownWord);
  EXPECT_THAT(said, HasSubstr("spot_through"));
}

TEST(Pins, OfASizeOutsideItsLimitsAreRefusedWithTheLimits) {
  const std::string said = Refusal({PinKind::kAim, "block.bore", "25.03", 0}, ErrorCode::kOutOfRange);
  EXPECT_THAT(said, HasSubstr("25 to 25.021"));  // ISO 286-2, 25 H7
}

TEST(Pins, OfAFitThatNoRequirementStatesAreRefused) {
  EXPECT_THAT(Refusal({PinKind::kAim, "block.bore", "fit_to_measured", 0}, ErrorCode::kUnknownWord), HasSubstr("no requirement"));
  EXPECT_THAT(Refusal({PinKind::kAim, "block.bore_lead", "one_shot", 0}, ErrorCode::kUnknownSubject), HasSubstr("no size"));
}

TEST(Pins, OfASizeAreWhatTheCutAimsAtAndItsPartsAreStillRight) {
  const FeatureRef bore{PartId("block"), FeatureId("bore")};
  const auto plan = PlanWith({PinKind::kAim, "block.bore", "25.004", 0});
  ASSERT_TRUE(plan) << Format(plan.error());
  const Aim* aim = AimOf(*plan, bore);
  ASSERT_NE(aim, nullptr);
  EXPECT_DOUBLE_EQ(aim->target_mm, 25.004);
  EXPECT_DOUBLE_EQ(aim->upper_mm, 25.021);
  const auto report = replay::Replay(BushedBlock().machine, BushedBlock().shop, *plan, {});
  ASSERT_TRUE(report) << Format(report.error());
  EXPECT_TRUE(report->ok);
}

TEST(Pins, OfAWayAreWhatTheCutIsMadeBy) {
  const FeatureRef bore{PartId("block"), FeatureId("bore")};
  const auto measured = PlanWith({PinKind::kAim, "block.bore", "bring_to_size", 0});
  const auto once = PlanWith({PinKind::kAim, "block.bore", "one_shot", 0});
  ASSERT_TRUE(measured) << Format(measured.error());
  ASSERT_TRUE(once) << Format(once.error());
  ASSERT_NE(AimOf(*measured, bore), nullptr);
  ASSERT_NE(AimOf(*once, bore), nullptr);
  EXPECT_EQ(AimOf(*measured, bore)->kind, AimKind::kBringToSize);
  EXPECT_EQ(AimOf(*once, bore)->kind, AimKind::kOneShot);
}

TEST(Pins, AreKeptByTheSearchedPlanToo) {
  Choices choices;
  choices.pins = {{PinKind::kAim, "block.bore", "25.004", 0}};
  planner::PlannerOptions options;
  options.final_builds = 1024;
  options.advice_builds = 256;
  options.work.budget = 60;
  const auto plan = planner::MakePlan(BushedBlock().machine, BushedBlock().shop, choices, options);
  ASSERT_TRUE(plan) << Format(plan.error());
  const Aim* aim = AimOf(*plan, {PartId("block"), FeatureId("bore")});
  ASSERT_NE(aim, nullptr);
  EXPECT_DOUBLE_EQ(aim->target_mm, 25.004);
}

}  // namespace
}  // namespace fitwright
