// Closed forms of assembly, transcribed with their values: a position's chance, patterns put on
// without adjusting, the boundary of a hole at its largest material, and what a press fit holds.
#include <gtest/gtest.h>

#include <cmath>

#include "fitwright/stats/random.h"
#include "fitwright/units/expression.h"
#include "fitwright/variation/compiled_builds.h"
#include "fitwright/variation/screws.h"
#include "tests/support/plan_builders.h"

namespace fitwright::variation {
namespace {

using namespace fitwright::testing;

constexpr int kBuilds = 1 << 17;
// Five standard errors of a chance at kBuilds.
double FiveErrors(double p) { return 5 * std::sqrt(p * (1 - p) / kBuilds); }

// Chance that a point drawn `off` aside, its two errors of their own sigmas, stays within a radius:
// the program's own draws and its own test of a magnitude.
double Inside(double off, double sigma_x, double sigma_y, double radius) {
  Analysis analysis;
  RequirementForms r;
  r.name = RequirementId("place");
  r.kind = RequirementKind::kInLine;
  r.test = TestKind::kMagnitude;
  r.upper = radius;
  std::array<Form, 2> pair;
  const std::array<SpreadId, 2> spreads = {SpreadId::kEdgeFinder, SpreadId::kPaperTouch};
  for (std::size_t k = 0; k < 2; ++k) {
    Source source;
    source.key = 50 + k;
    source.spread = spreads[k];
    source.unit = k == 0 ? sigma_x : sigma_y;
    analysis.figures[Place(source.spread)].spread = 1;
    pair[k] = FormOf(analysis.sources.Add(source));
  }
  pair[0].constant = off;
  r.vectors.push_back(pair);
  analysis.requirements.push_back(std::move(r));
  stats::TrialRun run;
  run.trials = kBuilds;
  int good = 0;
  for (const double value : MeasuredValues(analysis, CompileBuilds(analysis, analysis.figures),
                                           analysis.figures, run))
    good += value <= radius ? 1 : 0;
  return static_cast<double>(good) / kBuilds;
}

struct PositionCase {
  double off, sigma_y, radius, chance;
};

// Equal errors, on the spot: 1 - exp(-R^2 / 2 s^2); the diametral tolerance is 2 R.
TEST(ClosedForms, PositionIsARayleighLength) {
  for (const PositionCase& c :
       {PositionCase{0, 1, 1, 0.3934693403}, PositionCase{0, 1, 2, 0.8646647168},
        PositionCase{0, 1, 3, 0.9888910035}}) {
    EXPECT_NEAR(c.chance, 1 - std::exp(-0.5 * c.radius * c.radius), 1e-9);
    EXPECT_NEAR(Inside(c.off, 1, c.sigma_y, c.radius), c.chance, FiveErrors(c.chance));
  }
}

// Drawn aside: the non-central chi of two freedoms, 1 - Q1(b / s, R / s), by quadrature of the
// Bessel function and by a library's distribution, which agree to 1e-10.
TEST(ClosedForms, PositionDrawnAside) {
  for (const PositionCase& c :
       {PositionCase{1, 1, 1, 0.2671201962}, PositionCase{0.5, 1, 2, 0.8308593615},
        PositionCase{1, 1, 2, 0.7309879399}, PositionCase{1, 1, 3, 0.9562840284},
        PositionCase{2, 1, 3, 0.7856379118}, PositionCase{3, 1, 3, 0.4325202377}}) {
    EXPECT_NEAR(Inside(c.off, 1, c.sigma_y, c.radius), c.chance, FiveErrors(c.chance))
        << c.off << " " << c.radius;
  }
}

// One error half the other: as the tables of Harter, J. Am. Stat. Assoc. 55 (1960) 723 (from
// memory; computed elsewhere).
TEST(ClosedForms, PositionOfUnequalErrors) {
  for (const PositionCase& c :
       {PositionCase{0, 0.5, 1, 0.5900953294}, PositionCase{0, 0.5, 2, 0.9454545786},
        PositionCase{0, 0.5, 3, 0.9968293564}}) {
    EXPECT_NEAR(Inside(c.off, 1, c.sigma_y, c.radius), c.chance, FiveErrors(c.chance)) << c.radius;
  }
}

// Both parts' holes off by s per axis, put together on their true places: K pairs stay within 3 s
// by [1 - exp(-x^2 / 4 s^2)]^K. Problem as in F. Scholz, Boeing M&CT-TECH-99-025 (1999); values
// computed elsewhere.
TEST(ClosedForms, PatternOnItsTruePlaces) {
  for (const auto& [pairs, chance] : {std::pair(1, 0.8946007754), std::pair(2, 0.8003105474),
                                      std::pair(4, 0.6404969723), std::pair(8, 0.4102363715)}) {
    ScrewProblem problem;
    problem.may_turn = false;
    int good = 0;
    for (int b = 0; b < kBuilds; ++b) {
      problem.planes.assign(1, {});  // no room to move in
      for (int i = 0; i < pairs; ++i) {
        const auto lane = static_cast<std::uint32_t>(2 * i);
        const stats::Pair one = stats::NormalPair(91, static_cast<std::uint64_t>(b), lane);
        const stats::Pair other = stats::NormalPair(91, static_cast<std::uint64_t>(b), lane + 1);
        ScrewPlane plane;
        plane.offset = Vec2(one.first - other.first, one.second - other.second);
        plane.q = 30 * Vec2(std::cos(2 * kPi * i / pairs), std::sin(2 * kPi * i / pairs));
        plane.room = 3;
        plane.screw = i;
        problem.planes.push_back(plane);
      }
      good += ScrewsEnter(problem) ? 1 : 0;
    }
    EXPECT_NEAR(chance, std::pow(1 - std::exp(-9.0 / 4), pairs), 1e-9);
    EXPECT_NEAR(static_cast<double>(good) / kBuilds, chance, FiveErrors(chance)) << pairs;
  }
}

// A hole of 6.44 at its largest material, 0.44 off at that size: nothing stands inside 6.00 (ISO
// 2692, from memory). One made 6.60 may be off by 0.16 more, and pins of 6.00 on the true places
// just go in.
TEST(ClosedForms, AHoleMadeLargerMayStandFurtherOff) {
  const auto excess = [](double hole, double off_by) {
    ScrewProblem problem;
    for (const double side : {-1.0, 1.0}) {  // two, off apart: no move of the plate helps
      ScrewPlane pin;
      pin.q = Vec2(30 * side, 0);
      pin.offset = Vec2(0.5 * off_by * side, 0);
      pin.room = 0.5 * (hole - 6.00);
      pin.screw = static_cast<int>(problem.planes.size());
      problem.planes.push_back(pin);
    }
    return SolveScrews(problem).excess;
  };
  for (const auto& [hole, zone] : {std::pair(6.44, 0.44), std::pair(6.60, 0.60)}) {
    EXPECT_NEAR(excess(hole, zone), 0, 1e-9);
    EXPECT_GT(excess(hole, zone + 2e-6), 5e-7);
  }
}

double Reckon(const std::string& text) {
  const auto expression = Expression::Parse(text);
  EXPECT_TRUE(expression) << text;
  const auto value = expression ? expression->Evaluate({}) : Result<double>(std::nan(""));
  EXPECT_TRUE(value) << text;
  return value ? *value : std::nan("");
}

// Pressed together: the hub's hoop stress at its bore, what slides it off and what turns it,
// friction 0.12 over 15 mm (Lame's cylinders as in Shigley's Mechanical Engineering Design, from
// memory; values computed elsewhere). What the odds of a press fit are a formula of.
TEST(ClosedForms, PressFitHolds) {
  EXPECT_NEAR(Reckon("51.1875 * (80 ^ 2 + 50 ^ 2) / (80 ^ 2 - 50 ^ 2)"), 116.8125, 1e-9);
  EXPECT_NEAR(Reckon("0.12 * 60.84840056 * pi * 12 * 15"), 4129.0752, 1e-4);
  EXPECT_NEAR(Reckon("0.12 * 60.84840056 * pi * 12 * 15 * 12 / 2 / 1000"), 24.774451, 1e-6);
}

}  // namespace
}  // namespace fitwright::variation
