// What is left of a build planned anew by the real program: the compressor's core, whose bore came out over its limits.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "fitwright/files/plan_json.h"
#include "tests/app/run_program.h"

namespace fitwright::app {
namespace {

constexpr const char* kCore = "compressor-core";
// What the limits of the two assure: a plan for it brings the spigot to its own size.
constexpr const char* kFrontFit = R"(
[[requirement]]
name = "front_fit"
kind = "clearance"
a = "front_housing.spigot"
b = "body.crank_bore"
limits = [0.009, 0.050]
)";

struct SavedNow {
  std::string text;
  Plan plan;
  PlanOrigin origin;
};
SavedNow SavedIn(const fs::path& dir) {
  SavedNow saved;
  saved.text = ReadFile(dir / "plan.json");
  auto plan = files::PlanFromJson(saved.text, "plan.json", &saved.origin);
  EXPECT_TRUE(plan) << Format(plan.error());
  if (plan) saved.plan = *std::move(plan);
  return saved;
}

// Of the plan's setup alone, numbers and ids aside.
std::string WithoutNumbers(fitwright::Setup setup) {
  setup.id = SetupId("s00");
  setup.number = 0;
  setup.waits_for.clear();
  for (Step& step : setup.steps) step.id = StepId("s00.0");
  Plan alone;
  alone.setups.push_back(std::move(setup));
  return files::PlanToJson(alone);
}

void ExpectDoneIsAsItWas(const Plan& before, const SavedNow& after) {
  ASSERT_TRUE(after.origin.anew);
  const int done = after.origin.anew->setups_done;
  ASSERT_GT(done, 0);
  ASSERT_LT(done, static_cast<int>(after.plan.setups.size()));
  std::set<std::string> had;
  for (const fitwright::Setup& setup : before.setups) had.insert(WithoutNumbers(setup));
  for (int i = 0; i < done; ++i) {
    const fitwright::Setup& setup = after.plan.setups[static_cast<std::size_t>(i)];
    EXPECT_TRUE(had.count(WithoutNumbers(setup)) > 0) << "setup " << setup.number;
  }
}

// Where the feature is brought to its size.
const Step* WorkedIn(const Plan& plan, const std::string& feature) {
  for (const fitwright::Setup& setup : plan.setups) {
    for (const Step& step : setup.steps) {
      if (step.aim && step.aim->kind != AimKind::kOneShot && !step.features.empty() && step.features.front().text() == feature) return &step;
    }
  }
  return nullptr;
}

// A project that is planned, and what the program says of it.
struct Bench {
  Folder folder;
  fs::path dir = folder.Example(kCore);
  SavedNow first;

  Ran Plan(const std::string& more = "") const { return folder.Run(std::string("plan ") + kCore + " --builds 4000" + more); }
  Ran Record(const std::string& what) const { return folder.Run(std::string("record ") + kCore + " " + what); }
};

void ExpectANoteChangesNothing(const Bench& bench) {
  ASSERT_EQ(bench.Record("--note 'bar is in the rack'").status, 0);
  const Ran again = bench.Plan();
  ASSERT_EQ(again.status, 0) << again.err;
  EXPECT_EQ(ReadFile(bench.dir / "plan.json"), bench.first.text);
  EXPECT_THAT(again.out, ::testing::Not(::testing::HasSubstr("planned anew")));
}

// What else could be done with what is left, beside the plan's own odds.
void ExpectToldOfWhatIsLeft(const Plan& plan) {
  EXPECT_TRUE(std::any_of(plan.joints.begin(), plan.joints.end(), [](const JointPlan& joint) { return !joint.alternatives.empty(); }));
  ASSERT_FALSE(plan.choices.empty());
  EXPECT_EQ(plan.choices.front().name, "this plan");
  EXPECT_NEAR(plan.choices.front().odds, plan.odds.all.odds, 0.02);
  for (const Advice& advice : plan.advice) EXPECT_NEAR(advice.odds_after, plan.odds.all.odds, 0.02) << advice.say;
}

// The bore came out over its limits: what goes into it gets other limits, or is made to suit.
void ExpectTheMateFollows(const Bench& bench) {
  const Ran read = bench.Record("body.crank_bore 40.040 --done");
  ASSERT_EQ(read.status, 1) << "outside its limits: " << read.err;
  const Ran next = bench.folder.Run(std::string("next ") + kCore);
  EXPECT_THAT(next.out, ::testing::HasSubstr("worth"));
  EXPECT_THAT(next.out, ::testing::HasSubstr(std::string("fitwright plan ")));
  const Ran left = bench.Plan();
  ASSERT_EQ(left.status, 0) << left.err << ": the proof holds";
  EXPECT_THAT(left.out, ::testing::HasSubstr("What is left, planned anew"));
  const SavedNow now = SavedIn(bench.dir);
  ExpectDoneIsAsItWas(bench.first.plan, now);
  const PlannedAnew& anew = *now.origin.anew;
  EXPECT_EQ(anew.readings, 1);
  EXPECT_GT(anew.odds_after, anew.odds_before);
  EXPECT_LT(anew.hours_after, anew.hours_before);
  ExpectToldOfWhatIsLeft(now.plan);
  const Ran after = bench.folder.Run(std::string("next ") + kCore);
  EXPECT_THAT(after.out, ::testing::HasSubstr("This plan is of what was left after 1 reading"));
  EXPECT_NEAR(now.plan.odds.all.odds, anew.odds_after, 0.05) << "the plan's odds are those by the reading";
  const Step* was = WorkedIn(bench.first.plan, "front_housing.spigot");
  const Step* is = WorkedIn(now.plan, "front_housing.spigot");
  ASSERT_TRUE(was != nullptr && is != nullptr);
  EXPECT_TRUE(is->aim->kind != was->aim->kind || is->aim->lower_mm > was->aim->lower_mm + 0.002 ||
              std::abs(is->aim->clearance_mm - was->aim->clearance_mm) > 0.002);
}

void ExpectWhatIsDoneSinceStays(const Bench& bench) {
  const SavedNow before = SavedIn(bench.dir);
  ASSERT_TRUE(before.origin.anew);
  const int done = before.origin.anew->setups_done;
  const int next = before.plan.setups[static_cast<std::size_t>(done)].number;
  ASSERT_EQ(bench.Record(std::to_string(next) + " --done").status, 0);
  const Ran left = bench.Plan();
  ASSERT_EQ(left.status, 0) << left.err;
  const SavedNow now = SavedIn(bench.dir);
  ExpectDoneIsAsItWas(before.plan, now);
  EXPECT_GT(now.origin.anew->setups_done, done);
}

TEST(Left, IsPlannedByWhatWasReadAndWhatIsDoneStays) {
  Bench bench;
  WriteFile(bench.dir / "machine.toml", ReadFile(bench.dir / "machine.toml") + kFrontFit);
  const Ran planned = bench.Plan();
  ASSERT_EQ(planned.status, 0) << planned.err;
  bench.first = SavedIn(bench.dir);
  ASSERT_FALSE(bench.first.origin.decided.empty());
  EXPECT_FALSE(bench.first.origin.anew);
  ExpectANoteChangesNothing(bench);
  ExpectTheMateFollows(bench);
  ExpectWhatIsDoneSinceStays(bench);
  const Ran wish = bench.Plan(" --quickest");
  EXPECT_EQ(wish.status, 2) << "a wish is of a plan from the sheets alone";
  ASSERT_EQ(bench.Plan(" --afresh").status, 0);
  EXPECT_EQ(ReadFile(bench.dir / "plan.json"), bench.first.text);
}

}  // namespace
}  // namespace fitwright::app
