#include "fitwright/sheets/pauses.h"

#include <gtest/gtest.h>

namespace fitwright::sheets {
namespace {

// A setup of one part whose steps last so long; each works on the feature of its letter.
Setup MakeWork(int number, const char* part, const std::vector<std::pair<const char*, double>>& steps) {
  Setup setup;
  setup.id = SetupId("s" + std::to_string(number));
  setup.number = number;
  setup.device = HoldingDeviceId("vise");
  setup.contacts.resize(1);
  setup.parts.push_back({PartId(part), {}, false});
  for (const auto& [feature, minutes] : steps) {
    Step step;
    step.id = StepId(setup.id.text() + "." + std::to_string(setup.steps.size() + 1));
    step.features = {{PartId(part), FeatureId(feature)}};
    step.time_min = minutes;
    setup.time_min += minutes;
    setup.steps.push_back(step);
  }
  return setup;
}

TEST(Pauses, AreBetweenSetupsWhereTheyCanBe) {
  Plan plan;
  for (int i = 1; i <= 5; ++i) plan.setups.push_back(MakeWork(i, "block", {{"a", 20}, {"b", 20}}));
  const std::vector<Pause> pauses = FindPauses(plan, 90);
  ASSERT_EQ(pauses.size(), 2U);
  EXPECT_EQ(pauses[0].setup, SetupId("s2"));
  EXPECT_TRUE(pauses[0].piece_out);
  EXPECT_EQ(pauses[0].worked_min, 80);
  EXPECT_EQ(pauses[1].setup, SetupId("s4"));
}

TEST(Pauses, InALongSetupLeaveNothingHalfCut) {
  Plan plan;
  plan.setups.push_back(MakeWork(1, "block", {{"bore", 40}, {"face", 30}, {"bore", 15}, {"slot", 60}}));
  const std::vector<Pause> pauses = FindPauses(plan, 90);
  ASSERT_EQ(pauses.size(), 1U);
  EXPECT_EQ(pauses[0].step, StepId("s1.3"));
  EXPECT_FALSE(pauses[0].piece_out);
  EXPECT_TRUE(pauses[0].half_done.empty());
}

TEST(Pauses, SayWhatIsHalfCutWhereNothingElseWillDo) {
  Plan plan;
  plan.setups.push_back(MakeWork(1, "block", {{"bore", 60}, {"bore", 60}, {"slot", 10}}));
  const std::vector<Pause> pauses = FindPauses(plan, 90);
  ASSERT_EQ(pauses.size(), 1U);
  EXPECT_EQ(pauses[0].step, StepId("s1.1"));
  EXPECT_EQ(pauses[0].half_done, (std::vector<FeatureRef>{{PartId("block"), FeatureId("bore")}}));
}

TEST(Pauses, OfAPieceThatStaysHeldIsNotOut) {
  Plan plan;
  plan.setups.push_back(MakeWork(1, "block", {{"a", 80}}));
  plan.setups.push_back(MakeWork(2, "block", {{"b", 80}}));
  plan.setups[1].keeps_chucking = true;
  const std::vector<Pause> pauses = FindPauses(plan, 90);
  ASSERT_EQ(pauses.size(), 1U);
  EXPECT_FALSE(pauses[0].piece_out);
}

TEST(Pauses, FollowAStepThatIsLongerThanTheyMayBeApart) {
  Plan plan;
  plan.setups.push_back(MakeWork(1, "block", {{"a", 200}, {"b", 10}}));
  const std::vector<Pause> pauses = FindPauses(plan, 90);
  ASSERT_EQ(pauses.size(), 1U);
  EXPECT_EQ(pauses[0].worked_min, 200);
}

TEST(WorkBeside, IsWhatNeitherWaitsNorHoldsThePiece) {
  Plan plan;
  plan.setups.push_back(MakeWork(1, "shaft", {{"bond", 10}}));
  plan.setups[0].contacts.clear();
  plan.setups.push_back(MakeWork(2, "shaft", {{"a", 10}}));
  plan.setups.push_back(MakeWork(3, "cover", {{"a", 10}}));
  plan.setups.push_back(MakeWork(4, "foot", {{"a", 10}}));
  plan.setups[3].waits_for = {SetupId("s2")};
  plan.setups.push_back(MakeWork(5, "lid", {{"a", 10}}));
  const auto beside = WorkBeside(plan, plan.setups[0]);
  ASSERT_EQ(beside.size(), 2U);
  EXPECT_EQ(beside[0]->number, 3);
  EXPECT_EQ(beside[1]->number, 5);
  // Held in the vise while it waits: the others of the vise wait too.
  plan.setups[0].contacts.resize(1);
  EXPECT_TRUE(WorkBeside(plan, plan.setups[0]).empty());
}

}  // namespace
}  // namespace fitwright::sheets
