#include "fitwright/stats/random.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <vector>

#include "fitwright/base/parallel.h"
#include "fitwright/stats/intervals.h"
#include "fitwright/stats/normal.h"

namespace fitwright::stats {
namespace {

// Known-answer vectors of Philox4x32-10 published with Salmon et al., SC'11 (from memory; the
// generator written from the paper's definition reproduces all three, which chance would not).
TEST(Philox, GivesThePublishedVectors) {
  EXPECT_EQ(Philox4x32({0, 0, 0, 0}, {0, 0}),
            (PhiloxCounter{0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8}));
  constexpr std::uint32_t kOnes = 0xffffffff;
  EXPECT_EQ(Philox4x32({kOnes, kOnes, kOnes, kOnes}, {kOnes, kOnes}),
            (PhiloxCounter{0x408f276d, 0x41c83b0e, 0xa20bc7c6, 0x6d5451fd}));
  EXPECT_EQ(Philox4x32({0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344}, {0xa4093822, 0x299f31d0}),
            (PhiloxCounter{0xd16cfe09, 0x94fdcceb, 0x5001e420, 0x24126ea1}));
}

TEST(Uniform, LiesStrictlyInsideAndPassesKolmogorov) {
  constexpr int kDraws = 100000;
  std::vector<double> u(kDraws);
  FillUniform(StreamKey(1, 7), 0, u);
  std::sort(u.begin(), u.end());
  EXPECT_GT(u.front(), 0);
  EXPECT_LT(u.back(), 1);
  double distance = 0;
  for (int i = 0; i < kDraws; ++i) {
    distance = std::max(distance, std::fabs(u[static_cast<std::size_t>(i)] - (i + 0.5) / kDraws));
  }
  // Kolmogorov's 0.1 % point is 1.95 / sqrt(n).
  EXPECT_LT(distance, 1.95 / std::sqrt(kDraws));
}

TEST(Uniform, StreamsAndLanesAreUncorrelated) {
  constexpr int kDraws = 50000;
  const auto correlation = [](std::uint64_t key_a, std::uint32_t lane_a, std::uint64_t key_b,
                              std::uint32_t lane_b, std::uint64_t shift) {
    double sum = 0;
    for (std::uint64_t i = 0; i < kDraws; ++i) {
      sum += (Uniform(key_a, i, lane_a) - 0.5) * (Uniform(key_b, i + shift, lane_b) - 0.5);
    }
    return 12 * sum / kDraws;
  };
  // Each is normal of sigma 1 / sqrt(n) when independent; 4 sigma.
  const double limit = 4 / std::sqrt(static_cast<double>(kDraws));
  EXPECT_LT(std::fabs(correlation(StreamKey(1, 1), 0, StreamKey(1, 2), 0, 0)), limit);
  EXPECT_LT(std::fabs(correlation(StreamKey(1, 1), 0, StreamKey(2, 1), 0, 0)), limit);
  EXPECT_LT(std::fabs(correlation(StreamKey(1, 1), 0, StreamKey(1, 1), 1, 0)), limit);
  EXPECT_LT(std::fabs(correlation(StreamKey(1, 1), 0, StreamKey(1, 1), 0, 1)), limit);
}

TEST(StreamKey, KeepsNeighboursApart) {
  std::set<std::uint64_t> keys;
  for (std::uint64_t seed = 0; seed < 100; ++seed) {
    for (std::uint64_t source = 0; source < 100; ++source) keys.insert(StreamKey(seed, source));
  }
  keys.insert(StreamKey(0, 1ULL << 63));
  EXPECT_EQ(keys.size(), 10001u);
}

TEST(Normal, IsTheInverseOfTheUniformDraw) {
  for (std::uint64_t i = 0; i < 1000; ++i) {
    EXPECT_EQ(Normal(5, i), InverseNormal(Uniform(5, i)));
    EXPECT_EQ(NormalPair(5, i).first, Normal(5, i));
  }
}

TEST(Draws, AreTheSameInAnyOrderAndOnAnyThreads) {
  constexpr std::size_t kDraws = 4096;
  std::vector<double> forward(kDraws);
  FillNormal(42, 0, forward);
  for (const int threads : {1, 2, 8}) {
    std::vector<double> parallel(kDraws);
    ParallelFor(kDraws, threads, [&](std::size_t i) { parallel[i] = Normal(42, i); });
    EXPECT_EQ(parallel, forward) << threads << " threads";
  }
  std::vector<double> tail(96);
  FillNormal(42, kDraws - 96, tail);
  EXPECT_TRUE(std::equal(tail.begin(), tail.end(), forward.end() - 96));
}

// Wichura, Algorithm AS 241, Applied Statistics 37 (1988): the check values of PPND16.
TEST(InverseNormal, GivesThePublishedValues) {
  EXPECT_NEAR(InverseNormal(0.25), -0.6744897501960817, 1e-15);
  EXPECT_NEAR(InverseNormal(0.001), -3.090232306167814, 4e-15);
  EXPECT_NEAR(InverseNormal(1e-20), -9.262340089798408, 1e-14);
}

TEST(InverseNormal, InvertsTheDistribution) {
  // Relative to the tail, so that a wrong digit in any coefficient shows.
  for (double x = -37; x <= 0; x += 0.01) {
    EXPECT_NEAR(InverseNormal(NormalCdf(x)), x, 2e-15 * std::max(1.0, std::fabs(x)) + 3e-15) << x;
  }
  // From above, p itself is rounded to 2^-53.
  for (double x = 0; x <= 5; x += 0.01) {
    EXPECT_NEAR(InverseNormal(NormalCdf(x)), x, 1e-15 + 0x1p-53 / NormalDensity(x)) << x;
  }
  EXPECT_EQ(InverseNormal(0), -std::numeric_limits<double>::infinity());
  EXPECT_EQ(InverseNormal(1), std::numeric_limits<double>::infinity());
  EXPECT_TRUE(std::isnan(InverseNormal(-0.1)));
}

}  // namespace
}  // namespace fitwright::stats
