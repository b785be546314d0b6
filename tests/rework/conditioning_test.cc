// Errors given readings: against closed forms where all is normal, against builds that are thrown
// away unless they show the reading where it is not.
#include "fitwright/rework/conditioning.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <random>

#include "fitwright/rework/weighed_builds.h"

namespace fitwright::rework {
namespace {

using variation::Analysis;
using variation::Form;
using variation::Law;
using variation::Source;
using variation::SourceIndex;
using variation::SpreadId;

constexpr double kRounding = 1e-9;  // nothing but sums
constexpr double kPoint = 0.01;     // a point of a chance

SourceIndex Add(Analysis& a, Law law, double spread) {
  Source s;
  s.key = 1000 + a.sources.size();
  s.size_key = s.key;
  s.law = law;
  s.spread = SpreadId::kEdgeFinder;
  s.unit = spread;
  a.figures[variation::Place(SpreadId::kEdgeFinder)].spread = 1;
  return a.sources.Add(s);
}

Form Sum(const std::vector<std::pair<SourceIndex, double>>& terms, double constant = 0) {
  variation::FormSum sum;
  sum.Add(constant);
  for (const auto& [source, factor] : terms) sum.Add(source, factor);
  return sum.Take();
}

void AddReading(Observed& observed, const Form& shown, double value_mm) {
  Observation one;
  one.shown = one.real = shown;
  one.taken.value_mm = value_mm;
  observed.observations.push_back(one);
}

std::size_t Require(Analysis& a, const Form& form, double lower, double upper) {
  variation::RequirementForms r;
  r.linear = {form};
  r.lower = lower;
  r.upper = upper;
  a.requirements.push_back(r);
  return a.requirements.size() - 1;
}

double OddsGiven(const Analysis& a, const Observed& observed, std::int64_t builds = 40000) {
  const Conditioning given(a, observed);
  BuildsAsked asked;
  asked.requirements = {0};
  asked.builds = builds;
  const WeighedBuilds built = BuildGiven(a, given, asked);
  return built.Chance(built.met[0]);
}

double Cdf(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }

TEST(Conditioning, NormalSourcesAsByHand) {
  Analysis a;
  const SourceIndex x = Add(a, Law::kNormal, 0.01);
  const SourceIndex y = Add(a, Law::kNormal, 0.02);
  const SourceIndex e = Add(a, Law::kNormal, 0.005);
  const Form wanted = Sum({{x, 1}, {y, -1}}, 3);
  Require(a, wanted, 2.99, 3.0);
  Observed observed;
  AddReading(observed, Sum({{x, 1}, {y, 1}, {e, 1}}, 10), 10.03);
  const Conditioning given(a, observed);
  const double of_shown = 1e-4 + 4e-4 + 0.25e-4;
  const double together = 1e-4 - 4e-4;
  const double mean = 3 + together / of_shown * 0.03;
  const double variance = 5e-4 - together * together / of_shown;
  EXPECT_NEAR(given.MomentsOf(wanted).mean, mean, kRounding);
  EXPECT_NEAR(given.MomentsOf(wanted).variance, variance, kRounding);
  const double sigma = std::sqrt(variance);
  EXPECT_NEAR(OddsGiven(a, observed), Cdf((3 - mean) / sigma) - Cdf((2.99 - mean) / sigma), kPoint);
}

TEST(Conditioning, ManyReadingsOfOneSizeLeaveTheInstrumentsShare) {
  Analysis a;
  const SourceIndex size = Add(a, Law::kNormal, 0.05);
  Observed observed;
  for (int i = 0; i < 9; ++i)
    AddReading(observed, Sum({{size, 1}, {Add(a, Law::kNormal, 0.006), 1}}), 0.02);
  const Conditioning given(a, observed);
  const double left = 1 / (1 / (0.05 * 0.05) + 9 / (0.006 * 0.006));
  EXPECT_NEAR(given.MomentsOf(Sum({{size, 1}})).variance, left, kRounding);
  EXPECT_NEAR(given.MomentsOf(Sum({{size, 1}})).mean, 0.02 * 9 * left / (0.006 * 0.006), kRounding);
}

TEST(Conditioning, ATrueReadingSaysAllAndAnotherNothing) {
  Analysis a;
  const SourceIndex size = Add(a, Law::kNormal, 0.05);
  const SourceIndex other = Add(a, Law::kNormal, 0.03);
  Observed observed;
  AddReading(observed, Sum({{size, 1}}), 0.02);
  const Conditioning given(a, observed);
  EXPECT_NEAR(given.MomentsOf(Sum({{size, 1}})).mean, 0.02, 1e-7);  // the ridge
  EXPECT_NEAR(given.MomentsOf(Sum({{size, 1}})).variance, 0, kRounding);
  EXPECT_FALSE(given.Changes(Sum({{other, 1}})));
  EXPECT_EQ(given.Given(Sum({{other, 2}}, 1)), Sum({{other, 2}}, 1));
}

// What becomes of the requirement in the builds that show the reading, within half a hundredth.
double OddsByRejection(const std::function<std::pair<double, double>(std::mt19937_64&)>& build,
                       double shown, double lower, double upper) {
  std::mt19937_64 dice(7);
  constexpr double kAlike_mm = 0.0005;
  int kept = 0;
  int good = 0;
  while (kept < 20000) {
    const auto [read, value] = build(dice);
    if (std::abs(read - shown) > kAlike_mm) continue;
    ++kept;
    if (value >= lower && value <= upper) ++good;
  }
  return static_cast<double>(good) / kept;
}

TEST(Conditioning, OneSidedSourcesAsByRejection) {
  Analysis a;
  const SourceIndex lift = Add(a, Law::kHalfNormal, 0.03);
  const SourceIndex cut = Add(a, Law::kNormal, 0.012);
  const SourceIndex error = Add(a, Law::kNormal, 0.006);
  Require(a, Sum({{lift, 1.5}, {cut, -0.5}}), -1, 0.022);
  Observed observed;
  AddReading(observed, Sum({{lift, 1}, {cut, 1}, {error, 1}}), 0.025);
  const double slow = OddsByRejection(
      [](std::mt19937_64& dice) {
        std::normal_distribution<double> n;
        const double l = std::abs(0.03 * n(dice));
        const double c = 0.012 * n(dice);
        const double e = 0.006 * n(dice);
        return std::pair(l + c + e, 1.5 * l - 0.5 * c);
      },
      0.025, -1, 0.022);
  EXPECT_NEAR(OddsGiven(a, observed), slow, kPoint);
  EXPECT_GT(std::abs(slow - 0.5), 0.05) << "a case that a guess would meet says nothing";
}

TEST(Conditioning, AChanceOfAChipAsByRejection) {
  Analysis a;
  Source chip;
  chip.key = 5;
  chip.law = Law::kChip;
  chip.spread = SpreadId::kChipUnderWork;
  a.figures[variation::Place(SpreadId::kChipUnderWork)].spread = 0.05;
  const SourceIndex under = a.sources.Add(chip);
  const SourceIndex cut = Add(a, Law::kNormal, 0.012);
  const SourceIndex error = Add(a, Law::kNormal, 0.006);
  Require(a, Sum({{under, 1}}), -1, 0.0001);
  Observed observed;
  AddReading(observed, Sum({{under, 1}, {cut, 1}, {error, 1}}), 0.038);
  const double slow = OddsByRejection(
      [](std::mt19937_64& dice) {
        std::normal_distribution<double> n;
        std::uniform_real_distribution<double> u;
        const double c = u(dice) < 0.05 ? 0.02 + 0.08 * u(dice) : 0;
        return std::pair(c + 0.012 * n(dice) + 0.006 * n(dice), c);
      },
      0.038, -1, 0.0001);
  EXPECT_NEAR(OddsGiven(a, observed, 400000), slow, kPoint);
  EXPECT_LT(slow, 0.6) << "the chip, one in twenty before, is as likely as not now";
}

TEST(Conditioning, TwoReadingsThatShareAOneSidedSource) {
  Analysis a;
  const SourceIndex lift = Add(a, Law::kHalfNormal, 0.03);
  const SourceIndex one = Add(a, Law::kNormal, 0.008);
  const SourceIndex other = Add(a, Law::kNormal, 0.02);
  Require(a, Sum({{lift, 1}}), 0, 0.012);
  Observed observed;
  AddReading(observed, Sum({{lift, 1}, {one, 1}}), 0.02);
  AddReading(observed, Sum({{lift, 1}, {other, 1}}), -0.01);
  // The density of the lift, on a fine grid.
  double all = 0;
  double good = 0;
  for (double l = 0; l < 0.2; l += 1e-5) {
    const double w = std::exp(-0.5 * (std::pow(l / 0.03, 2) + std::pow((0.02 - l) / 0.008, 2) +
                                      std::pow((-0.01 - l) / 0.02, 2)));
    all += w;
    if (l <= 0.012) good += w;
  }
  EXPECT_NEAR(OddsGiven(a, observed), good / all, kPoint);
}

TEST(Conditioning, AReadingFarOffIsSeenToBe) {
  Analysis a;
  const SourceIndex size = Add(a, Law::kNormal, 0.01);
  Observed observed;
  AddReading(observed, Sum({{size, 1}}, 30), 30.03);
  AddReading(observed, Sum({{size, 1}, {Add(a, Law::kNormal, 0.001), 1}}, 30), 30.0301);
  const Conditioning given(a, observed);
  EXPECT_NEAR(given.expectations()[0].chance, 2 * Cdf(-3), 1e-6);
  EXPECT_NEAR(given.expectations()[0].mean_mm, 30, kRounding);
  EXPECT_GT(given.expectations()[1].chance, 0.9) << "the second is as the first had it";
  EXPECT_NEAR(given.expectations()[1].mean_mm, 30.03, 1e-6);
}

// Cut, read, cut again, until the reading is inside; kept are those whose last reading is `seen`.
TEST(WorkedPrior, AsCutAndReadOneByOne) {
  variation::WorkedSize worked;
  worked.cut = SpreadId::kTurnedDiameter;
  worked.reading = SpreadId::kMicrometer;
  worked.low = -0.012;
  worked.high = 0.003;  // half of all first cuts are sent back
  worked.safe_sign = 1;
  variation::Figures figures{};
  figures[variation::Place(worked.cut)].spread = 0.02;
  figures[variation::Place(worked.reading)].spread = 0.004;
  constexpr double kSeen = 0.001;
  const WorkedPrior prior = PriorOfWorked(worked, 1, figures, kSeen);
  const double r2 = 0.004 * 0.004;
  const double share = prior.variance / (prior.variance + r2);
  const double mean = prior.mean + share * (kSeen - prior.mean);
  std::mt19937_64 dice(11);
  std::normal_distribution<double> n;
  const double cut = std::sqrt(0.01 * 0.01 - r2);
  double sum = 0;
  double squares = 0;
  int kept = 0;
  while (kept < 40000) {
    double carried = 0.004 * n(dice);
    double value = 0;
    double seen = 0;
    for (int cuts = 0; cuts <= 8; ++cuts) {
      value = cut * n(dice) - carried;
      const double error = 0.004 * n(dice);
      seen = value + error;
      if (seen <= worked.high) break;
      carried = error;
    }
    if (std::abs(seen - kSeen) > 0.0003) continue;
    ++kept;
    sum += value;
    squares += value * value;
  }
  const double slow = sum / kept;
  EXPECT_NEAR(mean, slow, 6e-5);  // three standard errors of the slow mean
  EXPECT_NEAR(std::sqrt(share * r2), std::sqrt(squares / kept - slow * slow), 6e-5);
}

}  // namespace
}  // namespace fitwright::rework
