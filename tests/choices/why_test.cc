// Every setup, datum, order and technique can be asked why; the answer's figures are those of the evaluator.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "fitwright/files/project.h"
#include "fitwright/planner/advice.h"
#include "fitwright/planner/planner.h"
#include "tests/app/run_program.h"

namespace fitwright::planner {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;

class WhyOfTheBlock : public ::testing::Test {
 protected:
  static void SetUpTestSuite() {
    Diagnostics faults;
    auto loaded = files::LoadProject(std::string(FITWRIGHT_SOURCE_DIR) + "/examples/bushed-block", {}, faults);
    ASSERT_TRUE(loaded.has_value()) << Format(loaded.error());
    project_ = new files::Project(*std::move(loaded));
    PlannerOptions options;
    options.search_builds = 256;
    options.advice_builds = 512;
    options.threads = 1;
    options.work.budget = 60;
    planner_ = new Planner(project_->machine, project_->shop, project_->choices, options);
    auto plan = planner_->Choose();
    ASSERT_TRUE(plan.has_value()) << Format(plan.error());
    plan_ = new Plan(*std::move(plan));
  }
  static void TearDownTestSuite() {
    delete planner_;
    delete plan_;
    delete project_;
  }
  static std::vector<Why> Ask(const std::string& subject) {
    const auto answers = planner_->TellWhy(*plan_, subject);
    EXPECT_TRUE(answers.has_value()) << subject << (answers ? "" : Format(answers.error()));
    return answers ? *answers : std::vector<Why>{};
  }
  // An answer is complete: a runner-up that is another way, or why there is none.
  static void ExpectAnswered(const Why& why) {
    SCOPED_TRACE(why.about);
    EXPECT_FALSE(why.chosen.what.empty());
    EXPECT_GT(why.chosen.minutes, 0);
    EXPECT_GE(why.chosen.expected_min, why.chosen.minutes);
    if (why.runner_up) {
      EXPECT_NE(why.runner_up->what, why.chosen.what);
      EXPECT_TRUE(why.because.empty());
    } else {
      EXPECT_FALSE(why.because.empty());
    }
  }

  static files::Project* project_;
  static Planner* planner_;
  static Plan* plan_;
};
files::Project* WhyOfTheBlock::project_ = nullptr;
Planner* WhyOfTheBlock::planner_ = nullptr;
Plan* WhyOfTheBlock::plan_ = nullptr;

TEST_F(WhyOfTheBlock, EveryTechniqueSetupAndOrder) {
  ASSERT_FALSE(plan_->joints.empty());
  for (const JointPlan& joint : plan_->joints) {
    const auto answers = Ask(joint.name);
    ASSERT_EQ(answers.size(), 1U);
    EXPECT_EQ(answers[0].kind, "technique");
    ExpectAnswered(answers[0]);
  }
  std::size_t held = 0;
  for (const fitwright::Setup& setup : plan_->setups) {
    if (setup.contacts.empty() || setup.parts.size() > 1) continue;
    if (++held > 5 && std::getenv("FITWRIGHT_DEEP") == nullptr) break;
    const auto answers = Ask(std::to_string(setup.number));
    std::vector<std::string> kinds;
    for (const Why& why : answers) {
      kinds.push_back(why.kind);
      ExpectAnswered(why);
    }
    EXPECT_THAT(kinds, ::testing::ElementsAre("holding", "datum", "zero", "setups")) << setup.number;
  }
  EXPECT_GT(held, 4U);
  const auto orders = Ask("order");
  EXPECT_GE(orders.size(), 2U);
  for (const Why& why : orders) ExpectAnswered(why);
}

// The bush waits for its bore: it is made to suit. Turned round, either minutes or a circle.
TEST_F(WhyOfTheBlock, AnOrderThatCannotBeTurnedRoundSaysSo) {
  bool reasoned = false;
  for (const Why& why : Ask("order")) reasoned |= !why.because.empty() ? why.because.find("circle") != std::string::npos : why.runner_up.has_value();
  EXPECT_TRUE(reasoned);
}

// What the runner-up of a technique costs is what the search says of the plan with that technique pinned.
TEST_F(WhyOfTheBlock, TheRunnerUpsFiguresAreTheEvaluators) {
  const auto answers = Ask("bush_screws");
  ASSERT_EQ(answers.size(), 1U);
  const Why& why = answers[0];
  ASSERT_TRUE(why.runner_up.has_value());
  PlannerOptions options;
  options.search_builds = 256;
  options.threads = 1;
  options.work.budget = 60;
  const Choices none;
  Search search(project_->machine, project_->shop, none, options);
  const auto plain = search.Plain();
  ASSERT_TRUE(plain.has_value());
  const Strategy chosen = search.Improve(*plain);
  PlannerOptions finer = options;
  finer.search_builds = 512;
  Search judge(project_->machine, project_->shop, none, finer);
  ASSERT_NEAR(judge.Look(chosen)->expected_min, why.chosen.expected_min, 1e-9);
  double least = std::numeric_limits<double>::infinity();
  for (const PatternJoint& pattern : judge.subjects().patterns) {
    if (pattern.joint.text() != "bush_screws") continue;
    for (const PatternChoice& way : judge.PatternWays(pattern)) {
      if (way == chosen.patterns.at(pattern.joint)) continue;
      const auto other = judge.WithPattern(chosen, pattern.joint, way);
      const auto judged = other ? judge.Look(*other) : std::nullopt;
      if (judged) least = std::min(least, judged->expected_min);
    }
  }
  EXPECT_NEAR(why.runner_up->expected_min, least, 1e-9);
}

TEST_F(WhyOfTheBlock, WhatIsNotInThePlanIsNamedWithWhatIs) {
  const auto answers = planner_->TellWhy(*plan_, "bush_srews");
  ASSERT_FALSE(answers.has_value());
  EXPECT_EQ(answers.error().code, ErrorCode::kUnknownSubject);
  EXPECT_EQ(answers.error().value, "bush_srews");
  EXPECT_THAT(answers.error().remedy, HasSubstr("bush_screws"));
}

// The whole line: every choice is replayed, and the answer to why needs no solids.
TEST(ChoicesFromTheLine, AreProvedAndSayWhatDiffers) {
  const app::Folder folder;
  folder.Example("bushed-block");
  if (std::getenv("FITWRIGHT_DEEP") == nullptr) GTEST_SKIP() << "FITWRIGHT_DEEP";
  const app::Ran ran = folder.Run("plan bushed-block --choices --json --builds 2000");
  EXPECT_EQ(ran.status, 0) << ran.err;
  EXPECT_THAT(ran.out, HasSubstr("\"schema\": \"fitwright-offers/1\""));
  EXPECT_THAT(ran.out, HasSubstr("\"number\": 2"));
  EXPECT_THAT(ran.out, HasSubstr("\"replay_ok\": true"));
  EXPECT_THAT(ran.out, ::testing::Not(HasSubstr("\"replay_ok\": false")));
  const app::Ran why = folder.Run("plan bushed-block --why bush_screws");
  EXPECT_EQ(why.status, 0) << why.err;
  EXPECT_THAT(why.out, HasSubstr("Why: technique of bush screws"));
  EXPECT_THAT(why.out, HasSubstr("Next best"));
  const app::Ran unknown = folder.Run("plan bushed-block --why nothing");
  EXPECT_EQ(unknown.status, 2);
  const app::Ran both = folder.Run("plan bushed-block --quickest --fewest-setups");
  EXPECT_EQ(both.status, 2);
}

}  // namespace
}  // namespace fitwright::planner
