#include "fitwright/stats/distributions.h"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "fitwright/stats/normal.h"
#include "fitwright/stats/points.h"

namespace fitwright::stats {
namespace {

struct Case {
  const char* name;
  Distribution distribution;
};

std::vector<Case> Cases() {
  return {{"fixed", MakeFixed(1.5)},
          {"normal", MakeNormal(0.3, 2)},
          {"half normal", MakeHalfNormal(-1, 0.5)},
          {"uniform", MakeUniform(2, 3)},
          {"one-sided uniform", MakeOneSidedUniform(1, 6)},
          {"lognormal", MakeLognormal(0.1, 0.4)},
          {"rayleigh", MakeRayleigh(0.04)},
          {"event", MakeEvent(0.02, 0.02, 0.1)},
          {"sure event", MakeEvent(1, 0.2, 0.7)}};
}

// Cumulants by the quantile function on a fine midpoint rule: another route than the closed forms.
Cumulants ByQuadrature(const Distribution& d) {
  // Tails are integrated with p = t^4 / 2 from both ends, so that heavy tails converge.
  constexpr int kCells = 200000;
  std::vector<std::pair<double, double>> nodes;
  for (int i = 0; i < kCells; ++i) {
    const double t = (i + 0.5) / kCells;
    const double p = 0.5 * std::pow(t, 4);
    const double weight = 2 * std::pow(t, 3) / kCells;
    nodes.emplace_back(Quantile(d, p), weight);
    nodes.emplace_back(QuantileOfScore(d, -InverseNormal(p)), weight);
  }
  double mean = 0;
  for (const auto& [x, w] : nodes) mean += w * x;
  Cumulants c{mean, 0, 0, 0};
  for (const auto& [x, w] : nodes) {
    const double y = x - mean;
    c.variance += w * y * y;
    c.third += w * y * y * y;
    c.fourth += w * y * y * y * y;
  }
  c.fourth -= 3 * c.variance * c.variance;
  return c;
}

TEST(Cumulants, AgreeWithQuadratureOfTheQuantiles) {
  for (const Case& test : Cases()) {
    SCOPED_TRACE(test.name);
    const Cumulants closed = CumulantsOf(test.distribution);
    const Cumulants numeric = ByQuadrature(test.distribution);
    // The midpoint rule with 2e5 cells; the event's jump costs one cell; the weights sum to 1
    // - 1.3e-11.
    const double sigma = std::sqrt(closed.variance);
    EXPECT_NEAR(numeric.mean, closed.mean, 2e-5 * sigma + 1e-10);
    EXPECT_NEAR(numeric.variance, closed.variance, 1e-4 * closed.variance + 1e-12);
    EXPECT_NEAR(numeric.third, closed.third, 5e-4 * std::pow(sigma, 3) + 1e-15);
    EXPECT_NEAR(numeric.fourth, closed.fourth,
                1e-3 * (std::pow(sigma, 4) + std::fabs(closed.fourth)) + 1e-15);
  }
}

TEST(Cumulants, AddScaleAndShift) {
  const Cumulants a = CumulantsOf(MakeHalfNormal(0, 1));
  const Cumulants doubled = CumulantsOf(MakeHalfNormal(0, 2));
  const Cumulants scaled = Scaled(a, 2);
  EXPECT_NEAR(scaled.mean, doubled.mean, 1e-15);
  EXPECT_NEAR(scaled.fourth, doubled.fourth, 1e-14);
  EXPECT_NEAR(Scaled(a, -1).third, -a.third, 1e-15);
  EXPECT_EQ(Shifted(a, 5).variance, a.variance);
  // Two equal one-sided uniforms 0..1 make a triangle on 0..2: mean 1, variance 1/6, fourth -1/60.
  const Cumulants u = CumulantsOf(MakeOneSidedUniform(0, 1));
  const Cumulants triangle = u + u;
  EXPECT_NEAR(triangle.mean, 1, 1e-15);
  EXPECT_NEAR(triangle.variance, 1.0 / 6, 1e-15);
  EXPECT_NEAR(triangle.fourth, -1.0 / 60, 1e-15);
}

TEST(Quantile, RisesAndAgreesWithItsScoreForm) {
  for (const Case& test : Cases()) {
    SCOPED_TRACE(test.name);
    double last = -1e300;
    for (double p = 0.001; p < 1; p += 0.001) {
      const double x = Quantile(test.distribution, p);
      EXPECT_GE(x, last);
      // Near p = 1, p carries 1e-16 and its score 1e-13; an event divides that by its chance.
      EXPECT_NEAR(QuantileOfScore(test.distribution, InverseNormal(p)), x,
                  1e-11 * (1 + std::fabs(x)));
      last = x;
    }
  }
}

TEST(Quantile, MedianIsTheNamedParameter) {
  EXPECT_NEAR(Quantile(MakeRayleigh(0.04), 0.5), 0.04, 1e-15);
  EXPECT_NEAR(Quantile(MakeLognormal(0.075, 0.4), 0.5), 0.075, 1e-15);
  EXPECT_EQ(Quantile(MakeEvent(0.02, 0.02, 0.1), 0.979), 0);
  EXPECT_GT(Quantile(MakeEvent(0.02, 0.02, 0.1), 0.981), 0.02);
  EXPECT_NEAR(Quantile(MakeEvent(0.02, 0.02, 0.1), 0.99), 0.06, 1e-12);
}

TEST(DrawVector, HasTheMedianLengthAndNoFavouredDirection) {
  constexpr int kDraws = 40000;
  int shorter = 0;
  double cosine = 0;
  double sine = 0;
  for (std::uint64_t i = 0; i < kDraws; ++i) {
    const Pair v = DrawVector(0.04, 3, i);
    const double length = std::hypot(v.first, v.second);
    if (length < 0.04) ++shorter;
    cosine += v.first / length;
    sine += v.second / length;
    const Pair direction = DrawDirection(3, i);
    EXPECT_NEAR(std::hypot(direction.first, direction.second), 1, 1e-15);
  }
  // Binomial sigma sqrt(n) / 2 and, for the sums, sqrt(n / 2): 4 sigma each.
  EXPECT_NEAR(shorter, kDraws / 2, 4 * std::sqrt(kDraws) / 2);
  EXPECT_NEAR(cosine, 0, 4 * std::sqrt(kDraws / 2.0));
  EXPECT_NEAR(sine, 0, 4 * std::sqrt(kDraws / 2.0));
}

TEST(CdfFromCumulants, IsExactForNormalAndNearForSums) {
  EXPECT_NEAR(CdfFromCumulants(CumulantsOf(MakeNormal(1, 2)), 3), NormalCdf(1), 1e-15);
  EXPECT_EQ(CdfFromCumulants(CumulantsOf(MakeFixed(2)), 1.999), 0);
  EXPECT_EQ(CdfFromCumulants(CumulantsOf(MakeFixed(2)), 2), 1);
  // Four uniforms 0..1: the cubic spline gives P(sum <= 1) = 1/24 exactly.
  const Cumulants u = CumulantsOf(MakeOneSidedUniform(0, 1));
  EXPECT_NEAR(CdfFromCumulants(u + u + u + u, 1), 1.0 / 24, 1e-3);
  // Sum of 8 half normals against sampling.
  Cumulants sum;
  for (int k = 0; k < 8; ++k) sum = sum + CumulantsOf(MakeHalfNormal(0, 1));
  constexpr int kDraws = 200000;
  const double x = sum.mean + 1.5 * std::sqrt(sum.variance);
  int below = 0;
  for (std::uint64_t i = 0; i < kDraws; ++i) {
    double value = 0;
    for (std::uint64_t k = 0; k < 8; ++k) value += std::fabs(Normal(k + 1, i));
    if (value <= x) ++below;
  }
  // Sampling 4 sigma is 0.0023; the series is good to about 1e-3.
  EXPECT_NEAR(CdfFromCumulants(sum, x), below / static_cast<double>(kDraws), 0.0033);
}

TEST(LatinUniform, FillsEachStratumOnceAndKeepsKeysApart) {
  constexpr int kPoints = 256;
  const std::vector<double> column = LatinUniform(11, kPoints);
  std::vector<int> hits(kPoints, 0);
  for (const double u : column) ++hits[static_cast<std::size_t>(u * kPoints)];
  for (const int count : hits) EXPECT_EQ(count, 1);
  EXPECT_EQ(column, LatinUniform(11, kPoints));
  EXPECT_NE(column, LatinUniform(12, kPoints));
  EXPECT_NE(column, LatinUniform(11, kPoints, 1));
  double correlation = 0;
  double ordered = 0;
  for (std::uint64_t key = 0; key < 200; ++key) {
    const auto a = LatinUniform(key, kPoints);
    const auto b = LatinUniform(key + 1000, kPoints);
    for (std::size_t i = 0; i < kPoints; ++i) {
      correlation += (a[i] - 0.5) * (b[i] - 0.5) * 12;
      ordered += (a[i] - 0.5) * ((static_cast<double>(i) + 0.5) / kPoints - 0.5) * 12;
    }
  }
  const double limit = 4 * std::sqrt(200.0 * kPoints);
  EXPECT_LT(std::fabs(correlation), limit);
  EXPECT_LT(std::fabs(ordered), limit);
}

TEST(LatinUniform, EveryPlaceIsEquallyLikely) {
  // Value 0 (the lowest stratum) of 8 must land on each of 8 places alike.
  std::vector<int> places(8, 0);
  constexpr int kKeys = 16000;
  for (std::uint64_t key = 0; key < kKeys; ++key) {
    const auto column = LatinUniform(key, 8);
    for (std::size_t i = 0; i < 8; ++i) {
      if (column[i] < 0.125) ++places[i];
    }
  }
  double chi2 = 0;
  for (const int count : places) chi2 += std::pow(count - kKeys / 8.0, 2) / (kKeys / 8.0);
  EXPECT_LT(chi2, 24.3);  // chi-square with 7 degrees of freedom, 0.1 % point
}

TEST(LatinNormal, EstimatesAMeanFarBetterThanPlainDraws) {
  double square = 0;
  for (std::uint64_t key = 0; key < 100; ++key) {
    double sum = 0;
    for (const double z : LatinNormal(key, 256)) sum += z;
    square += std::pow(sum / 256, 2);
  }
  // Plain draws: 1 / 256 on average.
  EXPECT_LT(square / 100, 0.01 / 256);
}

}  // namespace
}  // namespace fitwright::stats
