// Plans chosen for something else than the fewest expected hours, and the front of those that none beats.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "fitwright/files/project.h"
#include "fitwright/planner/front.h"

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

class BushedBlock : public ::testing::Test {
 protected:
  static void SetUpTestSuite() {
    Diagnostics faults;
    auto loaded = files::LoadProject(std::string(FITWRIGHT_SOURCE_DIR) + "/examples/bushed-block", {}, faults);
    ASSERT_TRUE(loaded.has_value()) << Format(loaded.error());
    project_ = new files::Project(*std::move(loaded));
    usual_ = new Plan(Told(Wish::kLeastHours));
  }
  static void TearDownTestSuite() {
    delete project_;
    delete usual_;
  }
  static PlannerOptions Options(Wish wish, double sure) {
    PlannerOptions options;
    options.search_builds = 256;
    options.advice_builds = 256;
    options.final_builds = 4000;
    options.threads = 1;
    options.wish = wish;
    options.sure = sure;
    return options;
  }
  static Result<Plan> Make(Wish wish, double sure = 0) {
    Planner planner(project_->machine, project_->shop, project_->choices, Options(wish, sure));
    Result<Plan> plan = planner.Choose();
    if (!plan) return plan;
    if (const Status told = planner.Tell(*plan); !told) return Unexpected(told.error());
    return plan;
  }
  static Plan Told(Wish wish, double sure = 0) {
    const Result<Plan> plan = Make(wish, sure);
    EXPECT_TRUE(plan.has_value()) << (plan ? "" : Format(plan.error()));
    return plan ? *plan : Plan{};
  }

  static files::Project* project_;
  static Plan* usual_;
};
files::Project* BushedBlock::project_ = nullptr;
Plan* BushedBlock::usual_ = nullptr;

TEST_F(BushedBlock, TheQuickestTakesNoLongerIfAllGoesWell) {
  const Plan quickest = Told(Wish::kQuickest);
  EXPECT_LT(quickest.hours_cutting, usual_->hours_cutting) << "or the test says nothing";
  EXPECT_GE(quickest.hours_expected, usual_->hours_expected);
  EXPECT_THAT(quickest.assumed, ::testing::Contains(HasSubstr("quickest")));
}

TEST_F(BushedBlock, TheFewestSetupsAreNoMore) {
  const Plan fewest = Told(Wish::kFewestSetups);
  EXPECT_LE(fewest.setups.size(), usual_->setups.size());
  EXPECT_GE(fewest.hours_expected, usual_->hours_expected - 1e-9);
}

TEST_F(BushedBlock, OddsAskedForAreReachedOrItIsSaidWhatHoldsThemBack) {
  const double more = std::min(0.999, usual_->odds.all.odds + 0.01);
  const Result<Plan> surer = Make(Wish::kSure, more);
  if (surer) {
    EXPECT_GE(surer->odds.all.odds, more);
    EXPECT_GE(surer->hours_expected, usual_->hours_expected - 1e-9);
  } else {
    EXPECT_EQ(surer.error().code, ErrorCode::kNoPlan);
  }
  const Plan less = Told(Wish::kSure, usual_->odds.all.odds - 0.02);
  EXPECT_EQ(less.hours_expected, usual_->hours_expected) << "the usual plan is sure enough";
  const Result<Plan> never = Make(Wish::kSure, 0.9999);
  ASSERT_FALSE(never.has_value());
  EXPECT_THAT(never.error().message, HasSubstr("holds it back"));
  EXPECT_THAT(never.error().remedy, HasSubstr("wider limits"));
}

TEST_F(BushedBlock, AFactOfTheFront) {
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
