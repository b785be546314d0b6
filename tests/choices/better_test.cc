// What would lift the odds: each figure is what the odds come to when that one thing is changed.
#include <gtest/gtest.h>

#include "fitwright/files/project.h"
#include "fitwright/planner/betterment.h"
#include "fitwright/planner/planner.h"
#include "fitwright/variation/odds.h"

namespace fitwright::planner {
namespace {

TEST(Betterment, FiguresAreThoseOfThePlanWithThatOneThingChanged) {
  Diagnostics faults;
  const auto project = files::LoadProject(std::string(FITWRIGHT_SOURCE_DIR) + "/examples/bushed-block", {}, faults);
  ASSERT_TRUE(project.has_value());
  PlannerOptions options;
  options.final_builds = 2000;
  options.threads = 1;
  Choices choices;
  choices.pins = {{PinKind::kTechnique, "foot_flush", "machine_together", 0}, {PinKind::kTechnique, "bush_height", "fit_to_measured", 0}};
  const auto plan = MakePlainPlan(project->machine, project->shop, choices, options);
  ASSERT_TRUE(plan.has_value());
  const auto found = FindBetterments(project->machine, project->shop, *plan, options);
  ASSERT_TRUE(found.has_value());
  ASSERT_FALSE(found->empty()) << "the plan leaves room";
  variation::OddsOptions wanted;
  wanted.builds = 2000;
  wanted.threads = 1;
  wanted.shop_band = wanted.causes = false;
  double before = 1;
  bool shop_seen = false;
  for (const Betterment& b : *found) {
    EXPECT_GE(b.odds_after - b.odds_before, 0.005);
    EXPECT_EQ(b.odds_before, plan->odds.all.odds);
    EXPECT_LE(b.odds_after, before);
    before = b.odds_after;
    if (b.kind != BettermentKind::kShop || shop_seen) continue;
    shop_seen = true;
    Shop shop = project->shop;
    Spread& spread = shop.spreads.at(b.where);
    const bool can_care = spread.careful.spread < 0.99 * spread.usual.spread;
    if (!can_care) continue;
    spread.usual.spread = spread.careful.spread;
    spread.usual.mean *= spread.careful.spread / FigureOf(project->shop, project->shop.spreads.at(b.where)).spread;
    const auto odds = variation::CalcOdds(project->machine, shop, *plan, wanted);
    ASSERT_TRUE(odds.has_value());
    EXPECT_NEAR(odds->all.odds, b.odds_after, 1e-12) << b.where;
  }
  EXPECT_TRUE(shop_seen);
}

}  // namespace
}  // namespace fitwright::planner
