// What `next` says of a plan that was made anew, and of making it anew.
#include <gmock/gmock.h>

#include "fitwright/service/build_words.h"
#include "fitwright/service/left_use.h"
#include "fitwright/service/rework_use.h"
#include "tests/workshop/as_schema.h"
#include "tests/workshop/ring_shop.h"

namespace fitwright::workshop_test {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

struct Told {
  service::NextAnswer next;
  service::PlanNews plan;
};

Told Asked(const RingShop& ring, int build = 1) {
  Told told;
  service::NextAnswer& answer = told.next;
  answer.workshop = ring.workshop;
  answer.workshop.dir = "a-ring";
  answer.build = build;
  const Plan& plan = *answer.workshop.plan;
  answer.progress =
      service::CalcProgress(plan, answer.workshop.log, answer.workshop.followed, build);
  answer.next = service::FindNext(plan, answer.progress, 0);
  service::AddNews(answer);
  told.plan = service::FindPlanNews(answer, ring.origin);
  ExpectAsSchema("next", service::NextToJson(answer, told.plan));
  return told;
}

void BoreIsDone(RingShop& ring) { ring.Add(LogKind::kStepDone, "ring", "s1.1"); }

// The plan of now, made by one reading: the pin to other limits.
PlannedAnew PinMoved() {
  PlannedAnew anew;
  anew.setups_done = 1;
  anew.readings = 1;
  anew.setups_changed = 1;
  anew.aims = {
      {{PartId("pin"), FeatureId("outside")}, 24.980, 24.970, 24.990, 25.008, 24.998, 25.018}};
  anew.why = {{RequirementId("fit"), 0.09, 0.94}};
  return anew;
}

TEST(PlanNews, AReadingThatMovesASizeIsWorthPlanningFor) {
  RingShop ring;
  ring.ReadBore(25.040, "25.040");
  BoreIsDone(ring);
  const auto answer = Asked(ring);
  EXPECT_FALSE(answer.plan.anew);
  EXPECT_EQ(answer.plan.readings_since, 1);
  const std::string worth = AllOf(answer.plan.worth);
  EXPECT_THAT(worth, HasSubstr("Pin outside is better brought to "));
  EXPECT_THAT(worth, HasSubstr(" mm than to 24.970 to 24.990"));
  EXPECT_THAT(answer.plan.worth.back(),
              HasSubstr("it is worth planning what is left by it: fitwright plan a-ring"));
  EXPECT_THAT(answer.plan.worth.back(), Not(HasSubstr("--build")));
  EXPECT_THAT(
      service::NextText(answer.next, answer.plan, {LengthUnit::kMillimetre, 100, false, false}),
      HasSubstr("fitwright plan a-ring"));
}

TEST(PlanNews, AReadingAsExpectedIsNot) {
  RingShop ring;
  ring.ReadBore(25.0105, "25.0105");
  BoreIsDone(ring);
  EXPECT_THAT(Asked(ring).plan.worth, IsEmpty());
}

TEST(PlanNews, AnotherMachineHasReadingsOfItsOwn) {
  RingShop ring;
  ring.ReadBore(25.040, "25.040");
  EXPECT_THAT(Asked(ring, 2).plan.worth, IsEmpty());
  ring.workshop.log.events.back().build = 2;
  EXPECT_THAT(Asked(ring).plan.worth, IsEmpty());
  EXPECT_THAT(Asked(ring, 2).plan.worth.back(), HasSubstr("fitwright plan a-ring --build 2"));
}

// Where the pin is begun, planning leaves it as it is: its own news has the size.
TEST(PlanNews, WhatIsBegunIsNotPlannedAnew) {
  RingShop ring;
  ring.ReadBore(25.040, "25.040");
  ring.workshop.plan->setups[1].steps.push_back(ring.workshop.plan->setups[1].steps[0]);
  ring.workshop.plan->setups[1].steps.back().id = StepId("s2.2");
  ring.workshop.plan->setups[1].steps.front().aim.reset();
  ring.workshop.plan->setups[1].steps.front().measure.reset();
  ring.workshop.plan->setups[1].steps.front().operation = Operation::kSpot;
  ring.workshop.followed[1] = *ring.workshop.plan;
  ring.Add(LogKind::kStepDone, "pin", "s2.1");
  EXPECT_THAT(AllOf(Asked(ring).plan.worth), Not(HasSubstr("Pin outside is better brought")));
}

TEST(PlanNews, APlanMadeAnewSaysSoAndWhatIsOtherwiseWhereWorkGoesOn) {
  RingShop ring;
  ring.ReadBore(25.040, "25.040");
  BoreIsDone(ring);
  ring.origin.anew = PinMoved();
  const auto answer = Asked(ring);
  EXPECT_TRUE(answer.plan.anew);
  EXPECT_TRUE(answer.plan.next_changed);
  EXPECT_EQ(answer.plan.readings_since, 0);
  EXPECT_THAT(answer.plan.worth, IsEmpty()) << "the plan goes by that reading already";
  const std::string about = AllOf(answer.plan.about);
  EXPECT_THAT(
      about,
      HasSubstr(
          "after 1 reading: 1 setup begun or done stayed, 1 of the 1 after them was changed."));
  EXPECT_THAT(
      about,
      HasSubstr(
          "This size is another than before: 24.998 to 25.018 mm, where it was 24.970 to 24.990."));
  EXPECT_THAT(about, HasSubstr("What that is for: fit 94 in 100 instead of 9 in 100."));
  ring.workshop.said_unit = LengthUnit::kInch;
  EXPECT_THAT(AllOf(Asked(ring).plan.about), HasSubstr("where it was 0.9831 to 0.9839."));
}

TEST(PlanNews, AnUnchangedStepSaysOnlyThatThePlanIsAnew) {
  RingShop ring;
  ring.ReadBore(25.040, "25.040");
  BoreIsDone(ring);
  ring.origin.anew = PinMoved();
  ring.origin.anew->aims.clear();
  const auto answer = Asked(ring);
  EXPECT_EQ(answer.plan.about.size(), 1U) << AllOf(answer.plan.about);
  EXPECT_FALSE(answer.plan.next_changed);
  ring.origin.anew->build = 2;
  EXPECT_FALSE(Asked(ring).plan.anew) << "it was made for another machine";
}

// A third setup, which the plan before did before the pin.
TEST(PlanNews, SaysWhatWouldHaveComeNextByThePlanBefore) {
  RingShop ring;
  ring.ReadBore(25.040, "25.040");
  BoreIsDone(ring);
  Plan before = ring.workshop.followed[1];
  fitwright::Setup rim = before.setups[0];
  rim.id = SetupId("s2");
  rim.number = 2;
  rim.steps[0].id = StepId("s2.1");
  rim.steps[0].operation = Operation::kTurn;
  rim.steps[0].features = {{PartId("ring"), FeatureId("rim")}};
  rim.steps[0].measure.reset();
  const auto renamed = [](fitwright::Setup setup) {
    setup.id = SetupId("s3");
    setup.number = 3;
    setup.steps[0].id = StepId("s3.1");
    return setup;
  };
  Plan now = before;
  before.setups = {before.setups[0], rim, renamed(before.setups[1])};
  now.setups.push_back(renamed(rim));
  ring.workshop.followed[1] = before;
  ring.workshop.log.revisions = {{}};
  ring.workshop.log.revisions[0].number = 1;
  ring.workshop.log.revisions[0].plan_json = "the plan before";
  ring.workshop.plan = now;
  ring.origin.anew = PinMoved();
  const auto answer = Asked(ring);
  EXPECT_THAT(AllOf(answer.plan.about),
              HasSubstr("By the plan before, step 2.1 of the ring came next: it is step 3.1 now."));
  now.setups.pop_back();
  ring.workshop.plan = now;
  EXPECT_THAT(
      AllOf(Asked(ring).plan.about),
      HasSubstr("By the plan before, step 2.1 of the ring came next: it is done otherwise now."));
}

}  // namespace
}  // namespace fitwright::workshop_test
