// Programs of several stages: points at rest in discs, steps, and parts of a program.
#include <gtest/gtest.h>

#include <bit>
#include <cmath>
#include <cstring>
#include <vector>

#include "fitwright/stats/trial_margin.h"
#include "fitwright/stats/trial_pieces.h"
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

// Copies of AtRest side by side, with draws of their own but for the first, which all share.
TrialProgram ManyAtRest(std::uint32_t copies) {
  TrialProgram many;
  for (std::uint32_t k = 0; k < copies; ++k) {
    const TrialProgram one = AtRest(0.6 + 0.1 * k);
    const std::uint32_t row_base = 4 * k;  // rows that are rested by come first
    const auto column = [&](std::uint32_t c) { return c == 0 ? 0 : 4 * k + c; };
    for (TrialDraw draw : one.draws) {
      if (k > 0 && draw.column == 0) continue;
      draw.column = column(draw.column);
      draw.key += 10 * k;
      draw.length_key += 10 * k;
      many.draws.push_back(draw);
    }
    for (std::size_t r = 0; r < 4; ++r) {
      TrialRow row = one.rows[r == 3 ? 5 : r];
      row.first_term += static_cast<std::uint32_t>(many.terms.size());
      if (row.outcome) row.outcome = 2 * k + 1;
      many.rows.push_back(row);
    }
    for (TrialTerm term : one.terms) many.terms.push_back({column(term.column), term.factor});
    TrialStage stage;
    stage.before_row = row_base + 3;
    stage.rests = {{.x = row_base,
                    .y = row_base + 1,
                    .room = row_base + 2,
                    .disc = column(1),
                    .column = column(3)}};
    many.stages.push_back(stage);
    many.conditions.push_back(
        {.x = row_base, .y = row_base + 2, .low = -1, .high = 0.7 + 0.1 * k, .outcome = 2 * k});
  }
  many.columns = 4 * copies + 1;
  many.outcomes = 2 * copies;
  return many;
}

TEST(TrialPieces, EveryOutcomeIsInOneAndIsWhatTheWholeMakesOfIt) {
  const TrialProgram program = ManyAtRest(200);
  ASSERT_GT(program.columns + program.rows.size(), 1024U);  // RunTrials runs pieces
  const std::vector<TrialPiece> pieces = PiecesOf(program, 40);
  std::vector<std::uint32_t> outcomes;
  std::size_t draws = 0;
  for (const TrialPiece& piece : pieces) {
    outcomes.insert(outcomes.end(), piece.outcomes.begin(), piece.outcomes.end());
    draws += piece.draws.size();
  }
  ASSERT_EQ(outcomes.size(), program.outcomes);
  for (std::uint32_t o = 0; o < program.outcomes; ++o) EXPECT_EQ(outcomes[o], o);
  EXPECT_GT(pieces.size(), 30U);
  EXPECT_EQ(draws, program.draws.size() - 1 + pieces.size());  // one that all read
  const TrialRun run = StagedRun(1 << 11);
  const std::size_t each = static_cast<std::size_t>(run.trials / kTrialsAtOnce);
  std::vector<std::uint64_t> whole(each * program.outcomes);
  EachTrialBlock(program, run, false, [&](std::size_t b, const TrialBlock& block) {
    for (std::size_t o = 0; o < program.outcomes; ++o) whole[o * each + b] = block.words[o];
  });
  EXPECT_EQ(RunTrials(program, run), whole);
  const std::int64_t met = CountStaged(whole, 3, program.outcomes);
  EXPECT_GT(met, 100);
  EXPECT_LT(met, run.trials - 100);
}

// One step that fills every column would be taken again in every piece.
TEST(TrialPieces, TheWholeWhereTooMuchWouldBeReckonedTwice) {
  TrialProgram program = ManyAtRest(200);
  program.draws.clear();
  TrialStep fills_all;
  for (std::uint32_t c = 0; c < program.columns; ++c) {
    if (c % 4 != 3 && (c % 4 != 0 || c == 0)) fills_all.columns.push_back(c);
  }
  fills_all.run = [](const TrialBlock&) {};
  program.stages.insert(program.stages.begin(), {0, {}, {fills_all}});
  EXPECT_EQ(PiecesOf(program, 40).size(), 1U);
}

}  // namespace
}  // namespace fitwright::stats
