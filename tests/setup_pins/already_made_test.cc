// Parts and features that are made before the plan begins: planned round, and proved from the piece as it stands.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>

#include "fitwright/files/project.h"
#include "fitwright/model/already_made.h"
#include "fitwright/planner/planner.h"
#include "fitwright/replay/replay.h"
#include "fitwright/solid/build.h"
#include "fitwright/solid/measure.h"
#include "fitwright/variation/odds.h"

namespace fitwright::planner {
namespace {

constexpr double kPi_made = 3.14159265358979323846;

struct Begun {
  Machine machine;
  Shop shop;
  std::vector<std::string> assumed;
};

Begun BlockWith(const std::vector<std::string>& subjects) {
  Diagnostics faults;
  auto loaded = files::LoadProject(std::filesystem::path(FITWRIGHT_SOURCE_DIR) / "examples/bushed-block", {}, faults);
  FW_CHECK(loaded.has_value(), "bushed-block");
  Choices choices;
  for (const std::string& subject : subjects) choices.pins.push_back({PinKind::kMade, subject, "already", 0});
  Begun begun;
  begun.shop = loaded->shop;
  begun.machine = WithAlreadyMade(std::move(loaded->machine), choices, begun.assumed);
  return begun;
}

Result<Plan> PlanOf(const Begun& begun) {
  PlannerOptions options;
  options.search_builds = 32;
  options.work.budget = 20;
  options.threads = 1;
  const Choices none;
  Planner planner(begun.machine, begun.shop, none, options);
  return planner.Choose();
}

void ExpectProvedFrom(const Begun& begun, const Plan& plan) {
  const auto report = replay::Replay(begun.machine, begun.shop, plan, {});
  ASSERT_TRUE(report) << Format(report.error());
  for (const ReplayPart& part : report->parts) {
    for (const ReplayViolation& v : part.violations) ADD_FAILURE() << part.name.text() << " " << v.step.text() << ": " << v.rule << ": " << v.say;
  }
  EXPECT_TRUE(report->ok);
}

bool WorksOn(const Plan& plan, const std::string& name) {
  return std::any_of(plan.setups.begin(), plan.setups.end(), [&](const fitwright::Setup& setup) {
    return std::any_of(setup.steps.begin(), setup.steps.end(), [&](const Step& step) {
      const bool cuts = !step.tool.empty() && step.operation != Operation::kMeasure;
      return cuts && std::any_of(step.features.begin(), step.features.end(), [&](const FeatureRef& ref) { return ref.text() == name || ref.part.text() == name; });
    });
  });
}

TEST(AlreadyMade, APartHasNoSetupsAndTheRestIsPlannedRoundIt) {
  for (const std::string part : {"bush", "foot", "block"}) {
    SCOPED_TRACE(part);
    const Begun begun = BlockWith({part});
    ASSERT_EQ(begun.assumed.size(), 1U);
    const auto plan = PlanOf(begun);
    ASSERT_TRUE(plan) << Format(plan.error());
    EXPECT_FALSE(WorksOn(*plan, part));
    EXPECT_FALSE(plan->setups.empty());
    if (part == "bush" || std::getenv("FITWRIGHT_DEEP") != nullptr) ExpectProvedFrom(begun, *plan);
    const auto odds = variation::CalcOdds(begun.machine, begun.shop, *plan, {.builds = 256});
    EXPECT_TRUE(odds) << Format(odds.error());
  }
}

TEST(AlreadyMade, APieceBeginsWithoutTheMetalThatIsGone) {
  const Begun begun = BlockWith({"block.bottom", "block.bore"});
  const Part& block = *begun.machine.FindPart(PartId("block"));
  EXPECT_EQ(block.stock.box_P.min_mm.z(), 0) << "the stock ends at the face";
  const auto stock = solid::MakeStock(block);
  ASSERT_TRUE(stock);
  const Vec3 size = block.stock.box_P.size_mm();
  const double whole_mm3 = size.x() * size.y() * size.z();
  const double radius_mm = std::get<Hole>(block.Find(FeatureId("bore"))->shape).diameter.middle_mm() / 2;
  const double gone_mm3 = whole_mm3 - solid::CalcVolume_mm3(*stock);
  EXPECT_GE(gone_mm3, kPi_made * radius_mm * radius_mm * 40 - 1);
  EXPECT_LE(gone_mm3, kPi_made * radius_mm * radius_mm * size.z() + 1);
}

TEST(AlreadyMade, FeaturesAreNotCutAgain) {
  const std::vector<std::string> made = {"block.bottom", "block.top", "block.bore"};
  const Begun begun = BlockWith(made);
  const auto plan = PlanOf(begun);
  ASSERT_TRUE(plan) << Format(plan.error());
  for (const std::string& name : made) EXPECT_FALSE(WorksOn(*plan, name)) << name;
  EXPECT_TRUE(WorksOn(*plan, "block.top_holes"));
  ExpectProvedFrom(begun, *plan);
  const auto odds = variation::CalcOdds(begun.machine, begun.shop, *plan, {.builds = 256});
  EXPECT_TRUE(odds) << Format(odds.error());
}

}  // namespace
}  // namespace fitwright::planner
