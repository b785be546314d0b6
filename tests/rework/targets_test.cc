// Sizes still to be cut, after the mate came out as it did; and ways out of a size past its limits.
#include "fitwright/rework/targets.h"

#include <gtest/gtest.h>

#include <cmath>

#include "fitwright/rework/changes.h"
#include "fitwright/rework/next_reading.h"
#include "fitwright/rework/rescue.h"
#include "tests/support/pin_and_ring.h"

namespace fitwright::rework {
namespace {

using namespace fitwright::testing;

FeatureRef Ref(const char* part, const char* feature) { return {PartId(part), FeatureId(feature)}; }

struct Job : PinAndRing {
  Standing With(std::vector<double> bores) const {
    Standing standing{&machine, &shop, &plan, {}, {}};
    for (const double value : bores) {
      const Setup& setup = plan.setups[0];
      standing.readings.push_back(
          {Ref("ring", "bore"), &setup, &setup.steps[0], value, 0.001, InstrumentId("bore_gauge")});
      standing.done = {{setup.steps[0].id, PartId("ring")}};
    }
    return standing;
  }
};

TEST(Targets, FollowAMateThatIsOver) {
  const Job job;
  const auto changes = CalcChanges(job.With({25.040}), {20000, 1});
  ASSERT_TRUE(changes) << changes.error().message;
  ASSERT_EQ(changes->targets.size(), 1U);
  const SizeTarget& target = changes->targets.front();
  EXPECT_EQ(target.size.feature, Ref("pin", "outside"));
  EXPECT_TRUE(target.moved);
  // What the bore is, by its reading and by what a last cut leaves of one: between the reading and
  // the aim, near the reading. The middle of what the fit allows below that.
  const double prior = 0.25 * Job::kCut_mm * Job::kCut_mm;  // variance of a last cut
  const double read = Job::kReading_mm * Job::kReading_mm;
  const double bore = 25.040 - 0.0295 * read / (prior + read);
  EXPECT_NEAR(target.now.aim_mm, bore - 0.030, 0.002);  // the window is flat
  EXPECT_GT(target.now.lower_mm, target.now.aim_mm - 0.015);
  EXPECT_LT(target.now.upper_mm, target.now.aim_mm + 0.015);
  EXPECT_GT(target.odds_now, 0.9);
  EXPECT_LT(target.odds_planned, 0.2);
  ASSERT_EQ(changes->all_targets.size(), 1U);
  EXPECT_EQ(changes->all_targets[0].now.aim_mm, target.now.aim_mm);
  ASSERT_EQ(changes->requirements.size(), 1U);
  EXPECT_LT(changes->requirements[0].after, 0.2);
  EXPECT_GT(changes->requirements[0].before, 0.8);
}

// A reading where it was aimed: nothing is worth disturbing.
TEST(Targets, StayWhereNothingIsGained) {
  const Job job;
  const auto changes = CalcChanges(job.With({25.0105}), {4096, 1});
  ASSERT_TRUE(changes);
  ASSERT_EQ(changes->targets.size(), 1U);
  EXPECT_FALSE(changes->targets[0].moved);
  EXPECT_DOUBLE_EQ(changes->targets[0].now.aim_mm, 24.980);
  EXPECT_FALSE(changes->surprising);
}

TEST(Targets, OfWhatIsDoneStayDone) {
  const Job job;
  Standing standing = job.With({25.040});
  standing.done.insert({job.plan.setups[1].steps[0].id, PartId("pin")});
  const auto changes = CalcChanges(standing, {1024, 1});
  ASSERT_TRUE(changes);
  EXPECT_TRUE(changes->targets.empty());
}

TEST(Targets, TheLaterOfTwoReadingsAtAStepCounts) {
  const Job job;
  const auto twice = CalcChanges(job.With({25.060, 25.0105}), {4096, 1});
  const auto once = CalcChanges(job.With({25.0105}), {4096, 1});
  ASSERT_TRUE(twice && once);
  EXPECT_EQ(twice->requirements[0].after, once->requirements[0].after);
  EXPECT_LT(twice->requirements[0].before, twice->requirements[0].after);
}

void ExpectSame(const Changes& a, const Changes& b) {
  ASSERT_EQ(a.requirements.size(), b.requirements.size());
  for (std::size_t r = 0; r < a.requirements.size(); ++r) {
    EXPECT_EQ(a.requirements[r].planned, b.requirements[r].planned);
    EXPECT_EQ(a.requirements[r].before, b.requirements[r].before);
    EXPECT_EQ(a.requirements[r].after, b.requirements[r].after);
  }
  EXPECT_EQ(a.all_after, b.all_after);
  EXPECT_EQ(a.effective_builds, b.effective_builds);
  EXPECT_EQ(a.expected.mean_mm, b.expected.mean_mm);
  EXPECT_EQ(a.expected.chance, b.expected.chance);
  ASSERT_EQ(a.targets.size(), b.targets.size());
  ASSERT_EQ(a.all_targets.size(), b.all_targets.size());
  for (std::size_t t = 0; t < a.targets.size(); ++t) {
    EXPECT_EQ(a.targets[t].now.aim_mm, b.targets[t].now.aim_mm);
    EXPECT_EQ(a.targets[t].now.upper_mm, b.targets[t].now.upper_mm);
    EXPECT_EQ(a.targets[t].odds_now, b.targets[t].odds_now);
  }
  ASSERT_EQ(a.following.size(), b.following.size());
  for (std::size_t f = 0; f < a.following.size(); ++f)
    EXPECT_EQ(a.following[f].after_mm, b.following[f].after_mm);
}

// Readings one after another, one taken back, another put in its place, all gone again: what is
// kept in between shows nowhere.
TEST(Targets, AreTheSameWhateverWasAskedBefore) {
  const Job job;
  auto kept = ChangesKept::Of(job.machine, job.shop, job.plan, {2048, 1});
  ASSERT_TRUE(kept);
  const std::vector<std::vector<double>> asked = {
      {25.004}, {25.004, 25.040}, {25.004}, {25.012}, {25.012, 25.003}, {25.012, 25.003, 25.020}, {25.040}};
  for (const std::vector<double>& bores : asked) {
    const Standing standing = job.With(bores);
    const auto now = kept->Calc(standing);
    const auto afresh = CalcChanges(standing, {2048, 1});
    ASSERT_TRUE(now && afresh);
    ExpectSame(*now, *afresh);
  }
  const Standing standing = job.With({25.040});
  const PastLimits past{standing.readings.back(), 25.000, 25.021, true, true};
  const auto afresh = FindRescues(standing, past, 2048);
  const auto now = kept->CalcRescues(standing, past);
  ASSERT_TRUE(afresh);
  ASSERT_EQ(now.size(), afresh->size());
  for (std::size_t i = 0; i < now.size(); ++i) {
    EXPECT_EQ(now[i].kind, (*afresh)[i].kind);
    EXPECT_EQ(now[i].odds, (*afresh)[i].odds);
  }
  EXPECT_FALSE(kept->Calc(job.With({})));
}

const Rescue* Way(const std::vector<Rescue>& rescues, RescueKind kind) {
  for (const Rescue& r : rescues) {
    if (r.kind == kind) return &r;
  }
  return nullptr;
}

PastLimits Past(const Standing& standing) {
  return {standing.readings.back(), 25.000, 25.021, true, true};
}

TEST(Rescue, ABoreTooLargeIsSuitedBushedOrMadeAgain) {
  const Job job;
  const Standing standing = job.With({25.040});
  const auto ways = FindRescues(standing, Past(standing), 4096);
  ASSERT_TRUE(ways);
  ASSERT_FALSE(ways->empty());
  EXPECT_EQ(ways->front().kind, RescueKind::kMateToSuit);
  ASSERT_EQ(ways->front().targets.size(), 1U);
  EXPECT_GT(ways->front().odds, 0.9);
  const Rescue* as_is = Way(*ways, RescueKind::kUseAsIs);
  ASSERT_TRUE(as_is);
  EXPECT_LT(as_is->odds, 0.2);
  EXPECT_EQ(as_is->minutes, 0);
  const Rescue* bush = Way(*ways, RescueKind::kBush);
  ASSERT_TRUE(bush);
  EXPECT_NEAR(bush->size_mm, 25.040 + 2 * kBushWall_mm, 1e-9);
  const Rescue* remake = Way(*ways, RescueKind::kRemake);
  ASSERT_TRUE(remake);
  EXPECT_EQ(remake->minutes, 90);
  EXPECT_EQ(remake->from, job.plan.setups[0].steps[0].id);
  EXPECT_GT(remake->odds, 0.8);
  EXPECT_FALSE(Way(*ways, RescueKind::kCutAgain)) << "metal goes off and never on";
  for (std::size_t i = 1; i < ways->size(); ++i)
    EXPECT_LE((*ways)[i - 1].expected_min, (*ways)[i].expected_min);
}

TEST(Rescue, ABoreTooSmallIsCutAgain) {
  const Job job;
  const Standing standing = job.With({24.990});
  const auto ways = FindRescues(standing, Past(standing), 2048);
  ASSERT_TRUE(ways);
  const Rescue* again = Way(*ways, RescueKind::kCutAgain);
  ASSERT_TRUE(again);
  EXPECT_FALSE(Way(*ways, RescueKind::kBush));
  EXPECT_LT(again->expected_min, Way(*ways, RescueKind::kUseAsIs)->expected_min);
  EXPECT_LT(again->expected_min, Way(*ways, RescueKind::kRemake)->expected_min);
}

TEST(Rescue, ARingTooThinTakesNoBush) {
  Job job;
  std::get<OuterDiameter>(job.machine.parts[1].features[0].shape).diameter = MakeSize(29, 29);
  const Standing standing = job.With({25.040});
  const auto ways = FindRescues(standing, Past(standing), 1024);
  ASSERT_TRUE(ways);
  EXPECT_FALSE(Way(*ways, RescueKind::kBush));
}

TEST(WorthReading, TheMateOfWhatIsCutNext) {
  Job job;
  job.shop.spreads.at("bored_diameter_lathe").usual.spread = 0.030;  // a bore that is worth reading
  for (fitwright::Setup& setup : job.plan.setups) setup.time_min = 400;
  Standing standing = job.With({});
  EXPECT_TRUE(FindWorthReading(standing)->empty()) << "nothing is cut yet";
  standing.done = {{job.plan.setups[0].steps[0].id, PartId("ring")}};
  const auto worth = FindWorthReading(standing);
  ASSERT_TRUE(worth);
  ASSERT_EQ(worth->size(), 1U);
  EXPECT_EQ(worth->front().feature, Ref("ring", "bore"));
  EXPECT_EQ(worth->front().for_size, Ref("pin", "outside"));
  EXPECT_FALSE(worth->front().needed);
  EXPECT_GT(worth->front().saves_min, 0);
  job.plan.setups[1].steps[0].aim->kind = AimKind::kFitToMeasured;
  job.plan.setups[1].steps[0].aim->mate = Ref("ring", "bore");
  const auto suited = FindWorthReading(standing);
  ASSERT_TRUE(suited && !suited->empty());
  EXPECT_TRUE(suited->front().needed);
}

}  // namespace
}  // namespace fitwright::rework
