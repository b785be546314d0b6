// "What if" of a machine that is being made: against the plan so changed, conditioned by the same
// readings.
#include "fitwright/rework/standing_project.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "fitwright/rework/standing_odds.h"
#include "fitwright/variation/lessen.h"
#include "tests/support/pin_and_ring.h"

namespace fitwright::rework {
namespace {

using namespace fitwright::testing;

struct HalfMade : PinAndRing {
  Standing At(double bore_mm) const {
    Standing standing{&machine, &shop, &plan, {}, {}};
    const Setup& setup = plan.setups[0];
    standing.readings.push_back({{PartId("ring"), FeatureId("bore")},
                                 &setup,
                                 &setup.steps[0],
                                 bore_mm,
                                 0.001,
                                 InstrumentId("bore_gauge")});
    standing.done = {{setup.steps[0].id, PartId("ring")}};
    return standing;
  }
};

variation::MetWanted Wanted() {
  variation::MetWanted wanted;
  wanted.builds = 20000;
  return wanted;
}

bool HasKnob(const variation::Project& project, const std::string& key) {
  const auto knobs = variation::KnobsOf(project);
  return std::any_of(knobs.begin(), knobs.end(),
                     [&](const variation::Knob& knob) { return knob.key == key; });
}

TEST(StandingProject, IsCountedAsTheBuildStands) {
  const HalfMade job;
  for (const double bore_mm : {25.040, 25.022, 25.005}) {
    const Standing standing = job.At(bore_mm);
    const auto counts = CountStanding(ProjectOf(standing), standing, Wanted());
    const auto odds = CalcStandingOdds(standing, 20000, 7);
    ASSERT_TRUE(counts && odds);
    EXPECT_NEAR(counts->all.odds, odds->all, 0.015) << bore_mm;
    EXPECT_NEAR(counts->requirements.at(0).odds, odds->per_requirement.at(0), 0.015) << bore_mm;
    EXPECT_LE(counts->all.low, counts->all.odds);
    EXPECT_GE(counts->all.high, counts->all.odds);
  }
}

TEST(StandingProject, WithoutReadingsItIsThePlan) {
  const HalfMade job;
  const Standing nothing{&job.machine, &job.shop, &job.plan, {}, {}};
  const auto project = ProjectOf(nothing);
  EXPECT_FALSE(project.made.known);
  const auto counts = CountStanding(project, nothing, Wanted());
  ASSERT_TRUE(counts);
  EXPECT_EQ(counts->all.odds, CountEvenly(*variation::AnalyseProject(project), Wanted()).all.odds);
  EXPECT_GT(counts->all.odds, 0.8);
}

TEST(StandingProject, AskedWhatIfItIsThePlanSoMadeByTheSameReadings) {
  const HalfMade job;
  const Standing standing = job.At(25.033);
  auto asked = ProjectOf(standing);
  ASSERT_TRUE(variation::ApplyWhatIf("pin.outside.aim=24.988", LengthUnit::kMillimetre, asked));
  HalfMade other;
  other.plan.setups[1].steps[0].aim->target_mm = 24.988;
  const auto so_made = CalcStandingOdds(other.At(25.033), 20000, 7);
  const auto now = CountStanding(ProjectOf(standing), standing, Wanted());
  const auto then = CountStanding(asked, standing, Wanted());
  ASSERT_TRUE(so_made && now && then);
  EXPECT_NEAR(then->all.odds, so_made->all, 0.015);
  EXPECT_GT(then->all.odds, now->all.odds + 0.05) << "nearer to the bore";
}

// The reading of the bore says all that its spread could: halving it is worth little now.
TEST(StandingProject, ASpreadCountsByWhatItStillLeavesOpen) {
  const HalfMade job;
  const auto gain = [&](const variation::Project& project, const auto& count) {
    auto asked = project;
    EXPECT_TRUE(
        variation::ApplyWhatIf("bored_diameter_lathe=double", LengthUnit::kMillimetre, asked));
    return count(asked) - count(project);
  };
  const variation::Project planned{job.machine, job.shop, job.plan};
  const double as_planned = gain(planned, [](const variation::Project& p) {
    return CountEvenly(*variation::AnalyseProject(p), Wanted()).all.odds;
  });
  const Standing standing = job.At(25.0105);
  const double as_it_stands = gain(ProjectOf(standing), [&](const variation::Project& p) {
    return CountStanding(p, standing, Wanted())->all.odds;
  });
  EXPECT_LT(as_planned, -0.01);
  EXPECT_GT(as_it_stands, 0.5 * as_planned);
}

TEST(StandingProject, WhatIsCutIsAimedAtNoMore) {
  const HalfMade job;
  auto project = ProjectOf(job.At(25.010));
  EXPECT_FALSE(HasKnob(project, "ring.bore.aim"));
  EXPECT_TRUE(HasKnob(project, "pin.outside.aim"));
  EXPECT_FALSE(variation::ApplyWhatIf("ring.bore.aim=25.02", LengthUnit::kMillimetre, project));
  HalfMade two;
  two.plan.parts = {{PartId("ring"), 2, "steel", "", 0}, {PartId("pin"), 1, "steel", "", 0}};
  EXPECT_TRUE(HasKnob(ProjectOf(two.At(25.010)), "ring.bore.aim"))
      << "the second ring is still to be bored";
}

TEST(StandingProject, WhatWouldLessenTheMissesGoesByIt) {
  const HalfMade job;
  const Standing standing = job.At(25.033);
  const auto found = variation::FindLessenings(ProjectOf(standing), {});
  const auto counts = CountStanding(ProjectOf(standing), standing, Wanted());
  ASSERT_TRUE(found && counts);
  EXPECT_NEAR(found->odds.at(0), counts->all.odds, 0.03) << "what is not normal by its moments";
  EXPECT_TRUE(found->readings.empty()) << "the bore is made and read";
  ASSERT_FALSE(found->ranked.empty());
  EXPECT_EQ(found->ranked.front().change.key, "pin.outside.aim") << "nearer to the bore";
}

}  // namespace
}  // namespace fitwright::rework
