#include "fitwright/rework/spread_learning.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "fitwright/stats/normal.h"

namespace fitwright::rework {
namespace {

TEST(SpreadLearning, ConjugateWhereNothingIsHeldBack) {
  const SpreadPrior prior{0.010, 4};
  std::vector<Deviation> deviations;
  double squares = 0;
  for (const double off : {0.004, -0.011, 0.007, 0.002, -0.006, 0.015}) {
    deviations.push_back({off});
    squares += off * off;
  }
  const LearnedFigure learned = Learn(prior, deviations);
  const double square = (4 * 0.010 * 0.010 + squares) / (4 + 6);
  EXPECT_NEAR(learned.figure, std::sqrt(square), 1e-6);  // the grid's steps
  EXPECT_EQ(learned.readings, 6);
  EXPECT_LT(learned.high / learned.low, learned.prior_high / learned.prior_low)
      << "the band narrows";
  // n s^2 / figure^2 is chi-square of n = 10: 3.247 and 20.483 (tables).
  EXPECT_NEAR(learned.low, std::sqrt(10 * square / 20.483), 3e-5);
  EXPECT_NEAR(learned.high, std::sqrt(10 * square / 3.247), 1e-4);
}

TEST(SpreadLearning, NothingReadLeavesThePrior) {
  const LearnedFigure learned = Learn({0.02, 3}, {});
  EXPECT_NEAR(learned.figure, 0.02, 2e-4);  // the grid ends at eight times
  EXPECT_DOUBLE_EQ(learned.low, learned.prior_low);
}

TEST(SpreadLearning, PriorCountsForMoreWhereLessIsOpen) {
  const SpreadPrior wide = PriorOf(0.010, 0.005, 0.025);
  const SpreadPrior narrow = PriorOf(0.010, 0.009, 0.011);
  EXPECT_NEAR(wide.readings, 0.5 / std::pow(std::log(5.0) / std::sqrt(12.0), 2), 1e-9);
  EXPECT_GT(narrow.readings, 10 * wide.readings);
}

// Sizes sent back while too large, read by a coarse instrument: the figure is found all the same.
TEST(SpreadLearning, SizesWorkedToDoNotLookFiner) {
  std::mt19937_64 dice(5);
  std::normal_distribution<double> n;
  constexpr double kTrue = 0.020;
  std::vector<Deviation> deviations;
  double squares = 0;
  for (int i = 0; i < 400; ++i) {
    double off = 1;
    while (off > 0.004) off = 0.5 * kTrue * n(dice) + 0.003 * n(dice);
    deviations.push_back({off, 0.5, 0.003, 0.004, -1e300});
    squares += off * off;
  }
  const LearnedFigure learned = Learn({0.010, 2}, deviations);
  EXPECT_LT(learned.low, kTrue);
  EXPECT_GT(learned.high, kTrue);
  EXPECT_LT(learned.high / learned.low, 1.35);
}

TEST(Drift, StandsOffOrWalksOrNeither) {
  EXPECT_GT(FindDrift({0.3, -0.8, 0.5, -0.2, 0.9, -0.6}).chance, 0.5);
  const Drift off = FindDrift({1.9, 1.2, 2.1, 1.4, 1.6, 1.8});
  EXPECT_LT(off.chance, kDriftChance);
  EXPECT_FALSE(off.walks);
  EXPECT_NEAR(off.mean, 10.0 / 6, 1e-12);
  const Drift walks = FindDrift({-2.1, -1.2, -0.4, 0.5, 1.3, 2.2});
  EXPECT_LT(walks.chance, kDriftChance);
  EXPECT_TRUE(walks.walks);
  EXPECT_NEAR(walks.per_reading, 0.857, 0.01);
  EXPECT_EQ(FindDrift({3, 3, 3}).chance, 1) << "three say nothing";
}

}  // namespace
}  // namespace fitwright::rework
