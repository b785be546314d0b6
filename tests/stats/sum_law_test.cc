// Sums of independent terms against closed forms and against trials.
#include "fitwright/stats/sum_law.h"

#include <gtest/gtest.h>

#include <cmath>

#include "fitwright/stats/normal.h"
#include "fitwright/stats/worked_law.h"

namespace fitwright::stats::sum_law_tests {
namespace {

constexpr double kNone = 1e300;

TEST(SumLaw, Normals) {
  SumLaw law;
  law.AddNormal(1, 0.3);
  law.AddNormal(-0.5, 0.4);
  for (const double z : {-6.0, -2.0, 0.0, 0.7, 5.0}) {
    EXPECT_NEAR(law.Within(-kNone, 0.5 + 0.5 * z).chance, NormalCdf(z), 1e-11);
    EXPECT_NEAR(law.Within(0.5 + 0.5 * z, kNone).chance, NormalCdf(-z), 1e-11);
  }
  EXPECT_NEAR(law.Within(0, 1).chance, 1 - 2 * NormalCdf(-1), 1e-11);
  EXPECT_EQ(law.Within(1, 0).chance, 0);
}

// Two uniforms of one width: a triangle.
TEST(SumLaw, UniformsAloneEndSlowlyAndSaySo) {
  SumLaw one;
  one.AddUniform(-1, 1);
  EXPECT_NEAR(one.Within(-kNone, 0.5).chance, 0.75, 1e-3);
  EXPECT_GT(one.Within(-kNone, 0.5).error, 1e-6);
  SumLaw law;
  law.AddUniform(0, 1);
  law.AddUniform(0, 1);
  EXPECT_NEAR(law.Within(-kNone, 0.5).chance, 0.125, 1e-6);
  EXPECT_NEAR(law.Within(0.5, 1.5).chance, 0.75, 1e-6);
}

// |N| + N: twice the skew normal's own table, by one integral.
TEST(SumLaw, OneSidedWithNormal) {
  SumLaw law;
  law.AddHalfNormal(-2);
  law.AddNormal(0, 1);
  for (const double x : {-4.0, -1.0, 0.5}) {
    double exact = 0;
    constexpr int kSteps = 20000;
    for (int i = 0; i < kSteps; ++i) {
      const double h = 8.0 * (i + 0.5) / kSteps;
      exact += 2 * NormalDensity(h) * NormalCdf(x + 2 * h) * 8.0 / kSteps;
    }
    EXPECT_NEAR(law.Within(-kNone, x).chance, exact, 1e-8) << x;
  }
}

TEST(SumLaw, EventsAreAllThatTheyCanBe) {
  SumLaw law;
  law.AddEvent(0.02, 0.02, 0.1);
  law.AddNormal(0, 0.005);
  // 98 in 100 normal; else between 0.02 and 0.1: over 0.06 half of them.
  EXPECT_NEAR(law.Within(0.06, kNone).chance, 0.01, 1e-9);
}

TEST(SumLaw, DensitiesAreThoseOfTheSum) {
  SumLaw law;
  law.AddNormal(2, 0.5);
  const std::vector<double> at = {0.5, 2.0, 2.7};
  const std::vector<double> d = law.Densities(at);
  for (std::size_t i = 0; i < at.size(); ++i)
    EXPECT_NEAR(d[i], NormalDensity((at[i] - 2) / 0.5) / 0.5, 1e-10);
}

TEST(SumLaw, NothingRandomIsAStep) {
  SumLaw law;
  law.AddFixed(0.3);
  EXPECT_EQ(law.Within(0.3, 0.4).chance, 1);
  EXPECT_EQ(law.Within(0.31, 0.4).chance, 0);
}

TEST(Dawson, AgainstItsTable) {  // Abramowitz and Stegun, table 7.5, recalled
  EXPECT_NEAR(DawsonIntegral(0.1), 0.0993359924, 1e-10);
  EXPECT_NEAR(DawsonIntegral(1), 0.5380795069, 1e-10);
  EXPECT_NEAR(DawsonIntegral(-3), -0.1782710306, 1e-10);
  EXPECT_NEAR(DawsonIntegral(10), 0.0502538471, 1e-10);
}

// Cut, read and cut again: the density against trials of the same program.
TEST(WorkedLaw, IsThatOfTheTrials) {
  for (const WorkedDraw& size :
       {WorkedDraw{0.8, 0.5, -0.5, 0.7, -1}, WorkedDraw{0.8, 0.5, -1, 0.2, 1},
        WorkedDraw{0.5, 0, -1, 0.2, 1}, WorkedDraw{0, 0.5, -1, 0.3, 1},
        WorkedDraw{0.8, 0.05, -0.4, 3, -1}}) {
    TrialProgram p;
    p.worked = {size};
    p.draws = {{.law = DrawLaw::kWorked, .key = 7, .column = 0},
               {.law = DrawLaw::kNormal, .key = 8, .column = 1}};
    p.columns = 2;
    p.terms = {{0, 1}, {1, 0.1}};
    SumLaw sum;
    const LawPoints law = LawOfWorked(size);
    sum.AddPoints(law.values, law.weights);
    sum.AddNormal(0, 0.1);
    const std::vector<double> limits = {-1, -0.5, -0.1, 0.15, 0.6};
    for (std::uint32_t o = 0; o < limits.size(); ++o)
      p.rows.push_back(
          {.first_term = 0, .terms = 2, .low = -kNone, .high = limits[o], .outcome = o});
    p.outcomes = static_cast<std::uint32_t>(limits.size());
    TrialRun run;
    run.trials = 1 << 16;
    const std::vector<std::uint64_t> words = RunTrials(p, run);
    const std::size_t each = words.size() / p.outcomes;
    for (std::size_t o = 0; o < limits.size(); ++o) {
      double met = 0;
      for (std::size_t w = 0; w < each; ++w) met += __builtin_popcountll(words[o * each + w]);
      const double share = met / static_cast<double>(run.trials);
      const double sigma =
          std::sqrt(std::max(1e-6, share * (1 - share)) / static_cast<double>(run.trials));
      EXPECT_NEAR(sum.Within(-kNone, limits[o]).chance, share, 4.5 * sigma + 1e-4)
          << size.cut << " " << size.reading << " below " << limits[o];
    }
  }
}

}  // namespace
}  // namespace fitwright::stats::sum_law_tests
