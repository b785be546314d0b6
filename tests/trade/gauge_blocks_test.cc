// Stacks of gauge blocks against brute force over all of a small set, and sine bars against tables
// of sines.
#include "fitwright/trade/gauge_blocks.h"

#include <gtest/gtest.h>

#include <bit>
#include <cmath>
#include <numbers>

namespace fitwright::trade {
namespace {

constexpr double kExact_mm = 1e-6;

// The metric set of 47, from memory: 1.005, 1.01 to 1.09, 1.1 to 1.9, 1 to 24, 25 50 75 100.
std::vector<double> MetricSet() {
  std::vector<double> set = {1.005};
  for (int i = 1; i <= 9; ++i) set.push_back(1 + 0.01 * i);
  for (int i = 1; i <= 9; ++i) set.push_back(1 + 0.1 * i);
  for (int i = 1; i <= 24; ++i) set.push_back(i);
  for (const double h : {25.0, 50.0, 75.0, 100.0}) set.push_back(h);
  return set;
}

// Least distance over all subsets of at most four, and the fewest blocks that reach it.
std::pair<double, int> BruteForce(double height, const std::vector<double>& set) {
  double best = std::abs(height);
  int count = 0;
  for (unsigned mask = 1; mask < (1U << set.size()); ++mask) {
    const int n = std::popcount(mask);
    if (n > 4) continue;
    double sum = 0;
    for (std::size_t i = 0; i < set.size(); ++i) {
      if (mask & (1U << i)) sum += set[i];
    }
    const double off = std::abs(height - sum);
    if (off < best - kExact_mm || (off < best + kExact_mm && n < count)) {
      best = std::min(best, off);
      count = n;
    }
  }
  return {best, count};
}

TEST(GaugeBlocks, AreThoseOfBruteForce) {
  const std::vector<double> set = {1.005, 1.01, 1.03, 1.2, 1.5, 2, 3, 5, 8, 10, 20, 25};
  for (int i = 0; i < 300; ++i) {
    const double height = 0.7 + 0.137 * i;
    const std::vector<double> blocks = ChooseBlocks(height, set);
    const auto [off, count] = BruteForce(height, set);
    EXPECT_NEAR(std::abs(height - SumOf(blocks)), off, 2 * kExact_mm) << height;
    EXPECT_EQ(static_cast<int>(blocks.size()), count) << height;
  }
}

TEST(GaugeBlocks, OfTheMetricSetReachAnyHeightToHalfItsStep) {
  for (const double height : {44.721, 8.716, 17.365, 25.882, 34.202, 50.0, 70.711}) {
    const std::vector<double> blocks = ChooseBlocks(height, MetricSet());
    EXPECT_LE(std::abs(SumOf(blocks) - height), 0.0025 + kExact_mm) << height;
    EXPECT_LE(blocks.size(), 4U);
  }
  EXPECT_EQ(ChooseBlocks(50, MetricSet()), std::vector<double>{50});
  EXPECT_TRUE(ChooseBlocks(0, MetricSet()).empty());
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
