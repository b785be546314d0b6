// Blocks in the independent four-jaw: where the mill cannot bore, held, balanced and placed as it
// says.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "fitwright/replay/rules.h"
#include "fitwright/variation/odds.h"
#include "tests/support/lathe_parts.h"

namespace fitwright {
namespace {

using namespace lathe_parts;  // NOLINT: test helpers

const fitwright::Setup* InFourJaw(const Plan& plan) {
  for (const fitwright::Setup& setup : plan.setups) {
    if (setup.holding == HoldingKind::kFourJaw) return &setup;
  }
  return nullptr;
}

TEST(FourJaw, WithoutABoringHeadTheBlockGoesToTheLathe) {
  const Made made = MakeAndReplay(GuideBlock(), WithoutBoringHead());
  ASSERT_TRUE(made.ok) << made.text;
  const fitwright::Setup* setup = InFourJaw(made.plan);
  ASSERT_NE(setup, nullptr) << made.text;
  for (const Step& step : setup->steps)
    EXPECT_LE(step.rpm, replay::kMostUnbalanced_rpm) << step.words;
  EXPECT_THAT(setup->cautions,
              testing::Contains(testing::HasSubstr(
                  "Out of balance: the block's middle stands 9 mm off")));  // hypot(8, 5)
  EXPECT_THAT(setup->zero.routine, testing::HasSubstr("punch mark"));
}

TEST(FourJaw, WithABoringHeadItStaysInTheVise) {
  const Made made = MakeAndReplay(GuideBlock(), files::DefaultShop());
  ASSERT_TRUE(made.ok) << made.text;
  EXPECT_EQ(InFourJaw(made.plan), nullptr) << made.text;
}

void ExpectRule(const Plan& plan, const std::string& rule) {
  const auto report = replay::Replay(MachineOf(GuideBlock()), WithoutBoringHead(), plan);
  ASSERT_TRUE(report) << Format(report.error());
  EXPECT_THAT(TextOf(*report), testing::HasSubstr(rule));
}

TEST(FourJaw, TheReplayObjectsToSpeedJawsAndSwing) {
  const Made made = MakeAndReplay(GuideBlock(), WithoutBoringHead());
  ASSERT_TRUE(made.ok) << made.text;
  const std::size_t at = static_cast<std::size_t>(InFourJaw(made.plan) - made.plan.setups.data());
  Plan fast = made.plan;
  for (Step& step : fast.setups[at].steps) {
    if (!step.path.empty()) step.rpm = 760;
  }
  ExpectRule(fast, "speed_not_on_machine");
  Plan loose = made.plan;
  auto& fixtures = loose.setups[at].fixtures;
  const auto jaw =
      std::find_if(fixtures.begin(), fixtures.end(), [](const FixtureSolid& f) { return f.grips; });
  ASSERT_NE(jaw, fixtures.end());
  fixtures.erase(jaw);
  ExpectRule(loose, "grip_missing");
  Shop small = WithoutBoringHead();
  for (MachineTool& m : small.machines) m.swing_mm = 80;  // the corner at (38, 30) swings 97
  const auto report = replay::Replay(MachineOf(GuideBlock()), small, made.plan);
  ASSERT_TRUE(report);
  EXPECT_THAT(TextOf(*report), testing::HasSubstr("swing_exceeded"));
}

TEST(FourJaw, ItsPlaceIsTheScribedLinesAndThePunchMarks) {
  Shop shop = WithoutBoringHead();
  for (auto& [id, spread] : shop.spreads) {
    if (id != "scribed_line" && id != "punch_mark_centring") spread.usual = {};
  }
  Machine machine = MachineOf(GuideBlock());
  const Made made = MakeAndReplay(GuideBlock(), shop);
  ASSERT_TRUE(made.ok) << made.text;
  const fitwright::Setup* setup = InFourJaw(made.plan);
  for (const Contact& c : setup->contacts) {
    if (c.kind != ContactKind::kEdgeFound || std::abs(c.normal_P.x()) < 0.5) continue;
    constexpr double kLess_mm = 0.1;
    Requirement place;
    place.name = RequirementId("place");
    place.kind = RequirementKind::kWallLeft;
    place.a = {PartId("guide_block"), FeatureId("bore")};
    place.b = c.surface;
    place.lower = (c.normal_P.x() > 0 ? 38 : 22) - 25.0105 / 2 - kLess_mm;
    machine.requirements = {place};
    variation::QuickOptions options;
    options.builds = 4096;
    const auto odds = variation::CalcQuickOdds(machine, shop, made.plan, options);
    ASSERT_TRUE(odds) << Format(odds.error());
    const double sigma =
        std::hypot(0.08, 0.05);  // scribed_line and punch_mark_centring of the shop's table
    // One side alone counts; 0.01 is two sigma of 4096 builds.
    EXPECT_NEAR(odds->per_requirement.front(),
                0.5 * (1 + std::erf(kLess_mm / sigma / std::sqrt(2.0))), 0.01);
    return;
  }
  FAIL() << "no side that the centre was scribed from";
}

}  // namespace
}  // namespace fitwright
