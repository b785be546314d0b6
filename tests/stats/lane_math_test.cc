// The vector functions against the C library's long double, and bit for bit between widths.
#include "fitwright/stats/lane_math.h"

#include <gtest/gtest.h>

#include <cmath>
#include <cstring>
#include <limits>
#include <vector>

#include "fitwright/stats/normal.h"
#include "fitwright/stats/random.h"
#include "tests/stats/same_bits.h"

namespace fitwright::stats {
namespace {

constexpr std::size_t kMany = 20011;  // no multiple of any width

std::vector<double> UniformsOf(std::uint64_t key) {
  std::vector<double> u(kMany);
  for (std::size_t i = 0; i < u.size(); ++i) u[i] = Uniform(key, i);
  return u;
}

// Greatest error in units of the last place of the exact value.
template <typename Exact>
double WorstUlp(const std::vector<double>& x, const std::vector<double>& got, const Exact& exact) {
  double worst = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    const long double wanted = exact(static_cast<long double>(x[i]));
    const double near = std::fabs(static_cast<double>(wanted));
    const double ulp = std::nextafter(near, std::numeric_limits<double>::infinity()) - near;
    worst = std::max(worst, static_cast<double>(std::fabs(got[i] - wanted)) / ulp);
  }
  return worst;
}

TEST(LaneMath, LogarithmIsWithinOneUnit) {
  std::vector<double> x = UniformsOf(3);
  for (std::size_t i = 0; i < x.size(); i += 3)
    x[i] = std::ldexp(x[i], static_cast<int>(i % 1000) - 500);
  for (std::size_t i = 1; i < x.size(); i += 3)
    x[i] = 1 - std::ldexp(x[i], -static_cast<int>(i % 50));
  x[0] = 1;
  x[1] = 0x1p-53;
  std::vector<double> out(x.size());
  Logarithms(x, out);
  EXPECT_EQ(out[0], 0);
  EXPECT_LT(WorstUlp(x, out, [](long double v) { return std::log(v); }), 1);
}

TEST(LaneMath, ExponentialIsWithinOneUnit) {
  std::vector<double> x = UniformsOf(4);
  for (std::size_t i = 0; i < x.size(); ++i) x[i] = (2 * x[i] - 1) * (i % 2 == 0 ? 700 : 1);
  std::vector<double> out(x.size());
  Exponentials(x, out);
  EXPECT_LT(WorstUlp(x, out, [](long double v) { return std::exp(v); }), 1);
}

TEST(LaneMath, SineAndCosineAreWithinTheirBound) {
  std::vector<double> u = UniformsOf(5);
  for (std::size_t i = 0; i < 64; ++i) u[i] = static_cast<double>(i) / 32 - 1;
  std::vector<double> sines(u.size());
  std::vector<double> cosines(u.size());
  SinesAndCosinesOfTurns(u, sines, cosines);
  const long double turn = 2 * std::acos(-1.0L);
  for (std::size_t i = 0; i < u.size(); ++i) {
    EXPECT_LT(std::fabs(sines[i] - std::sin(turn * u[i])), 2.2e-16L) << u[i];
    EXPECT_LT(std::fabs(cosines[i] - std::cos(turn * u[i])), 2.2e-16L) << u[i];
  }
  EXPECT_EQ(sines[40], 1);  // a quarter turn
  EXPECT_EQ(cosines[40], 0);
}

// Values that the literature gives stand in random_test.cc. An error e of x changes P(X <= x) by
// about e |x| relative in the tail.
TEST(LaneMath, QuantilesInvertTheDistribution) {
  std::vector<double> p = UniformsOf(6);
  for (double& one : p) one = std::min(one, 1 - one);
  for (std::size_t i = 0; i < p.size(); i += 4)
    p[i] = std::ldexp(p[i], -static_cast<int>(i % 1000));
  std::vector<double> out(p.size());
  NormalQuantiles(p, out);
  for (std::size_t i = 0; i < p.size(); ++i)
    EXPECT_NEAR(NormalCdf(out[i]) / p[i], 1, 1e-15 * (4 + out[i] * out[i])) << p[i];
}

TEST(LaneMath, UniformsAreThoseOfTheStream) {
  std::vector<double> out(kMany);
  UniformNumbers(99, 0xFFFFFFF0ULL, 2, out);  // across the carry of the counter's low word
  for (std::size_t i = 0; i < out.size(); ++i) EXPECT_EQ(out[i], Uniform(99, 0xFFFFFFF0ULL + i, 2));
}

TEST(LaneMath, EveryWidthGivesTheSameBits) {
  const std::vector<Vectors> here = VectorsHere();
  ASSERT_EQ(here.front(), Vectors::kPortable);
  std::vector<double> x(kMany);
  UniformNumbers(7, 0, 0, x, Vectors::kPortable);
  for (std::size_t i = 0; i < x.size(); i += 5) x[i] = std::ldexp(x[i], -static_cast<int>(i % 900));
  std::vector<std::vector<double>> plain(6, std::vector<double>(kMany));
  const auto fill = [&](std::vector<std::vector<double>>& to, Vectors vectors) {
    Logarithms(x, to[0], vectors);
    Exponentials(x, to[1], vectors);
    SinesAndCosinesOfTurns(x, to[2], to[3], vectors);
    NormalQuantiles(x, to[4], vectors);
    UniformNumbers(7, 5, 1, to[5], vectors);
  };
  fill(plain, Vectors::kPortable);
  for (const Vectors vectors : here) {
    std::vector<std::vector<double>> wide(6, std::vector<double>(kMany));
    fill(wide, vectors);
    for (std::size_t k = 0; k < wide.size(); ++k)
      EXPECT_TRUE(SameBits(wide[k], plain[k]))
          << "function " << k << " width " << static_cast<int>(vectors);
  }
}

}  // namespace
}  // namespace fitwright::stats
