// An outcome as a margin of normals against the trials themselves, and the hand-over to lines.
#include "fitwright/stats/trial_margin.h"

#include <gtest/gtest.h>

#include <bit>
#include <cmath>
#include <vector>

#include "fitwright/stats/normal.h"
#include "fitwright/stats/random.h"

namespace fitwright::stats {
namespace {

// One row over one law's columns (two draws with a common length where it has one), limited so that
// some fail at one end.
TrialProgram RowOver(DrawLaw law, double low, double high) {
  TrialProgram p;
  for (std::uint64_t k = 0; k < 2; ++k) {
    TrialDraw draw{.law = law,
                   .key = 10 + k,
                   .length_key = 20,
                   .a = 0.3,
                   .b = 0.6,
                   .c = 0.8,
                   .column = p.columns};
    p.columns += law == DrawLaw::kRound || law == DrawLaw::kFolded ? 2 : 1;
    p.draws.push_back(draw);
  }
  p.worked = {{.cut = 0.8, .reading = 0.5, .low = -0.5, .high = 0.7, .safe_sign = -1}};
  for (std::uint32_t c = 0; c < p.columns; ++c) p.terms.push_back({c, 1.0 + 0.3 * c});
  p.rows = {{.constant = 0.1,
             .first_term = 0,
             .terms = p.columns,
             .low = low,
             .high = high,
             .outcome = 0}};
  p.outcomes = 1;
  return p;
}

double Missed(const TrialProgram& p, std::uint32_t outcome = 0) {
  TrialRun run;
  run.trials = 1 << 18;
  const std::vector<std::uint64_t> words = RunTrials(p, run);
  const std::size_t each = words.size() / p.outcomes;
  double missed = 0;
  for (std::size_t w = 0; w < each; ++w)
    missed += static_cast<double>(std::popcount(~words[outcome * each + w]));
  return missed / static_cast<double>(run.trials);
}

// Share of plain draws of the margin's normals that lie below 0.
double Below(const TrialMargin& m, int draws) {
  std::vector<double> u(m.dimensions);
  double below = 0;
  for (int i = 0; i < draws; ++i) {
    for (std::size_t k = 0; k < u.size(); ++k)
      u[k] = Normal(99, static_cast<std::uint64_t>(i), static_cast<std::uint32_t>(k));
    below += m.margin(u) < 0 ? 1 : 0;
  }
  return below / draws;
}

TEST(TrialMargin, HasTheDistributionOfTheTrials) {
  struct Law {
    DrawLaw law;
    double low;
    double high;
  };
  for (const Law c : {Law{DrawLaw::kNormal, -1, 2},
                       {DrawLaw::kHalfNormal, 0.5, 2.5},
                       {DrawLaw::kUniform, -1, 1.2},
                       {DrawLaw::kFromZero, 0.5, 1.6},
                       {DrawLaw::kRound, -2, 2.5},
                       {DrawLaw::kFolded, -1.5, 2},
                       {DrawLaw::kLognormal, 1.8, 3},
                       {DrawLaw::kEvent, 0, 1.2},
                       {DrawLaw::kWorked, -1, 1.5}}) {
    const TrialProgram p = RowOver(c.law, c.low, c.high);
    const double sampled = Missed(p);
    EXPECT_GT(sampled, 0.02) << static_cast<int>(c.law);
    EXPECT_LT(sampled, 0.98) << static_cast<int>(c.law);
    constexpr int kDraws = 20000;
    EXPECT_NEAR(Below(MarginOf(p, 0), kDraws), sampled,
                5 * std::sqrt(sampled * (1 - sampled) / kDraws))
        << static_cast<int>(c.law);
  }
}

TEST(TrialMargin, ReadsOnlyWhatItsOutcomeReads) {
  TrialProgram p = RowOver(DrawLaw::kNormal, -1, 1);
  p.draws.push_back({.law = DrawLaw::kWorked, .key = 3, .column = p.columns++});
  p.rows.push_back({.first_term = 2, .terms = 1, .low = -1, .high = 1, .outcome = 1});
  p.terms.push_back({2, 1});
  p.outcomes = 2;
  EXPECT_EQ(MarginOf(p, 0).dimensions, 2U);
  EXPECT_EQ(MarginOf(p, 1).dimensions, 19U);
  EXPECT_EQ(MarginOf(RowOver(DrawLaw::kRound, -1, 1), 0).dimensions,
            3U);  // one length, two directions
}

// A length beyond four sigma: a condition, by the closed form; a row likewise. Plain sampling of as
// many trials sees some forty.
TEST(MissChance, HandsOverWhereMissesAreRare) {
  TrialProgram p;
  p.columns = 2;
  p.draws = {{.law = DrawLaw::kNormal, .key = 1, .column = 0},
             {.law = DrawLaw::kNormal, .key = 2, .column = 1}};
  p.terms = {{0, 1}, {1, 1}};
  p.rows = {
      {.first_term = 0, .terms = 1, .kept = true},
      {.first_term = 1, .terms = 1, .kept = true},
      {.first_term = 0, .terms = 2, .low = -1e300, .high = 4.5 * std::sqrt(2.0), .outcome = 1},
      {.first_term = 0, .terms = 1, .low = -1, .high = 1e300, .outcome = 2}};
  p.conditions = {{.x = 0, .y = 1, .factor = 1, .low = -1e300, .high = 4, .outcome = 0}};
  p.outcomes = 3;
  const std::vector<double> exact = {std::exp(-8.0), NormalCdf(-4.5), NormalCdf(-1)};
  for (std::uint32_t o = 0; o < 3; ++o) {
    MissOptions options;
    options.seed = 2;  // one for which all three intervals hold
    const MissChance miss = CalcMissChance(p, o, options);
    EXPECT_EQ(miss.by_draws, o < 2) << o;
    EXPECT_LE(miss.interval.low, exact[o]) << o;
    EXPECT_GE(miss.interval.high, exact[o]) << o;
    EXPECT_LE(miss.interval.high - miss.interval.low, 0.2 * miss.chance) << o;
  }
}

TEST(MissChance, NothingRandomIsSure) {
  TrialProgram p;
  p.rows = {{.constant = 1, .low = 0, .high = 2, .outcome = 0},
            {.constant = 3, .low = 0, .high = 2, .outcome = 1}};
  p.outcomes = 2;
  EXPECT_EQ(CalcMissChance(p, 0).chance, 0);
  EXPECT_EQ(CalcMissChance(p, 0).interval.high, 0);
  EXPECT_EQ(CalcMissChance(p, 1).chance, 1);
}

}  // namespace
}  // namespace fitwright::stats
