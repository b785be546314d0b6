// Programs of several stages: points at rest in discs, steps, and parts of a program.
#include <gtest/gtest.h>

#include <bit>
#include <cmath>
#include <cstring>
#include <vector>

#include "fitwright/stats/trial_margin.h"
#include "fitwright/stats/trials.h"

namespace fitwright::stats {
namespace {

TrialRun StagedRun(std::int64_t trials) {
  TrialRun run;
  run.seed = 5;
  run.trials = trials;
  return run;
}

std::int64_t CountStaged(const std::vector<std::uint64_t>& words, std::size_t outcome,
                         std::size_t outcomes) {
  const std::size_t each = words.size() / outcomes;
  std::int64_t count = 0;
  for (std::size_t w = 0; w < each; ++w) count += std::popcount(words[outcome * each + w]);
  return count;
}

// A disc of room |n| about (-0.3, 0.1), and whether its place is within `within` of there (outcome
// 0) and its x above -0.3 (1). A step leaves outcome 2 true where x is positive.
TrialProgram AtRest(double within) {
  TrialProgram p;
  p.draws = {{.law = DrawLaw::kHalfNormal, .key = 1, .column = 0},
             {.law = DrawLaw::kDisc, .key = 2, .length_key = 2, .column = 1}};
  p.columns = 5;  // half normal, disc, rest
  p.terms = {{0, 1}, {3, 1}, {4, 1}, {3, 1}};
  p.rows = {{.constant = 0.3, .kept = true},
            {.constant = -0.1, .kept = true},
            {.first_term = 0, .terms = 1, .kept = true},
            {.constant = 0.3, .first_term = 1, .terms = 1, .kept = true},
            {.constant = -0.1, .first_term = 2, .terms = 1, .kept = true},
            {.first_term = 3, .terms = 1, .low = -0.3, .high = 1e300, .outcome = 1}};
  p.stages = {{3, {{.x = 0, .y = 1, .room = 2, .disc = 1, .column = 3}}, {}}};
  p.conditions = {{.x = 3, .y = 4, .low = -1, .high = within, .outcome = 0}};
  TrialStep step;
  step.rows = {3};
  step.outcome = 2;
  step.run = [](const TrialBlock& block) {
    std::uint64_t bits = 0;
    for (std::size_t i = 0; i < kTrialsAtOnce; ++i)
      bits |= std::uint64_t{block.rows[3 * kTrialsAtOnce + i] > 0.3} << i;
    block.words[2] &= bits;
  };
  p.stages.push_back({6, {}, {step}});
  p.outcomes = 3;
  return p;
}

// E of min(1, (d / |n|)^2) by the error function and one partial integration.
double ChanceWithin(double d) {
  const double pdf = std::exp(-0.5 * d * d) * std::sqrt(2 / std::acos(-1.0));
  const double tail = std::erfc(d / std::sqrt(2));
  return 1 - tail + d * d * (pdf / d - tail);
}

TEST(TrialStages, APointRestsAnywhereInItsDisc) {
  constexpr std::int64_t kStagedTrials = 1 << 18;
  const TrialProgram p = AtRest(0.5);
  const auto words = RunTrials(p, StagedRun(kStagedTrials));
  const double n = kStagedTrials;
  EXPECT_NEAR(static_cast<double>(CountStaged(words, 0, 3)) / n, ChanceWithin(0.5),
              2.5 / std::sqrt(n));
  EXPECT_NEAR(static_cast<double>(CountStaged(words, 1, 3)) / n, 0.5, 2.5 / std::sqrt(n));
}

TEST(TrialStages, SameBitsAtEveryWidth) {
  TrialRun run = StagedRun(640);
  const auto words = RunTrials(AtRest(0.5), run);
  for (const Vectors vectors : VectorsHere()) {
    run.vectors = vectors;
    run.threads = 2;
    EXPECT_EQ(RunTrials(AtRest(0.5), run), words);
  }
}

TEST(TrialStages, WithoutADiscThePointIsWhereItIsPushed) {
  TrialProgram p = AtRest(0.5);
  p.stages[0].rests[0].disc.reset();
  p.stages[0].rests[0].at_x = 1;
  const auto columns = ColumnsOfTrials(p, StagedRun(64));
  for (std::size_t i = 0; i < 64; ++i) {
    EXPECT_EQ(columns[3 * 64 + i], columns[i] - 0.3);
    EXPECT_EQ(columns[4 * 64 + i], 0.1);
  }
}

TEST(TrialStages, PartsOfAProgramHaveTheSameTrials) {
  const TrialProgram p = AtRest(0.5);
  const auto words = RunTrials(p, StagedRun(640));
  for (std::uint32_t o = 0; o < 3; ++o) {
    const TrialProgram only = OnlyOutcomes(p, {o});
    const auto part = RunTrials(only, StagedRun(640));
    EXPECT_EQ(std::memcmp(part.data() + o * 10, words.data() + o * 10, 80), 0) << o;
    EXPECT_EQ(CountStaged(part, (o + 1) % 3, 3), 640);
  }
  EXPECT_TRUE(OnlyOutcomes(p, {1}).conditions.empty());
  EXPECT_TRUE(OnlyOutcomes(p, {1}).stages[1].steps.empty());
  TrialProgram pushed = p;
  pushed.stages[0].rests[0].disc.reset();
  EXPECT_EQ(OnlyOutcomes(pushed, {1}).draws.size(), 1U);
}

TEST(TrialStages, RareFailuresLookThroughDiscs) {
  const TrialProgram p = AtRest(3);
  EXPECT_TRUE(HasMargin(p, 0));
  EXPECT_FALSE(HasMargin(p, 2));
  const MissChance miss = CalcMissChance(p, 0);
  EXPECT_TRUE(miss.by_draws);
  EXPECT_LE(miss.interval.low, 1 - ChanceWithin(3));
  EXPECT_GE(miss.interval.high, 1 - ChanceWithin(3));
}

}  // namespace
}  // namespace fitwright::stats
