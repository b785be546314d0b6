// What a plan was worked out from, in lines and back; and what is left planned round what is done.
#include <gtest/gtest.h>

#include <algorithm>

#include "fitwright/files/project.h"
#include "fitwright/planner/build_plan.h"
#include "fitwright/planner/decided.h"
#include "fitwright/planner/search.h"
#include "fitwright/planner/underway.h"

namespace fitwright::planner {
namespace {

fitwright::Setup SetupOf(const std::string& id, const std::string& part, const std::vector<std::string>& waits = {}) {
  fitwright::Setup setup;
  setup.id = SetupId(id);
  setup.parts.push_back({PartId(part), Pose::Identity(), true});
  for (const std::string& other : waits) setup.waits_for.emplace_back(other);
  return setup;
}

TEST(Staying, IsWhatWasBegunWithWhatCameBeforeItOnItsPiecesAndWhatItWaitsFor) {
  Plan plan;
  plan.setups = {SetupOf("s01", "rod"), SetupOf("s02", "disc"), SetupOf("s03", "plate"), SetupOf("s04", "rod", {"s02"}), SetupOf("s05", "rod")};
  using Places = std::vector<std::size_t>;
  EXPECT_EQ(FindStaying(plan, {}), Places());
  EXPECT_EQ(FindStaying(plan, {SetupId("s01")}), Places({0}));
  EXPECT_EQ(FindStaying(plan, {SetupId("s04")}), Places({0, 1, 3}));
  EXPECT_EQ(FindStaying(plan, {SetupId("s03"), SetupId("s05")}), Places({0, 1, 2, 3, 4})) << "through what comes before it";
}

TEST(Decided, LinesThatSaySomethingElseAreRefused) {
  for (const char* line : {"setup part=rod up=0,0", "setup part=rod way=by_magic", "tune of=rod", "setup part=rod colour=red", "suit of=fit share=half", "setup rod"}) {
    EXPECT_FALSE(StrategyFrom({line})) << line;
  }
  const auto nothing = StrategyFrom({});
  ASSERT_TRUE(nothing);
  EXPECT_TRUE(LinesOf(*nothing).empty());
}

class CoreUnderway : public ::testing::Test {
 protected:
  void SetUp() override {
    Diagnostics faults;
    auto loaded = files::LoadProject(std::string(FITWRIGHT_SOURCE_DIR) + "/examples/compressor-core", {}, faults);
    ASSERT_TRUE(loaded.has_value()) << Format(loaded.error());
    project_ = *std::move(loaded);
    options_.threads = 1;
    options_.search_builds = 64;
    options_.work.budget = 60;
    Search search(project_.machine, project_.shop, none_, options_);
    const auto plain = search.Plain();
    ASSERT_TRUE(plain) << Format(plain.error());
    strategy_ = *plain;
    auto plan = BuildMeasuredPlan(project_.machine, project_.shop, search.subjects(), strategy_, none_);
    ASSERT_TRUE(plan) << Format(plan.error());
    followed_ = *std::move(plan);
  }

  // As if nothing had been read.
  Underway BegunWith(std::size_t setups) const {
    Underway underway;
    underway.followed = &followed_;
    underway.decided = LinesOf(strategy_);
    for (std::size_t i = 0; i < setups; ++i) underway.begun.insert(followed_.setups[i].id);
    underway.judge = [this](const Plan& plan, const std::vector<std::size_t>&) { return Judge(project_.machine, project_.shop, plan, options_); };
    underway.count = [this](const Plan& plan, const std::vector<std::size_t>&) -> Result<CountedOdds> {
      const auto judged = Judge(project_.machine, project_.shop, plan, options_);
      if (!judged) return Unexpected(judged.error());
      return CountedOdds{judged->odds, static_cast<double>(options_.search_builds)};
    };
    underway.aims = [](const Plan&, const std::vector<std::size_t>&) { return std::vector<NewAim>(); };
    return underway;
  }

  // Alternatives, advice and choices beside the plan's own figures.
  static void ExpectToldByTheSameJudge(const Plan& plan, const Judged& after) {
    EXPECT_TRUE(std::any_of(plan.joints.begin(), plan.joints.end(), [](const JointPlan& joint) { return !joint.alternatives.empty(); }));
    ASSERT_FALSE(plan.choices.empty());
    EXPECT_EQ(plan.choices.front().name, "this plan");
    EXPECT_DOUBLE_EQ(plan.choices.front().odds, after.odds);
    EXPECT_DOUBLE_EQ(plan.choices.front().hours_expected, plan.hours_cutting + (after.expected_min - after.minutes) / 60);
    for (const Advice& advice : plan.advice) {
      EXPECT_DOUBLE_EQ(advice.odds_after, after.odds) << advice.say;
      EXPECT_EQ(advice.other.size(), 1U) << advice.say;
    }
  }

