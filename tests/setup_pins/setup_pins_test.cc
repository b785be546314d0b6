// What the builder decides about machines, holding, tools and setups: kept by the plan, which is proved, or refused with
// the pins that cannot all hold. The plan is held against the pins as a reader of it would, by its setups and steps.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>

#include "fitwright/files/project.h"
#include "fitwright/planner/conflict.h"
#include "fitwright/planner/planner.h"
#include "fitwright/replay/replay.h"

namespace fitwright::planner {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;

const files::Project& Example(const std::string& name) {
  static std::map<std::string, files::Project> known;
  const auto found = known.find(name);
  if (found != known.end()) return found->second;
  Diagnostics faults;
  auto loaded = files::LoadProject(std::filesystem::path(FITWRIGHT_SOURCE_DIR) / "examples" / name, {}, faults);
  FW_CHECK(loaded.has_value(), name);
  return known.emplace(name, *std::move(loaded)).first->second;
}

PlannerOptions Brief() {
  PlannerOptions options;
  options.search_builds = 32;
  options.final_builds = 64;
  options.work.budget = 25;
  options.threads = 1;
  return options;
}

Result<Plan> PlanUnder(const files::Project& project, const std::vector<Pin>& pins) {
  const Choices choices{pins};
  Planner planner(project.machine, project.shop, choices, Brief());
  return planner.Choose();
}
Result<Plan> PlanUnder(const std::vector<Pin>& pins) { return PlanUnder(Example("bushed-block"), pins); }

bool Deep() { return std::getenv("FITWRIGHT_DEEP") != nullptr; }

void ExpectProved(const files::Project& project, const Plan& plan) {
  const auto report = replay::Replay(project.machine, project.shop, plan, {});
  ASSERT_TRUE(report) << Format(report.error());
  for (const ReplayPart& part : report->parts) {
    for (const ReplayViolation& v : part.violations) ADD_FAILURE() << v.step.text() << ": " << v.rule << ": " << v.say;
  }
}

// The setups in which a step works on the feature and ends it.
std::vector<const fitwright::Setup*> WhereMade(const Plan& plan, const std::string& feature) {
  std::vector<const fitwright::Setup*> setups;
  for (const fitwright::Setup& setup : plan.setups) {
    const bool here = std::any_of(setup.steps.begin(), setup.steps.end(), [&](const Step& step) {
      return step.finishes && std::any_of(step.features.begin(), step.features.end(), [&](const FeatureRef& ref) { return ref.text() == feature; });
    });
    if (here) setups.push_back(&setup);
  }
  return setups;
}
std::vector<const fitwright::Setup*> SetupsOf(const Plan& plan, const std::string& part) {
  std::vector<const fitwright::Setup*> setups;
  for (const fitwright::Setup& setup : plan.setups) {
    if (!setup.contacts.empty() && setup.parts.front().part.text() == part) setups.push_back(&setup);
  }
  return setups;
}
std::vector<std::string> ToolsOn(const Plan& plan, const std::string& feature) {
  std::vector<std::string> tools;
  for (const fitwright::Setup& setup : plan.setups) {
    for (const Step& step : setup.steps) {
      const bool on = std::any_of(step.features.begin(), step.features.end(), [&](const FeatureRef& ref) { return ref.text() == feature; });
      if (on && !step.tool.empty() && step.operation != Operation::kMeasure) tools.push_back(step.tool.text());
    }
  }
  return tools;
}

Pin On(const std::string& subject, const std::string& machine) { return {PinKind::kMachine, subject, machine, 0}; }
Pin In(const std::string& subject, const std::string& device) { return {PinKind::kHolding, subject, device, 0}; }
Pin With(const std::string& subject, const std::string& tool) { return {PinKind::kTool, subject, tool, 0}; }
Pin Set(const std::string& subject, const std::string& side_or_feature) { return {PinKind::kSetup, subject, side_or_feature, 0}; }
const Pin kIdle{PinKind::kAim, "block.bore", "25.004", 0};

TEST(MachinePin, TheBoreGoesToTheLatheOrStaysOffIt) {
  for (const std::string machine : {"lathe", "mill"}) {
    SCOPED_TRACE(machine);
    const auto plan = PlanUnder({On("block.bore", machine)});
    ASSERT_TRUE(plan) << Format(plan.error());
    const auto made = WhereMade(*plan, "block.bore");
    ASSERT_EQ(made.size(), 1U);
    EXPECT_EQ(made.front()->machine.text(), machine);
    if (Deep() || machine == "lathe") ExpectProved(Example("bushed-block"), *plan);
    const auto banned = PlanUnder({On("block.bore", "not " + machine)});
    ASSERT_TRUE(banned) << Format(banned.error());
    ASSERT_EQ(WhereMade(*banned, "block.bore").size(), 1U);
    EXPECT_NE(WhereMade(*banned, "block.bore").front()->machine.text(), machine);
  }
}

TEST(MachinePin, OfAPartConcernsEachOfItsSetups) {
  const auto plan = PlanUnder({On("block", "not lathe")});
  ASSERT_TRUE(plan) << Format(plan.error());
  for (const auto* setup : SetupsOf(*plan, "block")) EXPECT_NE(setup->machine.text(), "lathe") << setup->number;
  const auto turned = PlanUnder({On("bush", "not lathe"), kIdle});
  ASSERT_FALSE(turned) << "a bush cannot be turned without the lathe";
  EXPECT_THAT(turned.error().message, HasSubstr("this pin leaves no plan"));
  EXPECT_THAT(turned.error().message, HasSubstr("bush"));
}

TEST(HoldingPin, WhatIsForbiddenIsNotUsed) {
  const auto free = PlanUnder({});
  ASSERT_TRUE(free);
  const auto up = [](const Plan& plan, const std::string& side) {
    for (const auto* setup : SetupsOf(plan, "block")) {
      if (setup->up == side + " of block") return setup;
    }
    return static_cast<const fitwright::Setup*>(nullptr);
  };
  ASSERT_NE(up(*free, "+z"), nullptr);
  for (const std::string& named : {up(*free, "+z")->device.text(), std::string(WordOf(up(*free, "+z")->holding))}) {
    SCOPED_TRACE(named);
    const auto plan = PlanUnder({In("block.+z", "not " + named)});
    ASSERT_TRUE(plan) << Format(plan.error());
    for (const auto* setup : SetupsOf(*plan, "block")) {
      if (setup->up != "+z of block") continue;
      EXPECT_NE(setup->device.text(), named);
      EXPECT_NE(WordOf(setup->holding), named);
    }
    if (Deep()) ExpectProved(Example("bushed-block"), *plan);
  }
}

TEST(ToolPin, ForbiddenToolsRestAndNamedOnesWork) {
  const auto free = PlanUnder({});
  ASSERT_TRUE(free);
  const std::vector<std::string> usual = ToolsOn(*free, "block.bore");
  ASSERT_FALSE(usual.empty());
  const auto without = PlanUnder({With("block.bore", "not " + usual.back())});
  ASSERT_TRUE(without) << Format(without.error());
  EXPECT_THAT(ToolsOn(*without, "block.bore"), ::testing::Not(::testing::Contains(usual.back())));
  if (Deep()) ExpectProved(Example("bushed-block"), *without);
  const auto with = PlanUnder({On("block.bore", "mill"), With("block.bore", "boring_head_16")});
  ASSERT_TRUE(with) << Format(with.error());
  EXPECT_THAT(ToolsOn(*with, "block.bore"), ::testing::Contains("boring_head_16"));
  const auto part = PlanUnder({With("block", "not spot_drill_6")});
  ASSERT_TRUE(part) << Format(part.error());
  for (const std::string feature : {"block.top_holes", "block.side_holes"}) EXPECT_THAT(ToolsOn(*part, feature), ::testing::Not(::testing::Contains("spot_drill_6")));
}

TEST(ToolPin, ThatHasNoPartInTheWorkIsRefusedWithWhatStandsAgainstIt) {
  const auto plan = PlanUnder({kIdle, With("block.bore", "tap_m3_plug")});
  ASSERT_FALSE(plan);
  EXPECT_THAT(plan.error().message, HasSubstr("tool block.bore = tap_m3_plug"));
  EXPECT_THAT(plan.error().message, HasSubstr("is not cut with"));
}

TEST(SetupPin, SaysWhichSideIsUp) {
  for (const std::string side : {"+z", "-z"}) {
    SCOPED_TRACE(side);
    const auto plan = PlanUnder({Set("bush.screw_holes", side)});
    ASSERT_TRUE(plan) << Format(plan.error());
    const auto made = WhereMade(*plan, "bush.screw_holes");
    ASSERT_EQ(made.size(), 1U);
    EXPECT_EQ(made.front()->up, side + " of bush");
    if (Deep()) ExpectProved(Example("bushed-block"), *plan);
  }
}

TEST(SetupPin, KeepsFeaturesInOneSetupOrApart) {
  const auto apart = PlanUnder({{PinKind::kTechnique, "bush_screws", "by_coordinates", 0}, Set("block.top_holes", "not bore")});
  ASSERT_TRUE(apart) << Format(apart.error());
  const auto holes = WhereMade(*apart, "block.top_holes");
  const auto bore = WhereMade(*apart, "block.bore");
  ASSERT_EQ(holes.size(), 1U);
  ASSERT_EQ(bore.size(), 1U);
  EXPECT_NE(holes.front(), bore.front());
  ExpectProved(Example("bushed-block"), *apart);
  const auto together = PlanUnder({{PinKind::kTechnique, "bush_screws", "by_coordinates", 0}, Set("block.top_holes", "bore")});
  ASSERT_TRUE(together) << Format(together.error());
  EXPECT_EQ(WhereMade(*together, "block.top_holes"), WhereMade(*together, "block.bore"));
}

// The block is too thick for the faceplate, so that the lathe holds it in the four-jaw alone.
TEST(Conflict, OfMachineAndHoldingNamesThemAndNoOther) {
  const std::vector<Pin> pins = {kIdle, On("block.bore", "lathe"), In("block.bore", "not faceplate"), In("block.bore", "not four_jaw")};
  const Choices choices{pins};
  const files::Project& project = Example("bushed-block");
  EXPECT_THAT(SmallestConflict(project.machine, project.shop, choices, Brief()).pins, ElementsAre(pins[1], pins[3]));
  EXPECT_TRUE(PlanUnder({pins[0], pins[1], pins[2]}));
  EXPECT_TRUE(PlanUnder({pins[0], pins[2], pins[3]}));
}

TEST(Pins, OfWhatIsDoneAnywayChangeNothing) {
  const auto free = PlanUnder({});
  ASSERT_TRUE(free);
  const auto* made = WhereMade(*free, "block.bore").front();
  const auto same = PlanUnder({On("block.bore", made->machine.text()), In("block.bore", made->device.text()), Set("block.bore", made->up.substr(0, 2))});
  ASSERT_TRUE(same) << Format(same.error());
  ASSERT_EQ(same->setups.size(), free->setups.size());
  for (std::size_t i = 0; i < free->setups.size(); ++i) EXPECT_EQ(same->setups[i].hold_words, free->setups[i].hold_words) << i;
}

TEST(Pins, AreKeptOnTheCompressorsCore) {
  if (!Deep()) GTEST_SKIP() << "FITWRIGHT_DEEP";
  const files::Project& project = Example("compressor-core");
  const auto plan = PlanUnder(project, {On("body.crank_bore", "lathe"), In("body", "not angle_plate"), Set("piston.pin_hole", "+x")});
  if (plan) {
    EXPECT_EQ(WhereMade(*plan, "body.crank_bore").front()->machine.text(), "lathe");
    ExpectProved(project, *plan);
  } else {
    EXPECT_THAT(plan.error().message, HasSubstr("pin"));
  }
}

}  // namespace
}  // namespace fitwright::planner
