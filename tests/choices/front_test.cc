// Plans chosen for something else than the fewest expected hours, and the front of those that none beats.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>

#include "fitwright/files/project.h"
#include "fitwright/planner/front.h"
#include "fitwright/variation/odds.h"

namespace fitwright::planner {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;

TEST(PlacesToOffer, NoneThatIsBeatenAndNoTwoAlike) {
  // Odds, expected hours, setups.
  EXPECT_THAT(PlacesToOffer({{0.50, 10, 20}, {0.50, 11, 20}, {0.60, 12, 20}, {0.40, 9, 20}}), ElementsAre(0, 3, 2));
  EXPECT_THAT(PlacesToOffer({{0.50, 10, 20}, {0.505, 10.1, 20}, {0.55, 10.15, 20}}), ElementsAre(0, 2));
  EXPECT_THAT(PlacesToOffer({{0.50, 10, 20}, {0.505, 10.5, 20}}), ElementsAre(0, 1)) << "more than two per cent of the hours apart";
  EXPECT_THAT(PlacesToOffer({{0.50, 10, 20}, {0.45, 12, 15}, {0.45, 12, 16}}), ElementsAre(0, 1)) << "fewer setups count";
  EXPECT_THAT(PlacesToOffer({{0.50, 10, 20}, {0.60, 9, 20}}), ElementsAre(0, 1)) << "the first is the plan that was asked for";
  EXPECT_TRUE(PlacesToOffer({}).empty());
}

TEST(CostOf, WeighsWhatIsPreferred) {
  Judged judged;
  judged.minutes = 100;
  judged.expected_min = 150;
  judged.odds = 0.4;
  judged.setups = 7;
  EXPECT_EQ(CostOf(judged, {}), 150);
  EXPECT_EQ(CostOf(judged, {0, 0, 0}), 100);
  EXPECT_EQ(CostOf(judged, {1, 10, 0}), 220);
  EXPECT_EQ(CostOf(judged, {1, 0, 0.4}), 150);
  EXPECT_GT(CostOf(judged, {1, 0, 0.5}), 5000);
}

bool Deep() { return std::getenv("FITWRIGHT_DEEP") != nullptr; }

struct Chosen {
  Plan plan;
  Odds odds;
  Judged judged;
};

class BushedBlock : public ::testing::Test {
 protected:
  static void SetUpTestSuite() {
    Diagnostics faults;
    auto loaded = files::LoadProject(std::string(FITWRIGHT_SOURCE_DIR) + "/examples/bushed-block", {}, faults);
    ASSERT_TRUE(loaded.has_value()) << Format(loaded.error());
    project_ = new files::Project(*std::move(loaded));
    usual_ = new Chosen(*Make(Wish::kLeastHours));
  }
  static void TearDownTestSuite() {
    delete project_;
    delete usual_;
  }
  // Deep: as the program searches; else few plans on few builds.
  static PlannerOptions Options(Wish wish, double sure) {
    PlannerOptions options;
    options.search_builds = Deep() ? 512 : 128;
    options.advice_builds = 256;
    options.final_builds = 2000;
    options.work.budget = Deep() ? 0 : 40;
    options.threads = 1;
    options.wish = wish;
    options.sure = sure;
    return options;
  }
  static Result<Chosen> Make(Wish wish, double sure = 0) {
    const PlannerOptions options = Options(wish, sure);
    Planner planner(project_->machine, project_->shop, project_->choices, options);
    const Result<Plan> plan = planner.Choose();
    if (!plan) return Unexpected(plan.error());
    variation::OddsOptions wanted;
    wanted.builds = options.final_builds;
    wanted.shop_band = wanted.causes = false;
    const auto odds = variation::CalcOdds(project_->machine, project_->shop, *plan, wanted);
    const auto judged = Judge(project_->machine, project_->shop, *plan, options);
    if (!odds || !judged) return Unexpected(odds ? judged.error() : odds.error());
    return Chosen{*plan, *odds, *judged};
  }

  static files::Project* project_;
  static Chosen* usual_;
};
files::Project* BushedBlock::project_ = nullptr;
Chosen* BushedBlock::usual_ = nullptr;

TEST_F(BushedBlock, TheQuickestTakesNoLongerIfAllGoesWell) {
  const auto quickest = Make(Wish::kQuickest);
  ASSERT_TRUE(quickest.has_value());
  EXPECT_LT(quickest->judged.minutes, usual_->judged.minutes) << "or the test says nothing";
  EXPECT_GE(quickest->judged.expected_min, usual_->judged.expected_min);
}

TEST_F(BushedBlock, TheFewestSetupsAreNoMore) {
  const auto fewest = Make(Wish::kFewestSetups);
  ASSERT_TRUE(fewest.has_value());
  EXPECT_LT(fewest->plan.setups.size(), usual_->plan.setups.size()) << "or the test says nothing";
}

TEST_F(BushedBlock, OddsAskedForAreReachedOrItIsSaidWhatHoldsThemBack) {
  const auto less = Make(Wish::kSure, usual_->odds.all.odds - 0.02);
  ASSERT_TRUE(less.has_value());
  EXPECT_EQ(less->judged.expected_min, usual_->judged.expected_min) << "the usual plan is sure enough";
  const auto never = Make(Wish::kSure, 0.9999);
  ASSERT_FALSE(never.has_value());
  EXPECT_EQ(never.error().code, ErrorCode::kNoPlan);
  EXPECT_THAT(never.error().message, HasSubstr("holds it back"));
  EXPECT_THAT(never.error().remedy, HasSubstr("wider limits"));
}

TEST_F(BushedBlock, NoneOfferedIsBeatenAndNoTwoAreAlike) {
  if (!Deep()) GTEST_SKIP() << "FITWRIGHT_DEEP";
  PlannerOptions options = Options(Wish::kLeastHours, 0);
  options.offers = true;
  Planner planner(project_->machine, project_->shop, project_->choices, options);
  Result<Plan> plan = planner.Choose();
  ASSERT_TRUE(plan.has_value());
  ASSERT_TRUE(planner.Tell(*plan).has_value());
  const auto offers = planner.Offers(*plan);
  ASSERT_TRUE(offers.has_value());
  ASSERT_GE(offers->size(), 2U);
  for (std::size_t i = 0; i < offers->size(); ++i) {
    const Plan& a = (*offers)[i].plan;
    EXPECT_EQ((*offers)[i].differs.empty(), i == 0);
    EXPECT_EQ((*offers)[i].trade.empty(), i == 0);
    for (std::size_t k = 0; k < offers->size(); ++k) {
      const Plan& b = (*offers)[k].plan;
      if (i == k) continue;
      EXPECT_FALSE(Alike({a.odds.all.odds, a.hours_expected, 0}, {b.odds.all.odds, b.hours_expected, 0})) << i << " " << k;
      if (i == 0) continue;
      const bool beaten = b.odds.all.odds >= a.odds.all.odds && b.hours_expected <= a.hours_expected && b.setups.size() <= a.setups.size();
      EXPECT_FALSE(beaten) << k << " beats " << i;
    }
  }
}

}  // namespace
}  // namespace fitwright::planner