  files::Project project_;
  const Choices none_ = {};
  PlannerOptions options_;
  Strategy strategy_;
  Plan followed_;
};

TEST_F(CoreUnderway, DecisionsReadBackAreTheSameToTheLastBit) {
  strategy_.aim_share[strategy_.suits.begin()->first] = 0.35;
  strategy_.own_aims[{PartId("front_housing"), FeatureId("spigot")}] = {AimKind::kBringToSize, 39.9871234567891, Window{39.98, 40.0071}};
  strategy_.done.push_back(strategy_.routes.begin()->second.setups.front());
  const auto back = StrategyFrom(LinesOf(strategy_));
  ASSERT_TRUE(back) << Format(back.error());
  EXPECT_EQ(KeyOf(*back), KeyOf(strategy_));
  EXPECT_EQ(back->routes, strategy_.routes);
  EXPECT_EQ(back->patterns, strategy_.patterns);
  EXPECT_EQ(back->own_aims, strategy_.own_aims);
  EXPECT_EQ(back->aim_share, strategy_.aim_share);
  EXPECT_EQ(back->done, strategy_.done);
  EXPECT_EQ(LinesOf(*back), LinesOf(strategy_));
}

TEST_F(CoreUnderway, WhatIsDoneStaysInEveryPlanAndTheRestIsBettered) {
  const Underway underway = BegunWith(3);
  const std::vector<std::size_t> staying = FindStaying(followed_, underway.begun);
  const auto left = PlanWhatIsLeft(project_.machine, project_.shop, none_, options_, underway);
  ASSERT_TRUE(left) << Format(left.error());
  ASSERT_GT(left->plan.setups.size(), staying.size());
  for (std::size_t i = 0; i < staying.size(); ++i) {
    const fitwright::Setup& was = followed_.setups[staying[i]];
    const fitwright::Setup& is = left->plan.setups[i];
    EXPECT_EQ(is.hold_words, was.hold_words);
    EXPECT_EQ(is.time_min, was.time_min);
    ASSERT_EQ(is.steps.size(), was.steps.size());
    for (std::size_t k = 0; k < is.steps.size(); ++k) {
      EXPECT_EQ(is.steps[k].words, was.steps[k].words);
      EXPECT_EQ(is.steps[k].features, was.steps[k].features);
    }
  }
  EXPECT_LE(left->after.expected_min + left->after.disturbance_min, left->before.expected_min);
  EXPECT_TRUE(!left->changes.empty() || left->setups_changed == 0);
  EXPECT_DOUBLE_EQ(left->after.disturbance_min, kEachChanged_min * left->setups_changed);
  ExpectToldByTheSameJudge(left->plan, left->after);
  // The plan that comes out is a beginning like any other.
  Underway again = BegunWith(3);
  again.followed = &left->plan;
  again.decided = left->decided;
  again.begun.clear();
  for (std::size_t i = 0; i <= staying.size(); ++i) again.begun.insert(left->plan.setups[i].id);
  const auto further = PlanWhatIsLeft(project_.machine, project_.shop, none_, options_, again);
  ASSERT_TRUE(further) << Format(further.error());
  EXPECT_EQ(further->plan.setups[staying.size()].hold_words, left->plan.setups[staying.size()].hold_words);
}

TEST_F(CoreUnderway, WhyIsAnsweredOfWhatIsLeftAndWhatIsDoneHasNoOtherWay) {
  const Underway underway = BegunWith(3);
  const PartId& begun = followed_.setups[0].parts.front().part;
  const auto done = TellWhyOfLeft(project_.machine, project_.shop, none_, options_, underway, "1");
  ASSERT_TRUE(done) << Format(done.error());
  ASSERT_FALSE(done->empty());
  for (const Why& why : *done) EXPECT_FALSE(why.runner_up && why.kind == "holding") << why.about << " of " << begun.text();
  const auto joint = std::find_if(followed_.joints.begin(), followed_.joints.end(), [](const JointPlan& j) { return !j.name.empty(); });
  ASSERT_NE(joint, followed_.joints.end());
  const auto left = TellWhyOfLeft(project_.machine, project_.shop, none_, options_, underway, joint->name);
  ASSERT_TRUE(left) << Format(left.error());
  EXPECT_FALSE(left->empty());
  EXPECT_FALSE(TellWhyOfLeft(project_.machine, project_.shop, none_, options_, underway, "no_such_thing"));
}

TEST_F(CoreUnderway, ASetupThatTheSheetsNoLongerMakeSoIsNamed) {
  followed_.setups[1].up = "+q of nothing";
  const auto left = PlanWhatIsLeft(project_.machine, project_.shop, none_, options_, BegunWith(2));
  ASSERT_FALSE(left);
  EXPECT_EQ(left.error().code, ErrorCode::kNoPlan);
  EXPECT_NE(left.error().message.find("setup 2"), std::string::npos) << left.error().message;
}

}  // namespace
}  // namespace fitwright::planner
