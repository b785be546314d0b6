// Odds that a pattern of bolts enters: closed forms and table, and the fastener formulae as
// corners.
//
// Source: own derivation, problem as in F. Scholz, Hole Alignment Tolerance Stacking Issues, Boeing
// M&CT-TECH-99-025 (1999); n bolts on a circle, hole pair i off by e_i ~ N(0, 1) per axis, a bolt
// passes when |e_i + t + theta J p_i| <= R. n = 2: none (1 - exp(-R^2/2))^2, shift 1 - exp(-R^2),
// shift and turn erf(R).
#include <gtest/gtest.h>

#include <cmath>

#include "fitwright/stats/random.h"
#include "fitwright/variation/analysis.h"
#include "fitwright/variation/odds.h"
#include "fitwright/variation/screws.h"
#include "tests/support/plan_builders.h"

namespace fitwright::variation {
namespace {

using namespace fitwright::testing;

constexpr std::uint64_t kPatternBuilds = 40000;
// The table's own standard error is 2.5e-4; ours at 40000 builds is at most 0.0025.
constexpr double kFiveErrors = 5 * 0.0025;

enum class Freedom { kNone, kShift, kShiftAndTurn };

double OddsOf(int n, double R, Freedom freedom) {
  ScrewProblem problem;
  problem.may_turn = freedom == Freedom::kShiftAndTurn;
  std::uint64_t good = 0;
  for (std::uint64_t b = 0; b < kPatternBuilds; ++b) {
    problem.planes.clear();
    if (freedom == Freedom::kNone) problem.planes.push_back({});  // a spigot without room
    for (int i = 0; i < n; ++i) {
      ScrewPlane p;
      const stats::Pair e = stats::NormalPair(77, b, static_cast<std::uint32_t>(i));
      p.offset = Vec2(e.first, e.second);
      const double a = 2 * kPi * i / n;
      p.q = 30 * Vec2(std::cos(a), std::sin(a));
      p.room = R;
      p.screw = i;
      problem.planes.push_back(p);
    }
    good += ScrewsEnter(problem) ? 1 : 0;
  }
  return static_cast<double>(good) / static_cast<double>(kPatternBuilds);
}

struct Row {
  int n;
  double R, none, shift, turn;
};
constexpr Row kTable[] = {{2, 0.5, 0.01380697790221405, 0.22119921692859512, 0.5204998778130465},
                          {2, 1, 0.15481812174617549, 0.6321205588285577, 0.8427007929497149},
                          {2, 2, 0.7476450724155088, 0.9816843611112658, 0.9953222650189527},
                          {3, 0.75, 0.014735, 0.150875, 0.310134},
                          {3, 1.25, 0.159367, 0.563167, 0.742353},
                          {3, 2.0, 0.646462, 0.950124, 0.982351},
                          {4, 1.0, 0.023969, 0.171464, 0.305537},
                          {4, 1.5, 0.208022, 0.607645, 0.757605},
                          {4, 2.5, 0.835499, 0.989064, 0.996637}};

TEST(Patterns, OddsOfTwoThreeFourBolts) {
  for (const Row& row : kTable) {
    EXPECT_NEAR(OddsOf(row.n, row.R, Freedom::kNone), row.none, kFiveErrors)
        << row.n << " " << row.R;
    EXPECT_NEAR(OddsOf(row.n, row.R, Freedom::kShift), row.shift, kFiveErrors)
        << row.n << " " << row.R;
    EXPECT_NEAR(OddsOf(row.n, row.R, Freedom::kShiftAndTurn), row.turn, kFiveErrors)
        << row.n << " " << row.R;
  }
}

TEST(Patterns, OneBolt) {
  EXPECT_NEAR(OddsOf(1, 1, Freedom::kNone), 1 - std::exp(-0.5), kFiveErrors);
  EXPECT_EQ(OddsOf(1, 0.01, Freedom::kShift), 1);
}

// Two plates, one bolt pattern without threads (floating): at H1 = F + T1, H2 = F + T2 and every
// hole off by half its T in the worst direction the bolts just enter, a hair more and they do not.
// One plate threaded (fixed): H = F + T1 + T2. ISO 2692 and ASME Y14.5 appendix B (formulae from
// memory).
double CornerExcess(double H1, double H2_or_0, double F, double off1, double off2) {
  ScrewProblem problem;
  // Four holes, the two plates' errors radially opposed: no shift or turn helps.
  for (int i = 0; i < 4; ++i) {
    const double a = 2 * kPi * i / 4;
    ScrewPlane p;
    p.q = 30 * Vec2(std::cos(a), std::sin(a));
    p.offset = (off1 + off2) * Vec2(std::cos(a), std::sin(a));
    p.room = H2_or_0 > 0 ? 0.5 * (H1 + H2_or_0) - F : 0.5 * (H1 - F);
    p.screw = i;
    problem.planes.push_back(p);
  }
  return SolveScrews(problem).excess;
}

TEST(Patterns, FastenerFormulaeAreTheCorner) {
  const double F = 6.0;
  const double T1 = 0.44;
  const double T2 = 0.30;
  EXPECT_NEAR(CornerExcess(F + T1, F + T2, F, T1 / 2, T2 / 2), 0, 1e-9);
  EXPECT_GT(CornerExcess(F + T1, F + T2, F, T1 / 2 + 1e-6, T2 / 2), 5e-7);
  EXPECT_NEAR(CornerExcess(F + 0.22 + 0.22, 0, F, 0.11, 0.11), 0, 1e-9);
  EXPECT_GT(CornerExcess(F + 0.22 + 0.22, 0, F, 0.11 + 1e-6, 0.11), 5e-7);
}

// Threads without a projected zone: a screw leaning through its whole tolerance over the engagement
// D stands off by more at the head's side of a plate P thick: H = F + T1 + T2 (1 + 2 P / D).
TEST(Patterns, LeaningScrewNeedsTheProjectedFormula) {
  const double F = 6.0;
  const double T1 = 0.2;
  const double T2 = 0.2;
  const double P = 8;
  const double D = 10;
  for (const double extra : {0.0, 1e-5}) {
    ScrewProblem problem;
    for (int i = 0; i < 4; ++i) {
      const double a = 2 * kPi * i / 4;
      const Vec2 out(std::cos(a), std::sin(a));
      // The axis runs from one rim of the zone at the bottom of the thread to the other at its
      // mouth.
      for (int k = 0; k < 2; ++k) {
        ScrewPlane p;
        p.q = 30 * out;
        p.offset = -(T1 / 2 + T2 / 2 + extra + k * P * T2 / D) * out;
        p.room = 0.5 * (F + T1 + T2 * (1 + 2 * P / D) - F);
        p.screw = i;
        problem.planes.push_back(p);
      }
    }
    const double excess = SolveScrews(problem).excess;
    if (extra == 0) {
      EXPECT_NEAR(excess, 0, 1e-9);
    } else {
      EXPECT_GT(excess, 0);
    }
  }
}

// The same corner through the whole chain: a machine's joint with one tapped hole pair pulled
// apart.
TEST(Patterns, ClearanceIsTheHolesLessTheScrews) {
  const Machine machine = CoverMachine();
  const auto a = Analyse(machine, ShopWithOnly({}), CoverByCoordinates(machine));
  ASSERT_TRUE(a) << Format(a.error());
  const auto& limits = a->requirements[0].screws.limits;
  ASSERT_EQ(limits.size(), 1u + 4 * 2);
  for (const FloatLimit& limit : limits) {
    if (limit.screw < 0) continue;
    // 3.2 drill, M3 6g: 2.874 .. 2.980, middle 2.927 (ISO 965-2).
    EXPECT_NEAR(limit.room.constant, 0.5 * (3.2 - 2.927), 1e-6);
    EXPECT_NEAR(limit.offset[0].constant, 0, 1e-12);
  }
}

}  // namespace
}  // namespace fitwright::variation
