// Changes by name, what they do, and what would lessen the misses.
#include "fitwright/variation/what_if.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "fitwright/variation/fast_odds.h"
#include "fitwright/variation/lessen.h"
#include "fitwright/variation/odds.h"
#include "fitwright/variation/rare_odds.h"
#include "fitwright/variation/spread_out.h"
#include "tests/support/plan_builders.h"

namespace fitwright::variation::what_if_tests {
namespace {

using namespace fitwright::testing;

constexpr std::int64_t kBuilds = 2048;

// Screws with little room, so that all of them matter.
Project Cover() {
  const Machine machine = CoverMachine();
  Project project{
      machine, ShippedShop(), CoverByCoordinates(machine), {{JointId("screws"), -0.14}}};
  project.shop.remedies = {{"size", "make it again", 60, 1}};
  return project;
}

Odds OddsOf(const Project& project, std::int64_t builds = kBuilds, bool seldom = false) {
  const auto analysis = AnalyseProject(project);
  EXPECT_TRUE(analysis) << Format(analysis.error());
  OddsOptions options;
  options.builds = builds;
  options.shop_band = options.causes = options.values = false;
  options.seldom = seldom;
  return *CalcOddsOf(*analysis, project.shop, options);
}

double Of(const Odds& odds, const std::string& name) {
  for (const RequirementOdds& r : odds.requirements) {
    if (r.name.text() == name) return r.chance.odds;
  }
  return -1;
}

double After(const std::string& what_if, const std::string& name) {
  Project project = Cover();
  const auto change = ApplyWhatIf(what_if, LengthUnit::kMillimetre, project);
  EXPECT_TRUE(change) << Format(change.error());
  return Of(OddsOf(project), name);
}

TEST(WhatIf, EachKindOfKeyMovesWhatItShould) {
  const Odds before = OddsOf(Cover());
  EXPECT_GT(After("drill_start_spotted=half", "enter"), Of(before, "enter") + 0.005);
  EXPECT_LT(After("screws.clearance=0", "enter"), Of(before, "enter") - 0.02);
  EXPECT_GT(After("screws.clearance=0.2", "enter"), Of(before, "enter") + 0.02);
  EXPECT_LT(After("square.upper=0.35", "square"), Of(before, "square") - 0.05);
  EXPECT_LT(After("block.bore.aim=30.015", "fit"), Of(before, "fit"));
  // What it does not concern stays, to the last build.
  EXPECT_EQ(After("screws.clearance=0", "square"), Of(before, "square"));
  EXPECT_EQ(After("micrometer=x1", "fit"), Of(before, "fit"));
}

// Clearance is that of holes drilled so much larger, but that a smaller drill cuts less over its
// size.
TEST(WhatIf, ClearanceIsThatOfALargerDrill) {
  Project project = Cover();
  ASSERT_TRUE(ApplyWhatIf("screws.clearance=0.02", LengthUnit::kMillimetre, project));
  Project drilled = Cover();
  drilled.eased_mm.clear();
  for (Tool& tool : drilled.shop.tools) {
    if (tool.name.text() == "drill_32") tool.diameter_mm = 3.02;
  }
  EXPECT_NEAR(Of(OddsOf(project), "enter"), Of(OddsOf(drilled), "enter"), 0.04);
}

TEST(WhatIf, WordsInchesAndTimes) {
  Project project = Cover();
  const auto half = ApplyWhatIf("edge_finder=half", LengthUnit::kMillimetre, project);
  ASSERT_TRUE(half);
  EXPECT_EQ(half->from, 0.008);
  EXPECT_EQ(half->to, 0.004);
  EXPECT_EQ(project.shop.spreads.at("edge_finder").origin, SpreadOrigin::kStated);
  EXPECT_NEAR(ApplyWhatIf("edge_finder=0.001 in", LengthUnit::kMillimetre, project)->to, 0.0254,
              1e-12);
  EXPECT_NEAR(ApplyWhatIf("fit.upper=0.002", LengthUnit::kInch, project)->to, 0.0508, 1e-12);
  EXPECT_NEAR(ApplyWhatIf("square.upper=x2", LengthUnit::kInch, project)->to, 1.4, 1e-12);
  EXPECT_EQ(*project.machine.requirements[2].upper, 1.4e-3);
}

TEST(WhatIf, WrongKeysAndValuesAreAnsweredWithWhatWouldDo) {
  Project project = Cover();
  const auto key = ApplyWhatIf("edge_findr=0.1", LengthUnit::kMillimetre, project);
  ASSERT_FALSE(key);
  EXPECT_NE(key.error().remedy.find("write \"edge_finder\""), std::string::npos);
  EXPECT_NE(key.error().remedy.find("screws.clearance = 0.06 mm"), std::string::npos);
  for (const char* wrong : {"edge_finder=-0.1", "edge_finder=nan", "edge_finder=much",
                            "edge_finder=xx", "edge_finder=", "edge_finder", "=1"}) {
    EXPECT_FALSE(ApplyWhatIf(wrong, LengthUnit::kMillimetre, project)) << wrong;
  }
}

// A ranked change is what asking for it says.
TEST(Lessen, RanksWhatAskingWouldSay) {
  const Project project = Cover();
  const auto found = FindLessenings(project, {kBuilds});
  ASSERT_TRUE(found) << Format(found.error());
  ASSERT_FALSE(found->ranked.empty());
  const Odds before = OddsOf(project);
  for (const Lessening& l : found->ranked) {
    Project changed = project;
    if (l.change.key == "drill_oversize") continue;  // four rows of the shop's
    ASSERT_TRUE(ApplyWhatIf(fmt::format("{}={}", l.change.key, l.change.to),
                            LengthUnit::kMillimetre, changed));
    const Odds after = OddsOf(changed);
    for (const LessMissed& e : l.effects) {
      const std::string name = before.requirements[e.requirement].name.text();
      const double noise = 4.5 * std::sqrt((e.exact ? 0.25 : 0.5) / kBuilds);
      EXPECT_NEAR(e.after, Of(after, name), noise) << l.change.key << " " << name;
      EXPECT_GT(e.after, e.before);
    }
  }
  EXPECT_TRUE(std::is_sorted(
      found->ranked.begin(), found->ranked.end(),
      [](const auto& a, const auto& b) { return a.minutes_saved > b.minutes_saved; }));
  double misses = 0;
  for (const double odds : found->odds) misses += 1 - odds;
  EXPECT_NEAR(found->misses, misses, 1e-12);
}

// Spigot and bore are each worked to the drawing: the one read, the other made to it, misses less.
TEST(Lessen, AReadingIsWorthMaking) {
  Project project = Cover();
  project.machine.requirements[1].upper = 0.025;
  project.machine.requirements[1].lower = 0.012;
  project.shop.remedies = {{"clearance", "make it again", 300, 1}};
  const auto found = FindLessenings(project, {kBuilds});
  ASSERT_TRUE(found) << Format(found.error());
  ASSERT_EQ(found->readings.size(), 1U);
  const ReadingWorth& worth = found->readings.front();
  EXPECT_EQ(worth.requirement.text(), "fit");
  EXPECT_GT(worth.after, worth.before + 0.05);
  EXPECT_GT(worth.hours_saved, 0);
}

// Counted or by law, what is spread out adds up to one and misses as often as the odds say.
TEST(SpreadOut, SharesAreTheOdds) {
  const Project project = Cover();
  const auto analysis = AnalyseProject(project);
  ASSERT_TRUE(analysis);
  OddsOptions options;
  options.builds = kBuilds;
  const auto odds = CalcOddsOf(*analysis, project.shop, options);
  ASSERT_TRUE(odds);
  for (std::size_t r = 0; r < odds->requirements.size(); ++r) {
    const auto spread =
        CalcSpreadOut(*analysis, project.shop, r, odds->requirements[r], 1, kBuilds);
    ASSERT_TRUE(spread && spread->has_value()) << r;
    const SpreadOut& s = **spread;
    ASSERT_EQ(s.edges.size(), s.shares.size() + 1);
    EXPECT_NEAR(std::accumulate(s.shares.begin(), s.shares.end(), 0.0), 1, 0.02) << r;
    double within = 0;
    for (std::size_t i = 0; i < s.shares.size(); ++i) {
      const double middle = 0.5 * (s.edges[i] + s.edges[i + 1]);
      if ((!s.lower || middle >= *s.lower) && (!s.upper || middle <= *s.upper))
        within += s.shares[i];
    }
    EXPECT_NEAR(within, odds->requirements[r].chance.odds, 0.06)
        << odds->requirements[r].name.text();
  }
}

// What builds hardly ever miss is known all the same: by its law, and by lines.
TEST(Seldom, IsHandedOverToALaw) {
  Analysis a;
  a.figures[Place(SpreadId::kEdgeFinder)] = {0, 1};
  Source s;
  s.key = 5;
  a.sources.Add(s);
  RequirementForms r;
  r.name = RequirementId("q");
  r.linear = {FormOf(0)};
  r.upper = 4.5;
  a.requirements = {r};
  OddsOptions options;
  options.builds = kBuilds;
  const auto odds = CalcOddsOf(a, ShippedShop(), options);
  ASSERT_TRUE(odds);
  EXPECT_NEAR(1 - odds->requirements[0].chance.odds, 3.397673e-6, 1e-10);
  EXPECT_LT(odds->requirements[0].chance.high - odds->requirements[0].chance.low, 1e-9);
}

TEST(Seldom, IsHandedOverToDraws) {
  Project project = Cover();
  project.shop.spreads.at("chip_under_work").usual = {};
  Requirement& square = project.machine.requirements[2];
  Odds counted = OddsOf(project);
  while (counted.requirements[2].chance.odds <= 1 - kSeldom) {
    *square.upper += 0.1e-3;
    counted = OddsOf(project);
  }
  const Chance chance = OddsOf(project, kBuilds, true).requirements[2].chance;
  EXPECT_LT(chance.odds, 1);
  EXPECT_LE(chance.low, chance.odds);
  EXPECT_LT(chance.high - chance.low, 0.5 * (1 - chance.odds));
  EXPECT_GE(chance.low, counted.requirements[2].chance.low);
}

}  // namespace
}  // namespace fitwright::variation::what_if_tests
