// How often 95 % intervals hold the truth: counted builds and draws where it fails.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <string>
#include <vector>

#include "fitwright/stats/intervals.h"
#include "fitwright/stats/normal.h"
#include "fitwright/stats/random.h"
#include "fitwright/stats/rare.h"

namespace fitwright::stats::coverage_tests {
namespace {

constexpr int kTimes = 2000;
constexpr double kLeast = 0.93;
constexpr double kMost = 0.97;

bool IsDeep() { return std::getenv("FITWRIGHT_DEEP") != nullptr; }

// Of 0, 1, 2 ... the number of successes, by its distribution's steps from the middle outwards is
// dear; by waiting times between successes (or failures) it is as many draws as there are events.
std::int64_t Binomial(std::uint64_t key, std::int64_t trials, double chance) {
  if (chance > 0.5) return trials - Binomial(key, trials, 1 - chance);
  const double log_miss = std::log1p(-chance);
  std::int64_t at = 0;
  for (std::uint64_t events = 0;; ++events) {
    at += 1 + static_cast<std::int64_t>(std::log(Uniform(key, events)) / log_miss);
    if (at > trials) return static_cast<std::int64_t>(events);
  }
}

constexpr std::int64_t kBuilds = 20000;

// The chance that CountedInterval holds p, by the sum over all counts.
double CountedCoverage(double p) {
  const double log_p = std::log(p);
  const double log_q = std::log1p(-p);
  const double middle = kBuilds * p;
  const auto reach = static_cast<std::int64_t>(9 * std::sqrt(middle) + 20);
  const auto first = std::max<std::int64_t>(0, static_cast<std::int64_t>(middle) - reach);
  double held = 0;
  for (std::int64_t k = first; k <= static_cast<std::int64_t>(middle) + reach; ++k) {
    const Interval i = CountedInterval(k, kBuilds);
    if (p < i.low || i.high < p) continue;
    const auto n = static_cast<double>(kBuilds);
    const auto good = static_cast<double>(k);
    held += std::exp(std::lgamma(n + 1) - std::lgamma(good + 1) - std::lgamma(n - good + 1) +
                     good * log_p + (n - good) * log_q);
  }
  return held;
}

// Every number of expected events, also well below one; what is said in intervals.h.
TEST(Coverage, CountedBuildsByExactSums) {
  const double step = IsDeep() ? 1.01 : 1.08;
  for (double events = 0.01; events < 0.5 * kBuilds; events *= step) {
    const double coverage = CountedCoverage(events / kBuilds);
    EXPECT_GE(coverage, kLeast) << events;
    if (events >= 10) {
      EXPECT_LE(coverage, kMost) << events;
    }
  }
}

TEST(Coverage, CountedBuilds) {
  for (const double chance : {0.5, 0.1, 0.01, 1e-3, 1e-5}) {
    int held = 0;
    const int times = IsDeep() ? kTimes : kTimes / 10;
    for (int k = 0; k < times; ++k) {
      const std::uint64_t key =
          StreamKey(7, static_cast<std::uint64_t>(k) + static_cast<std::uint64_t>(1e6 * chance));
      const Interval i = CountedInterval(Binomial(key, kBuilds, chance), kBuilds);
      held += i.low <= chance && chance <= i.high ? 1 : 0;
    }
    const double share = static_cast<double>(held) / times;
    const double noise = 3 * std::sqrt(0.05 * 0.95 / times);
    if (std::getenv("FITWRIGHT_SHOW") != nullptr) std::printf("counted %g: %.4f\n", chance, share);
    EXPECT_GE(share, IsDeep() ? kLeast : 0.95 - noise) << chance;
    if (chance * kBuilds >= 10) {
      EXPECT_LE(share, IsDeep() ? kMost : 0.95 + noise) << chance;
    }
  }
}

struct Known {
  std::string name;
  std::size_t dimensions;
  Margin margin;
};

// b - u0 - 0.15 u1^2 of five: its chance by one integral.
double BentChance(double b) {
  double chance = 0;
  constexpr int kSteps = 4000;
  for (int i = 0; i < kSteps; ++i) {
    const double v = -9 + 18 * (i + 0.5) / kSteps;
    chance += NormalDensity(v) * NormalCdf(-(b - 0.15 * v * v)) * 18 / kSteps;
  }
  return chance;
}

std::vector<Known> MarginsOf(double chance) {
  const double beta = -InverseNormal(chance);
  const double both = -InverseNormal(0.5 * chance);
  const double radius = std::sqrt(-2 * std::log(chance));
  double low = 0;
  double high = 12;
  for (int k = 0; k < 60; ++k) {
    const double b = 0.5 * (low + high);
    (BentChance(b) > chance ? low : high) = b;
  }
  using U = std::span<const double>;
  const Margin plane = [beta](U u) {
    double sum = 0;
    for (const double x : u) sum += x;
    return beta - sum / std::sqrt(static_cast<double>(u.size()));
  };
  const Margin round = [radius](U u) { return radius - std::hypot(u[0], u[1]); };
  return {{"plane in ten", 10, plane},
          {"plane in sixty", 60, plane},
          {"both sides in four", 4, [both](U u) { return both - std::fabs(u[0]); }},
          {"round in two", 2, round},
          {"round in four", 4, round},
          {"bent in five", 5, [low](U u) { return low - u[0] - 0.15 * u[1] * u[1]; }}};
}

// At 12,000 evaluations. An answer that is not to be trusted is handed over to counting: here few
// may be.
TEST(Coverage, DrawsWhereItFails) {
  const int times = IsDeep() ? kTimes : 20;
  const std::vector<double> chances =
      IsDeep() ? std::vector<double>{0.1, 0.01, 1e-3, 1e-5} : std::vector<double>{1e-3, 1e-5};
  for (const double chance : chances) {
    for (const Known& known : MarginsOf(chance)) {
      int held = 0;
      int trusted = 0;
      double width = 0;
      RareOptions options;
      options.evaluations = 12000;
      for (int k = 0; k < times; ++k) {
        options.seed = static_cast<std::uint64_t>(k) + 1;
        const RareChance rare = CalcRareChance(known.margin, known.dimensions, options);
        held += rare.interval.low <= chance && chance <= rare.interval.high ? 1 : 0;
        trusted += rare.trusted ? 1 : 0;
        width += 0.5 * (rare.interval.high - rare.interval.low) / chance / times;
      }
      const double share = static_cast<double>(held) / times;
      if (std::getenv("FITWRIGHT_SHOW") != nullptr)
        std::printf("%-20s %g: %.4f, half-width %.3f, trusted %d\n", known.name.c_str(), chance,
                    share, width, trusted);
      EXPECT_GE(trusted, times - times / 20) << known.name << " " << chance;
      // Short form: at 95 in 100 sixteen of twenty or fewer are one time in 60, fourteen one in
      // 30,000.
      EXPECT_GE(share, IsDeep() ? kLeast : 0.73) << known.name << " " << chance;
      if (IsDeep()) {
        EXPECT_LE(share, kMost) << known.name << " " << chance;
      }
    }
  }
}

// Six chips of 4 in 100, each 1 to 2 thick, under work whose height has a spread of 0.5: they are
// found as places of their own. 0.01: by the sum over numbers of chips of Irwin and Hall's
// densities.
TEST(Coverage, Chips) {
  const Margin margin = [](std::span<const double> u) {
    double height = 0;
    for (std::size_t i = 0; i < 6; ++i) {
      const double p = NormalCdf(-u[i]);
      height += p < 0.04 ? 1 + p / 0.04 : 0;
    }
    for (std::size_t i = 6; i < 10; ++i) height += 0.25 * u[i];
    return 3.138836878752 - height;
  };
  constexpr double kChance = 0.01;
  int held = 0;
  const int times = IsDeep() ? 200 : 8;
  for (int k = 0; k < times; ++k) {
    RareOptions options;
    options.seed = static_cast<std::uint64_t>(k) + 1;
    options.evaluations = 30000;
    const RareChance rare = CalcRareChance(margin, 10, options);
    held += rare.interval.low <= kChance && kChance <= rare.interval.high ? 1 : 0;
    EXPECT_LT(rare.interval.high - rare.interval.low, 0.5 * kChance);
  }
  EXPECT_GE(held, IsDeep() ? 180 : 5);
}

}  // namespace
}  // namespace fitwright::stats::coverage_tests
