// Draws by their closed forms, maps by plain sums, and the same bits for any width and any threads.
#include "fitwright/stats/trials.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <functional>
#include <vector>

#include "fitwright/stats/intervals.h"
#include "fitwright/stats/normal.h"
#include "tests/stats/same_bits.h"

namespace fitwright::stats {
namespace {

constexpr std::int64_t kManyTrials = 1 << 17;

TrialRun RunOf(std::int64_t trials, std::int64_t first = 0) {
  TrialRun run;
  run.seed = 11;
  run.first = first;
  run.trials = trials;
  return run;
}

TrialProgram OneDraw(TrialDraw draw, std::uint32_t columns = 1) {
  TrialProgram program;
  draw.key = 5;
  draw.length_key = 6;
  program.draws = {draw};
  program.columns = columns;
  return program;
}

std::vector<double> Drawn(const TrialDraw& draw) {
  return ColumnsOfTrials(OneDraw(draw), RunOf(kManyTrials));
}

using Cdf = std::function<double(double)>;

// Kolmogorov's distance times sqrt(n); its 0.01 % point is 2.23.
double Distance(std::vector<double> values, const Cdf& cdf) {
  std::sort(values.begin(), values.end());
  const auto n = static_cast<double>(values.size());
  double distance = 0;
  for (std::size_t i = 0; i < values.size(); ++i) {
    const double p = cdf(values[i]);
    const auto k = static_cast<double>(i);
    distance = std::max({distance, std::fabs(p - k / n), std::fabs(p - (k + 1) / n)});
  }
  return distance * std::sqrt(n);
}

constexpr double kPoint = 2.23;

TEST(TrialDraws, FollowTheirDistributions) {
  EXPECT_LT(Distance(Drawn({.law = DrawLaw::kNormal}), NormalCdf), kPoint);
  EXPECT_LT(
      Distance(Drawn({.law = DrawLaw::kHalfNormal}), [](double x) { return 2 * NormalCdf(x) - 1; }),
      kPoint);
  EXPECT_LT(Distance(Drawn({.law = DrawLaw::kUniform}), [](double x) { return (x + 1) / 2; }),
            kPoint);
  EXPECT_LT(Distance(Drawn({.law = DrawLaw::kFromZero}), [](double x) { return x; }), kPoint);
  const TrialDraw log{
      .law = DrawLaw::kLognormal, .a = 0.3, .b = std::sqrt(0.6), .c = std::sqrt(0.4)};
  EXPECT_LT(Distance(Drawn(log), [](double x) { return NormalCdf(std::log(x) / 0.3); }), kPoint);
}

TEST(TrialDraws, MomentsOfNormals) {
  const std::vector<double> x = Drawn({.law = DrawLaw::kNormal});
  const auto n = static_cast<double>(kManyTrials);
  double m[5] = {};
  for (const double v : x) {
    for (int k = 1; k <= 4; ++k) m[k] += std::pow(v, k) / n;
  }
  // Five sigma of each moment's own scatter: variances of x, x^2, x^3, x^4 are 1, 2, 15, 96.
  EXPECT_NEAR(m[1], 0, 5 / std::sqrt(n));
  EXPECT_NEAR(m[2], 1, 5 * std::sqrt(2 / n));
  EXPECT_NEAR(m[3], 0, 5 * std::sqrt(15 / n));
  EXPECT_NEAR(m[4], 3, 5 * std::sqrt(96 / n));
}

TEST(TrialDraws, VectorsHaveTheirLengthAndDirection) {
  for (const DrawLaw law : {DrawLaw::kRound, DrawLaw::kFolded}) {
    const std::vector<double> xy = ColumnsOfTrials(OneDraw({.law = law}, 2), RunOf(kManyTrials));
    std::vector<double> lengths;
    std::vector<double> turns;
    for (std::size_t i = 0; i < static_cast<std::size_t>(kManyTrials); ++i) {
      const double x = xy[i];
      const double y = xy[static_cast<std::size_t>(kManyTrials) + i];
      lengths.push_back(std::hypot(x, y));
      turns.push_back(std::atan2(y, x) / (2 * std::acos(-1.0)) + 0.5);
    }
    const Cdf rayleigh = [](double r) { return 1 - std::exp(-r * r / 2); };
    const Cdf folded = [](double r) { return 2 * NormalCdf(r) - 1; };
    EXPECT_LT(Distance(lengths, law == DrawLaw::kRound ? rayleigh : folded), kPoint);
    EXPECT_LT(Distance(turns, [](double u) { return u; }), kPoint);
  }
}

TEST(TrialDraws, CommonLengthsAreCommon) {
  TrialProgram program = OneDraw({.law = DrawLaw::kRound}, 4);
  program.draws.push_back({.law = DrawLaw::kRound, .key = 77, .length_key = 6, .column = 2});
  const std::vector<double> v = ColumnsOfTrials(program, RunOf(640));
  double scalar = 0;
  for (std::size_t i = 0; i < 640; ++i) {
    EXPECT_NEAR(std::hypot(v[i], v[640 + i]), std::hypot(v[1280 + i], v[1920 + i]), 1e-14);
    scalar += v[i] * v[1280 + i] + v[640 + i] * v[1920 + i];
  }
  EXPECT_LT(std::fabs(scalar) / 640, 0.5);  // directions of their own: 2 / sqrt(2 * 640) sigma
}

TEST(TrialDraws, EventsHappenAsOftenAsTheyShould) {
  const std::vector<double> x = Drawn({.law = DrawLaw::kEvent, .a = 0.03, .b = 0.02, .c = 0.10});
  std::vector<double> happened;
  for (const double v : x) {
    if (v != 0) happened.push_back(v);
  }
  const auto n = static_cast<double>(kManyTrials);
  EXPECT_NEAR(static_cast<double>(happened.size()) / n, 0.03, 5 * std::sqrt(0.03 * 0.97 / n));
  EXPECT_LT(Distance(happened, [](double v) { return (v - 0.02) / 0.08; }), kPoint);
}

TrialProgram WorkedProgram(const WorkedDraw& size) {
  TrialProgram program = OneDraw({.law = DrawLaw::kWorked});
  program.worked = {size};
  return program;
}

// Without a limit in reach the size has the spread of the cut and of the reading it was aimed from.
TEST(TrialDraws, WorkedSizesAreCutAndRead) {
  const std::vector<double> free = ColumnsOfTrials(
      WorkedProgram({.cut = 0.003, .reading = 0.004, .low = -1, .high = 1}), RunOf(kManyTrials));
  EXPECT_LT(Distance(free, [](double v) { return NormalCdf(v / 0.005); }), kPoint);
  // A perfect reading: the size is cut again until it is not above 0.
  for (const double sign : {1.0, -1.0}) {
    const WorkedDraw half{.cut = 0.005, .reading = 0, .low = 0, .high = 0, .safe_sign = sign};
    std::vector<double> cut = ColumnsOfTrials(WorkedProgram(half), RunOf(kManyTrials));
    // One in 2^9 is left above after the last cut.
    const Cdf cdf = [sign](double v) {
      const double p = NormalCdf(sign * v / 0.005);
      const double good =
          p <= 0.5 ? 2 * p * (1 - std::pow(0.5, 9)) : 1 - 2 * (1 - p) * std::pow(0.5, 9);
      return sign > 0 ? good : 1 - good;
    };
    EXPECT_LT(Distance(cut, cdf), kPoint) << sign;
  }
}

// Every law, rows over all of them, and each kind of condition.
TrialProgram Mixed() {
  TrialProgram p;
  const std::vector<TrialDraw> laws = {{.law = DrawLaw::kNormal},
                                       {.law = DrawLaw::kHalfNormal},
                                       {.law = DrawLaw::kUniform},
                                       {.law = DrawLaw::kFromZero},
                                       {.law = DrawLaw::kRound},
                                       {.law = DrawLaw::kFolded},
                                       {.law = DrawLaw::kLognormal, .a = 0.5, .b = 0.6, .c = 0.8},
                                       {.law = DrawLaw::kEvent, .a = 0.1, .b = 0.2, .c = 0.9},
                                       {.law = DrawLaw::kWorked}};
  p.worked = {{.cut = 0.5, .reading = 0.3, .low = -0.4, .high = 0.2, .safe_sign = 1}};
  for (TrialDraw draw : laws) {
    draw.key = 100 + p.columns;
    draw.length_key = 200 + p.columns;
    draw.column = p.columns;
    p.columns += draw.law == DrawLaw::kRound || draw.law == DrawLaw::kFolded ? 2 : 1;
    p.draws.push_back(draw);
  }
  for (std::uint32_t r = 0; r < 6; ++r) {
    TrialRow row{.constant = 0.1 * r,
                 .first_term = static_cast<std::uint32_t>(p.terms.size()),
                 .low = -0.7,
                 .high = 0.9};
    for (std::uint32_t c = r; c < p.columns; c += 1 + r / 2)
      p.terms.push_back({c, 0.3 + 0.11 * ((c * 7 + r * 3) % 5) - 0.2 * (c % 3)});
    row.terms = static_cast<std::uint32_t>(p.terms.size()) - row.first_term;
    if (r < 3) row.outcome = r / 2;
    row.kept = r >= 3;
    p.rows.push_back(row);
  }
  p.conditions = {
      {.x = 3, .y = 4, .factor = 1, .low = 0, .high = 0.8, .outcome = 2},
      {.row = 5, .x = 4, .y = 3, .factor = -0.5, .low = 0.4, .high = 1e300, .outcome = 1}};
  p.outcomes = 3;
  return p;
}

TEST(Trials, RowsAreSumsAndOutcomesTheirLimits) {
  const TrialProgram p = Mixed();
  const TrialRun run = RunOf(6400);
  const auto n = static_cast<std::size_t>(run.trials);
  const std::vector<double> x = ColumnsOfTrials(p, run);
  const std::vector<double> rows = RowsOfTrials(p, run);
  const std::vector<std::uint64_t> words = RunTrials(p, run);
  std::vector<int> seen(p.outcomes);
  for (std::size_t i = 0; i < n; ++i) {
    std::vector<bool> met(p.outcomes, true);
    for (std::size_t r = 0; r < p.rows.size(); ++r) {
      double sum = p.rows[r].constant;
      for (std::uint32_t t = 0; t < p.rows[r].terms; ++t) {
        const TrialTerm& term = p.terms[p.rows[r].first_term + t];
        sum += term.factor * x[term.column * n + i];
      }
      const double v = rows[r * n + i];
      EXPECT_NEAR(v, sum, 1e-13);
      if (p.rows[r].outcome && (v < p.rows[r].low || v > p.rows[r].high))
        met[*p.rows[r].outcome] = false;
    }
    const double length = std::hypot(rows[3 * n + i], rows[4 * n + i]);
    if (length > 0.8) met[2] = false;
    if (rows[5 * n + i] - 0.5 * length < 0.4) met[1] = false;
    for (std::size_t o = 0; o < met.size(); ++o) {
      EXPECT_EQ((words[o * (n / 64) + i / 64] >> (i % 64) & 1) != 0, met[o]) << o << " " << i;
      seen[o] += met[o];
    }
  }
  for (const int count : seen) {
    EXPECT_GT(count, 64);
    EXPECT_LT(count, 6336);
  }
}

TEST(Trials, AreTheSameForAnyWidthAndAnyThreads) {
  const TrialProgram p = Mixed();
  TrialRun run = RunOf(64 * 150);
  run.threads = 1;
  run.vectors = Vectors::kPortable;
  const std::vector<double> rows = RowsOfTrials(p, run);
  const std::vector<double> columns = ColumnsOfTrials(p, run);
  const std::vector<std::uint64_t> words = RunTrials(p, run);
  for (const Vectors vectors : VectorsHere()) {
    for (const int threads : {1, 3}) {
      run.vectors = vectors;
      run.threads = threads;
      EXPECT_TRUE(SameBits(RowsOfTrials(p, run), rows)) << static_cast<int>(vectors);
      EXPECT_TRUE(SameBits(ColumnsOfTrials(p, run), columns)) << static_cast<int>(vectors);
      EXPECT_EQ(RunTrials(p, run), words) << static_cast<int>(vectors);
    }
  }
  // A part of them, drawn alone.
  const std::vector<std::uint64_t> part = RunTrials(p, RunOf(640, 1280));
  for (std::size_t o = 0; o < p.outcomes; ++o) {
    for (std::size_t w = 0; w < 10; ++w) EXPECT_EQ(part[o * 10 + w], words[o * 150 + 20 + w]);
  }
}

TEST(Trials, StopWhenToldTo) {
  CancelFlag cancel;
  cancel.Cancel();
  TrialRun run = RunOf(640);
  run.cancel = &cancel;
  EXPECT_TRUE(RunTrials(Mixed(), run).empty());
}

}  // namespace
}  // namespace fitwright::stats
