// One machine in many shops: each gives a plan that the replay passes, or says what cannot be made and what would let it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cctype>
#include <cstdlib>
#include <filesystem>
#include <ostream>

#include "fitwright/files/project.h"
#include "fitwright/planner/means.h"
#include "fitwright/planner/planner.h"
#include "fitwright/replay/replay.h"

namespace fitwright {
namespace {

using ::testing::HasSubstr;

bool Deep() { return std::getenv("FITWRIGHT_DEEP") != nullptr; }

files::Project Load(const std::string& example) {
  Diagnostics faults;
  auto loaded = files::LoadProject(std::filesystem::path(FITWRIGHT_SOURCE_DIR) / "examples" / example, {}, faults);
  FW_CHECK(loaded.has_value(), example);
  return *std::move(loaded);
}

void TakeMachine(Shop& shop, const std::string& name) {
  std::erase_if(shop.machines, [&](const MachineTool& m) { return m.name.text() == name; });
  std::erase_if(shop.holding, [&](const HoldingDevice& h) { return h.on.text() == name; });
}
void TakeHolding(Shop& shop, const std::string& name) {
  std::erase_if(shop.holding, [&](const HoldingDevice& h) { return h.name.text() == name; });
}

Shop Careful() {
  Shop shop = files::DefaultShop();
  shop.level = ShopLevel::kCareful;
  return shop;
}
Shop Worn() {
  Shop shop = files::DefaultShop();
  shop.level = ShopLevel::kWorn;
  return shop;
}
Shop DialsOnly() {
  Shop shop = files::DefaultShop();
  for (MachineTool& m : shop.machines) m.readout = false;
  return shop;
}
Shop NoBoringHead() {
  Shop shop = files::DefaultShop();
  std::erase_if(shop.tools, [](const Tool& t) { return t.kind == ToolKind::kBoringHead; });
  return shop;
}
Shop SmallVise() {
  Shop shop = files::DefaultShop();
  for (HoldingDevice& h : shop.holding) {
    if (h.name.text() != "mill_vise") continue;
    h.opening_mm = 66;
    h.jaw_width_mm = 60;
    h.jaw_height_mm = 25;
  }
  return shop;
}
Shop NoFourJaw() {
  Shop shop = files::DefaultShop();
  TakeHolding(shop, "four_jaw");
  return shop;
}
// A slide with a small vise on the lathe's cross slide, the cutter in the spindle: what it reaches is a small mill.
Shop VerticalSlide() {
  Shop shop = files::DefaultShop();
  const HoldingDevice vise = *shop.Find(HoldingDeviceId("mill_vise"));
  MachineTool slide = *shop.Find(MachineToolId("mill"));
  TakeMachine(shop, "mill");
  TakeMachine(shop, "drill_press");
  slide.name = MachineToolId("slide");
  slide.words = "the vertical slide on the lathe";
  slide.travel_mm = {130, 90, 450};
  slide.daylight_mm = 400;
  slide.readout = false;
  shop.machines.push_back(slide);
  HoldingDevice small = vise;
  small.name = HoldingDeviceId("slide_vise");
  small.on = slide.name;
  small.words = "vise on the slide";
  small.opening_mm = 66;
  small.jaw_width_mm = 70;
  shop.holding.push_back(small);
  return shop;
}
Shop DrillPressAndFiles() {
  Shop shop = files::DefaultShop();
  HoldingDevice vise = *shop.Find(HoldingDeviceId("mill_vise"));
  TakeMachine(shop, "mill");
  TakeMachine(shop, "lathe");
  vise.name = HoldingDeviceId("press_vise");
  vise.on = MachineToolId("drill_press");
  shop.holding.push_back(vise);
  return shop;
}
// Nothing but a lathe and the bench: what a part is fitted to must leave the only chuck first.
Shop OneLathe() {
  Shop shop = files::DefaultShop();
  TakeMachine(shop, "mill");
  TakeMachine(shop, "drill_press");
  return shop;
}

struct Variant {
  const char* name;
  Shop (*make)();
};
void PrintTo(const Variant& variant, std::ostream* out) { *out << variant.name; }
constexpr Variant kVariants[] = {{"careful", Careful},         {"worn", Worn},         {"dials only", DialsOnly},
                                 {"no boring head", NoBoringHead}, {"small vise", SmallVise}, {"no four-jaw", NoFourJaw},
                                 {"vertical slide", VerticalSlide}, {"drill press and files", DrillPressAndFiles}, {"one lathe", OneLathe}};

struct Outcome {
  std::optional<Plan> plan;
  std::string refusal;
  std::string remedy;
};

// Deep: searched; else the plain plan, or with none the refusal that a search would begin with.
Outcome PlanIn(const files::Project& project, const Shop& shop, bool searched) {
  const Shop catalogue = files::DefaultShop();
  planner::PlannerOptions options;
  options.search_builds = searched ? 512 : 64;
  options.final_builds = searched ? 20000 : 256;
  options.catalogue = &catalogue;
  Result<Plan> plan = Unexpected(Error{});
  if (searched) {
    planner::Planner planner(project.machine, shop, project.choices, options);
    plan = planner.Choose();
  } else {
    plan = planner::MakePlainPlan(project.machine, shop, project.choices, options);
  }
  if (plan) return {*std::move(plan), "", ""};
  EXPECT_EQ(plan.error().code, ErrorCode::kNoPlan);
  const Error said = planner::SayLacks(planner::FindLacks(project.machine, shop, catalogue, options), plan.error());
  return {std::nullopt, said.message, said.remedy};
}

void ExpectPlanOrReason(const files::Project& project, const Variant& variant, bool searched) {
  SCOPED_TRACE(variant.name);
  const Shop shop = variant.make();
  const Outcome outcome = PlanIn(project, shop, searched);
  if (!outcome.plan) {
    EXPECT_THAT(outcome.refusal, HasSubstr("this shop cannot make "));
    EXPECT_THAT(outcome.remedy, HasSubstr("1) "));
    std::printf("%s, %s: %s | %s\n", project.machine.name.c_str(), variant.name, outcome.refusal.c_str(), outcome.remedy.c_str());
    return;
  }
  const auto report = replay::Replay(project.machine, shop, *outcome.plan, {});
  ASSERT_TRUE(report) << Format(report.error());
  for (const ReplayPart& part : report->parts) {
    for (const ReplayViolation& v : part.violations) ADD_FAILURE() << part.name.text() << " " << v.step.text() << ": " << v.rule << ": " << v.say;
  }
  std::printf("%s, %s: %zu setups, %.2f h\n", project.machine.name.c_str(), variant.name, outcome.plan->setups.size(), outcome.plan->hours_cutting);
}

class Shops : public ::testing::TestWithParam<Variant> {};

TEST_P(Shops, MakesTheBushedBlockOrSaysWhyNot) {
  const std::string name = GetParam().name;
  if (!Deep() && name != "careful" && name != "drill press and files") GTEST_SKIP() << "FITWRIGHT_DEEP";
  ExpectPlanOrReason(Load("bushed-block"), GetParam(), Deep());
}

TEST_P(Shops, MakesTheCompressorOrSaysWhyNot) {
  if (!Deep()) GTEST_SKIP() << "FITWRIGHT_DEEP";
  ExpectPlanOrReason(Load("airbrush-compressor"), GetParam(), true);
}

// What is had, but too small, is got larger.
TEST(Lacks, AViseThatIsTooSmallIsGotLarger) {
  const Outcome outcome = PlanIn(Load("compressor-core"), SmallVise(), false);
  ASSERT_FALSE(outcome.plan);
  EXPECT_THAT(outcome.remedy, HasSubstr("1) Buy or borrow: a larger mill vise (opens 125 mm, jaws 110 mm wide and 40 high)."));
}

INSTANTIATE_TEST_SUITE_P(Each, Shops, ::testing::ValuesIn(kVariants), [](const auto& instance) {
  std::string name = instance.param.name;
  for (char& c : name) c = std::isalnum(static_cast<unsigned char>(c)) != 0 ? c : '_';
  return name;
});

}  // namespace
}  // namespace fitwright
