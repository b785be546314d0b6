// Stacks of gauge blocks against brute force over all of a small set, and sine bars against tables
// of sines.
#include "fitwright/trade/gauge_blocks.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdlib>
#include <functional>
#include <numbers>
#include <sstream>
#include <utility>
#include <vector>

#include "tests/reference/table.h"
#include "tests/support/dice.h"

namespace fitwright::trade {
namespace {

constexpr double kRounding_mm = 1e-9;

struct Best {
  double off_mm = 0;
  int count = 0;
};

// Over all subsets: the fewest blocks of the exact ones and of those the nearest; when none is
// exact the nearest, then the fewest. By adding up, in whole nanometres.
Best BruteForce(double height_mm, const std::vector<double>& set_mm) {
  const auto nanometres = [](double mm) { return std::llround(mm * 1e6); };
  const long long height = nanometres(height_mm);
  long long off = std::abs(height);
  int count = 0;
  for (unsigned mask = 1; mask < (1U << set_mm.size()); ++mask) {
    const int n = std::popcount(mask);
    if (n > kMostBlocks) continue;
    long long sum = 0;
    for (std::size_t i = 0; i < set_mm.size(); ++i) {
      if (mask & (1U << i)) sum += nanometres(set_mm[i]);
    }
    const long long this_off = std::abs(height - sum);
    const bool exact = this_off <= 500;
    const bool best_exact = off <= 500 && count > 0;
    const bool better = exact != best_exact ? exact
                        : exact             ? std::pair(n, this_off) < std::pair(count, off)
                                            : std::pair(this_off, n) < std::pair(off, count);
    if (!better) continue;
    off = this_off;
    count = n;
  }
  return {static_cast<double>(off) / 1e6, count};
}

void ExpectBest(double height_mm, const std::vector<double>& set_mm) {
  const std::vector<double> blocks = ChooseBlocks(height_mm, set_mm);
  const Best best = BruteForce(height_mm, set_mm);
  EXPECT_NEAR(std::abs(height_mm - SumOf(blocks)), best.off_mm, 1e-6) << height_mm;
  EXPECT_EQ(static_cast<int>(blocks.size()), best.count) << height_mm;
  EXPECT_TRUE(std::is_sorted(blocks.begin(), blocks.end(), std::greater<>()));
}

TEST(GaugeBlocks, AreThoseOfBruteForceMetric) {
  const std::vector<double> set = {1.005, 1.01, 1.03, 1.2, 1.5, 2, 3, 5, 8, 10, 20, 25};
  for (int i = 0; i < 300; ++i) ExpectBest(0.7 + 0.137 * i, set);
  for (int i = 0; i < 150; ++i) ExpectBest(1 + 0.005 * i * 7, set);  // on the step of the set
}

TEST(GaugeBlocks, AreThoseOfBruteForceInch) {
  std::vector<double> set;
  for (const double inch :
       {0.1001, 0.1004, 0.1007, 0.101, 0.115, 0.12, 0.05, 0.3, 0.45, 1.0, 2.0}) {
    set.push_back(inch * 25.4);
  }
  for (int i = 0; i < 300; ++i) ExpectBest((0.05 + 0.0133 * i) * 25.4, set);
}

// Random handfuls of up to ten blocks of each set: heights that some of them make, to 0.4 um, are
// met within half a micrometre by the fewest blocks of the handful that can; others as near as any.
TEST(GaugeBlocks, RandomHandfulsOfEverySet) {
  testing::Dice dice(81);
  for (const auto& entry : WordsOf<BlockSet>::kAll) {
    const std::vector<double> all = BlocksOf(entry.value);
    for (int k = 0; k < 40; ++k) {
      std::vector<double> some;
      double height = dice.In(-0.0004, 0.0004, 0.0001);
      while (some.size() < 10) {
        const double block = dice.Of(all);
        if (std::find(some.begin(), some.end(), block) != some.end()) continue;
        some.push_back(block);
        if (some.size() == 1 || (some.size() <= kMostBlocks && dice.Chance(0.4))) height += block;
      }
      const std::vector<double> stack = ChooseBlocks(height, some);
      EXPECT_LE(std::abs(SumOf(stack) - height), kStackExact_mm + kRounding_mm) << height;
      for (const double block : stack) {
        EXPECT_EQ(std::count(some.begin(), some.end(), block), 1) << block;
      }
      ExpectBest(height, some);
      ExpectBest(dice.In(0.5, 60, 0.0005), some);
    }
  }
}

// Worked by hand digit by digit, as a set is used at the bench: the last digit first.
TEST(GaugeBlocks, WorkedStacks) {
  using Blocks = std::vector<double>;
  // 1.005 for the last digit leaves 40.12, 1.12 leaves 39, and 39 takes two.
  EXPECT_NEAR(SumOf(ChooseBlocks(41.125, BlocksOf(BlockSet::kMetric103))), 41.125, kRounding_mm);
  EXPECT_EQ(ChooseBlocks(41.125, BlocksOf(BlockSet::kMetric103)).size(), 4U);
  // 2.3456 in = 0.1006 + 0.145 + 0.1 + 2.
  const Blocks inch = ChooseBlocks(2.3456 * 25.4, BlocksOf(BlockSet::kInch81));
  EXPECT_EQ(inch.size(), 4U);
  EXPECT_NEAR(SumOf(inch) / 25.4, 2.3456, kRounding_mm);
  EXPECT_EQ(ChooseBlocks(50, BlocksOf(BlockSet::kMetric47)), Blocks{50});
  EXPECT_TRUE(ChooseBlocks(0, BlocksOf(BlockSet::kMetric47)).empty());
}

TEST(GaugeBlocks, SetsHoldTheBlocksTheyAreNamedFor) {
  const std::pair<BlockSet, std::size_t> sets[] = {
      {BlockSet::kMetric47, 47},   {BlockSet::kMetric87, 87},   {BlockSet::kMetric88, 88},
      {BlockSet::kMetric103, 103}, {BlockSet::kMetric112, 112}, {BlockSet::kInch81, 81}};
  for (const auto& [set, count] : sets) {
    const std::vector<double> blocks = BlocksOf(set);
    EXPECT_EQ(blocks.size(), count);
    for (std::size_t i = 1; i < blocks.size(); ++i) EXPECT_LT(blocks[i - 1], blocks[i]);
  }
  const std::vector<double> inch = BlocksOf(BlockSet::kInch81);
  EXPECT_EQ(inch.front(), 1.27);  // 0.050 in
  EXPECT_EQ(inch.back(), 101.6);  // 4 in
}

// Any height on the step of a set, over the range where the set reaches it, is met exactly with
// blocks of the set, each once.
void ExpectExactStacks(BlockSet set, double from_mm, double step_mm, int count) {
  const std::vector<double> blocks_mm = BlocksOf(set);
  for (int i = 0; i < count; ++i) {
    const double height = from_mm + step_mm * i;
    const std::vector<double> stack = ChooseBlocks(height, blocks_mm);
    EXPECT_LE(std::abs(SumOf(stack) - height), kStackExact_mm + kRounding_mm) << height;
    EXPECT_LE(stack.size(), 6U) << height;
    for (std::size_t k = 0; k < stack.size(); ++k) {
      EXPECT_EQ(std::count(stack.begin(), stack.end(), stack[k]), 1) << height;
      EXPECT_TRUE(std::binary_search(blocks_mm.begin(), blocks_mm.end(), stack[k])) << height;
    }
  }
}

TEST(GaugeBlocks, StacksAreExact) {
  ExpectExactStacks(BlockSet::kMetric47, 3.0, 0.995, 150);
  ExpectExactStacks(BlockSet::kMetric103, 3.0, 0.995, 190);
  ExpectExactStacks(BlockSet::kMetric88, 4.0, 0.9935, 150);
  ExpectExactStacks(BlockSet::kMetric112, 4.0, 0.9935, 190);
  ExpectExactStacks(BlockSet::kInch81, 0.3 * 25.4, 0.0137 * 25.4, 290);
}

// With exactly the heights of a grid, no stack of fewer blocks adds up: all of one, two and three.
TEST(GaugeBlocks, NoFewerBlocksWouldDo) {
  const std::vector<double> set = BlocksOf(BlockSet::kMetric47);
  for (int i = 0; i < 60; ++i) {
    const double height = 3.005 + 1.395 * i;
    const std::size_t count = ChooseBlocks(height, set).size();
    const auto meets = [&](double sum) { return std::abs(sum - height) <= kStackExact_mm; };
    for (std::size_t a = 0; a < set.size(); ++a) {
      EXPECT_FALSE(count > 1 && meets(set[a])) << height;
      for (std::size_t b = a + 1; b < set.size(); ++b) {
        EXPECT_FALSE(count > 2 && meets(set[a] + set[b])) << height;
        for (std::size_t c = b + 1; c < set.size(); ++c) {
          ASSERT_FALSE(count > 3 && meets(set[a] + set[b] + set[c])) << height;
        }
      }
    }
  }
}

// Heights between the steps of a set: half a step away at most.
TEST(GaugeBlocks, BetweenTheStepsTheNearest) {
  for (const double height : {44.721, 8.716, 17.365, 25.882, 34.202, 70.711}) {
    const std::vector<double> stack = ChooseBlocks(height, BlocksOf(BlockSet::kMetric47));
    EXPECT_LE(std::abs(SumOf(stack) - height), 0.0025 + kRounding_mm) << height;
    EXPECT_LE(stack.size(), 5U);
  }
}

// Measured blocks share no step: four blocks at most, the nearest.
TEST(GaugeBlocks, MeasuredBlocks) {
  const std::vector<double> set = {1.000012, 2.000031, 5.000007, 10.000044, 20.000019};
  EXPECT_EQ(ChooseBlocks(17, set), (std::vector<double>{10.000044, 5.000007, 2.000031}));
  EXPECT_TRUE(ChooseBlocks(0.2, set).empty());
}

TEST(OutsideValues, SineBars) {
  const auto table = reference::Table("belt_sine_circle.json");
  for (const auto& row : table.at("sine_bar").at("cases")) {
    double degrees = 0;
    if (row.contains("deg")) {
      degrees = row.at("deg");
    } else {
      std::istringstream dms(row.at("dms").get<std::string>());
      double d = 0, m = 0, s = 0;
      dms >> d >> m >> s;
      degrees = d + m / 60 + s / 3600;
    }
    const double angle = degrees * std::numbers::pi / 180;
    EXPECT_NEAR(SineStack_mm(row.at("L"), angle), row.at("h").get<double>(), 1e-8) << degrees;
  }
}

// Sines of 10, 26.565 and 30 degrees to five places, from tables.
TEST(SineBar, StackIsTheSineOfTheAngle) {
  const double degree = std::numbers::pi / 180;
  EXPECT_NEAR(SineStack_mm(100, 10 * degree), 17.365, 5e-4);
  EXPECT_NEAR(SineStack_mm(100, 26.565 * degree), 44.721, 5e-4);
  EXPECT_NEAR(SineStack_mm(127, 30 * degree), 63.5, 1e-9);
  EXPECT_NEAR(SineAngle_rad(127, 63.5), 30 * degree, 1e-12);
}

}  // namespace
}  // namespace fitwright::trade
