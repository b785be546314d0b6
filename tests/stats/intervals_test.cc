#include "fitwright/stats/intervals.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "fitwright/stats/distributions.h"
#include "fitwright/stats/normal.h"

namespace fitwright::stats {
namespace {

double BinomialTerm(int n, int k, double p) {
  return std::exp(std::lgamma(n + 1.0) - std::lgamma(k + 1.0) - std::lgamma(n - k + 1.0) +
                  k * std::log(p) + (n - k) * std::log1p(-p));
}

template <typename Rule>
double Coverage(Rule interval, int n, double p) {
  double covered = 0;
  for (int k = 0; k <= n; ++k) {
    const Interval i = interval(k, n);
    if (i.low <= p && p <= i.high) covered += BinomialTerm(n, k, p);
  }
  return covered;
}

TEST(Wilson, MatchesItsDefinition) {
  // Ends solve (p - k/n)^2 = z^2 p (1 - p) / n.
  const double z = InverseNormal(0.975);
  const Interval i = WilsonInterval(81, 263);
  for (const double p : {i.low, i.high}) {
    EXPECT_NEAR(std::pow(p - 81.0 / 263, 2), z * z * p * (1 - p) / 263, 1e-15);
  }
  // Newcombe, Statistics in Medicine 17 (1998), table I, method 3: 0.2553 to 0.3662 (from memory).
  EXPECT_NEAR(i.low, 0.2553, 5e-5);
  EXPECT_NEAR(i.high, 0.3662, 5e-5);
  EXPECT_EQ(WilsonInterval(0, 20).low, 0);
  EXPECT_EQ(WilsonInterval(20, 20).high, 1);
  EXPECT_NEAR(WilsonInterval(0, 20).high, 0.1611, 5e-5);  // same table
}

TEST(Wilson, CoversNineteenTimesInTwentyOnAverageByExactSums) {
  const auto rule = [](int k, int n) { return WilsonInterval(k, n); };
  double sum = 0;
  int count = 0;
  for (double p = 0.01; p < 1; p += 0.0137) {
    const double coverage = Coverage(rule, 200, p);
    // Known to dip near the ends and to oscillate by about two points elsewhere.
    EXPECT_GT(coverage, 0.90) << p;
    sum += coverage;
    ++count;
  }
  EXPECT_NEAR(sum / count, 0.95, 0.006);
}

TEST(ClopperPearson, NeverCoversLessThanItSays) {
  const auto rule = [](int k, int n) { return ClopperPearsonInterval(k, n); };
  for (double p = 0.02; p < 1; p += 0.049) EXPECT_GE(Coverage(rule, 60, p), 0.95 - 1e-9) << p;
}

TEST(ClopperPearson, EndsPutHalfTheDoubtInEachBinomialTail) {
  const Interval i = ClopperPearsonInterval(81, 263);
  double above = 0;
  double below = 0;
  for (int k = 81; k <= 263; ++k) above += BinomialTerm(263, k, i.low);
  for (int k = 0; k <= 81; ++k) below += BinomialTerm(263, k, i.high);
  EXPECT_NEAR(above, 0.025, 1e-10);
  EXPECT_NEAR(below, 0.025, 1e-10);
  // No failure in n: the upper end is 1 - 0.025^(1/n).
  EXPECT_NEAR(ClopperPearsonInterval(0, 50).high, 1 - std::pow(0.025, 1.0 / 50), 1e-13);
  EXPECT_EQ(ClopperPearsonInterval(0, 50).low, 0);
  EXPECT_EQ(ClopperPearsonInterval(50, 50).high, 1);
}

TEST(IncompleteBeta, AgreesWithBinomialSumsAndClosedForms) {
  for (int k = 1; k <= 30; ++k) {
    double sum = 0;
    for (int j = k; j <= 30; ++j) sum += BinomialTerm(30, j, 0.37);
    EXPECT_NEAR(IncompleteBeta(k, 31 - k, 0.37), sum, 1e-12) << k;
  }
  EXPECT_NEAR(IncompleteBeta(0.5, 0.5, 0.3), 2 / 3.14159265358979323846 * std::asin(std::sqrt(0.3)),
              1e-14);
  EXPECT_NEAR(IncompleteBeta(3, 1, 0.7), 0.343, 1e-14);
  EXPECT_EQ(IncompleteBeta(2, 3, 0), 0);
  EXPECT_EQ(IncompleteBeta(2, 3, 1), 1);
}

TEST(IncompleteBeta, HoldsForLargeParameters) {
  // I_1/2(a, a) = 1/2, and I_x(a, b) + I_1-x(b, a) = 1.
  for (const double a : {10.0, 1e3, 1e6}) {
    EXPECT_NEAR(IncompleteBeta(a, a, 0.5), 0.5, 1e-12) << a;
    const double x = 0.5 + 0.3 / std::sqrt(a);
    EXPECT_NEAR(IncompleteBeta(a, a, x) + IncompleteBeta(a, a, 1 - x), 1, 1e-12) << a;
  }
}

TEST(Quantiles, InterpolateBetweenOrderStatistics) {
  const std::vector<double> values{1, 2, 4, 8, 16};
  EXPECT_EQ(QuantileOfSorted(values, 0), 1);
  EXPECT_EQ(QuantileOfSorted(values, 0.5), 4);
  EXPECT_EQ(QuantileOfSorted(values, 1), 16);
  EXPECT_DOUBLE_EQ(QuantileOfSorted(values, 0.625), 6);
  EXPECT_EQ(QuantileOfSorted(std::vector<double>{3}, 0.7), 3);
}

TEST(ShortestInterval, FindsTheDenseEnd) {
  std::vector<double> values;
  for (int i = 0; i < 1000; ++i) values.push_back(-std::log((1000 - i - 0.5) / 1000));
  const Interval i = ShortestInterval(values, 0.95);
  EXPECT_EQ(i.low, values.front());
  EXPECT_EQ(i.high, values[950]);
}

TEST(MeanAndSigma, IsSteadyFarFromZero) {
  std::vector<double> values;
  for (int i = 0; i < 1001; ++i) values.push_back(1e8 + (i % 2 == 0 ? 0.5 : -0.5));
  const MeanSigma m = MeanAndSigma(values);
  EXPECT_NEAR(m.sigma, 0.5, 5e-4);
  EXPECT_EQ(MeanAndSigma({}).sigma, 0);
}

// JCGM 101:2008, clause 9.2: Y = X1 + X2 + X3 + X4 with the project's own sampling.
struct Additive {
  const char* clause;
  std::vector<Distribution> terms;
  double u;         // standard uncertainty
  double endpoint;  // of the symmetric 95 % coverage interval
};

std::vector<double> SampleSum(const std::vector<Distribution>& terms, std::size_t draws,
                              std::uint64_t seed) {
  std::vector<double> y(draws, 0);
  for (std::size_t k = 0; k < terms.size(); ++k) {
    const std::uint64_t key = StreamKey(seed, k);
    for (std::size_t i = 0; i < draws; ++i) y[i] += Draw(terms[k], key, i);
  }
  std::sort(y.begin(), y.end());
  return y;
}

TEST(Jcgm101, AdditiveModels) {
  const Distribution normal = MakeNormal(0, 1);
  const Distribution uniform = MakeUniform(0, std::sqrt(3.0));
  const Distribution wide = MakeUniform(0, 10 * std::sqrt(3.0));
  // Endpoints: 9.2.2 is 2 x 1.959964; 9.2.3 is 2 sqrt(3) (2 - (3/5)^(1/4)) of annex E; 9.2.4 by
  // exact convolution (Table 4 prints 17.0).
  const double exact = 2 * std::sqrt(3.0) * (2 - std::pow(0.6, 0.25));
  EXPECT_NEAR(exact, 3.879406741347821, 1e-14);
  const std::vector<Additive> models{
      {"9.2.2", {normal, normal, normal, normal}, 2.0, 2 * 1.959963984540054},
      {"9.2.3", {uniform, uniform, uniform, uniform}, 2.0, exact},
      {"9.2.4", {uniform, uniform, uniform, wide}, std::sqrt(103.0), 17.0158140999}};
  constexpr std::size_t kDraws = 1000000;
  for (const Additive& model : models) {
    SCOPED_TRACE(model.clause);
    const std::vector<double> y = SampleSum(model.terms, kDraws, 20080);
    const MeanSigma m = MeanAndSigma(y);
    EXPECT_NEAR(m.mean, 0, 4 * model.u / 1000);
    // The standard error of a standard deviation is at most u / sqrt(2 n) for these shapes: 4 of
    // it.
    EXPECT_NEAR(m.sigma, model.u, 4 * model.u / std::sqrt(2.0 * kDraws));
    const Interval i = SymmetricInterval(y, 0.95);
    // The standard error of a 2.5 % quantile is sqrt(p (1 - p) / n) / density <= 0.0027 u here: 4
    // of it.
    const double tolerance = 0.011 * model.u;
    EXPECT_NEAR(i.low, -model.endpoint, tolerance);
    EXPECT_NEAR(i.high, model.endpoint, tolerance);
    const Interval s = ShortestInterval(y, 0.95);
    EXPECT_LE(s.high - s.low, i.high - i.low + 1e-9);
    // The shortest interval's place is flat for a symmetric shape: only its length is sharp.
    EXPECT_NEAR(s.high - s.low, 2 * model.endpoint, 2 * tolerance);
  }
}

}  // namespace
}  // namespace fitwright::stats
