// The exact answer to "do all screws enter" against a slow search that knows nothing of barriers.
#include "fitwright/variation/screws.h"

#include <gtest/gtest.h>

#include <cmath>

#include "fitwright/stats/random.h"

namespace fitwright::variation {
namespace {

double NormalAt(std::uint64_t key, std::uint64_t i) { return stats::Normal(key, i); }

// Least over |rock| <= limit of the worst plane of one screw, by shrinking grids.
double ScrewAt(const std::vector<ScrewPlane>& planes, double limit, const PlanarMove& move) {
  const auto at = [&](const Vec2& rock) {
    double worst = -1e9;
    for (const ScrewPlane& p : planes) {
      const Vec2 v = p.offset + move.head<2>() + move[2] * Vec2(-p.q.y(), p.q.x()) + p.arm * rock;
      worst = std::max(worst, v.norm() - p.room);
    }
    return worst;
  };
  double best = at(Vec2::Zero());
  if (limit <= 0) return best;
  Vec2 centre = Vec2::Zero();
  double span = limit;
  for (int level = 0; level < 30; ++level) {
    Vec2 next = centre;
    for (int i = -3; i <= 3; ++i) {
      for (int j = -3; j <= 3; ++j) {
        Vec2 rock = centre + span * Vec2(i, j) / 3;
        if (rock.norm() > limit) rock *= limit / rock.norm();
        const double value = at(rock);
        if (value < best) {
          best = value;
          next = rock;
        }
      }
    }
    centre = next;
    span *= 0.6;
  }
  return best;
}

double SlowExcessAt(const ScrewProblem& problem, const PlanarMove& move) {
  double worst = -1e9;
  for (std::size_t i = 0; i < problem.planes.size();) {
    std::vector<ScrewPlane> one;
    const int screw = problem.planes[i].screw;
    while (i < problem.planes.size() && problem.planes[i].screw == screw) one.push_back(problem.planes[i++]);
    if (screw >= 0) worst = std::max(worst, ScrewAt(one, problem.rock_limit, move));
  }
  return worst;
}

bool SpigotsHold(const ScrewProblem& problem, const PlanarMove& move) { return SpigotRoomAt(problem, move) >= -1e-12; }

// Pattern search on (t, theta): exact for convex functions up to the last step, but slow.
double SlowLeastExcess(const ScrewProblem& problem) {
  PlanarMove best = PlanarMove::Zero();
  for (const ScrewPlane& p : problem.planes) {
    if (p.screw < 0) best.head<2>() = -p.offset;
  }
  double value = SlowExcessAt(problem, best);
  double span = 0.5;
  while (span > 2e-10) {
    bool improved = false;
    for (int k = 0; k < 26 * 2; ++k) {
      // 26 directions of the lattice, and as many in between.
      const int code = k % 26 < 13 ? k % 26 : k % 26 + 1;
      PlanarMove d(code % 3 - 1, code / 3 % 3 - 1, (code / 9 - 1) * 0.05);
      if (k >= 26) d = Eigen::AngleAxisd(0.7, Eigen::Vector3d(0.3, 0.5, 0.81).normalized()) * PlanarMove(d[0], d[1], d[2] * 20);
      if (k >= 26) d[2] *= 0.05;
      if (!problem.may_turn) d[2] = 0;
      const PlanarMove next = best + span * d;
      if (!SpigotsHold(problem, next)) continue;
      const double v = SlowExcessAt(problem, next);
      if (v < value - 1e-15) {
        value = v;
        best = next;
        improved = true;
      }
    }
    if (!improved) span *= 0.6;
  }
  return value;
}

ScrewProblem RandomProblem(std::uint64_t seed, int screws, int planes, double rock, double spigot) {
  ScrewProblem problem;
  problem.rock_limit = rock;
  std::uint64_t i = 0;
  if (spigot >= 0) {
    ScrewPlane p;
    p.offset = 0.02 * Vec2(NormalAt(seed, i), NormalAt(seed, i + 1));
    i += 2;
    p.room = spigot;
    problem.planes.push_back(p);
  }
  for (int s = 0; s < screws; ++s) {
    const double angle = 2 * kPi * s / screws;
    const Vec2 base = 0.1 * Vec2(NormalAt(seed, i), NormalAt(seed, i + 1));
    const Vec2 lean = 0.02 * Vec2(NormalAt(seed, i + 2), NormalAt(seed, i + 3));
    i += 4;
    for (int k = 0; k < planes; ++k) {
      ScrewPlane p;
      p.offset = base + k * 10 * lean;
      p.q = 23.5 * Vec2(std::cos(angle), std::sin(angle));
      p.room = 0.12 + 0.02 * NormalAt(seed, i++);
      p.arm = 3 + 10 * k;
      p.screw = s;
      problem.planes.push_back(p);
    }
  }
  return problem;
}

// A pattern search ends where no direction of its star improves: at a kink that may be short of the
// least by a little more than its last step.
constexpr double kSearchError_mm = 2e-5;

TEST(Screws, ExactAgainstSlowSearch) {
  for (std::uint64_t seed = 1; seed <= 24; ++seed) {
    const int screws = 1 + static_cast<int>(seed % 6);
    const double spigot = seed % 3 == 0 ? 0.015 : seed % 3 == 1 ? -1 : 0.2;
    const ScrewProblem problem = RandomProblem(seed, screws, 1 + static_cast<int>(seed % 2), seed % 4 < 2 ? 0 : 0.005, spigot);
    const ScrewSolution solution = SolveScrews(problem);
    const double slow = SlowLeastExcess(problem);
    EXPECT_LE(solution.excess, slow + 1e-9) << seed;
    EXPECT_GE(solution.excess, slow - kSearchError_mm) << seed;
    EXPECT_TRUE(SpigotsHold(problem, solution.move)) << seed;
    EXPECT_NEAR(SlowExcessAt(problem, solution.move), solution.excess, 1e-6) << seed;
    EXPECT_NEAR(ExcessAt(problem, solution.move), solution.excess, 1e-6) << seed;
  }
}

// One screw and a free part: it always enters by its own clearance exactly.
TEST(Screws, OneScrewByHand) {
  ScrewProblem problem;
  ScrewPlane p;
  p.offset = Vec2(0.3, -0.4);
  p.room = 0.1;
  p.screw = 0;
  problem.planes = {p};
  EXPECT_NEAR(SolveScrews(problem).excess, -0.1, 1e-9);
}

// Two screws pulled apart along their line by 2e: excess e - room each, turn or no turn.
TEST(Screws, TwoScrewsByHand) {
  ScrewProblem problem;
  for (int s = 0; s < 2; ++s) {
    ScrewPlane p;
    p.q = Vec2(s == 0 ? -20 : 20, 0);
    p.offset = Vec2(s == 0 ? -0.25 : 0.25, 0);
    p.room = 0.1;
    p.screw = s;
    problem.planes.push_back(p);
  }
  EXPECT_NEAR(SolveScrews(problem).excess, 0.15, 1e-9);
  EXPECT_EQ(SettleQuickly(problem, nullptr), Settled::kExcluded);
  // Offset across the line is taken up by turning.
  problem.planes[0].offset = Vec2(0, -0.25);
  problem.planes[1].offset = Vec2(0, 0.25);
  EXPECT_NEAR(SolveScrews(problem).excess, -0.1, 1e-9);
  problem.may_turn = false;
  EXPECT_NEAR(SolveScrews(problem).excess, 0.15, 1e-9);
}

// A spigot without room pins the part: what is left is turning.
TEST(Screws, PinnedSpigot) {
  ScrewProblem problem;
  ScrewPlane pin;
  pin.offset = Vec2(0.01, 0);
  pin.room = -0.005;
  problem.planes.push_back(pin);
  ScrewPlane p;
  p.q = Vec2(20, 0);
  p.offset = Vec2(0.16, 0.3);
  p.room = 0.1;
  p.screw = 0;
  problem.planes.push_back(p);
  EXPECT_NEAR(SolveScrews(problem).excess, 0.05, 1e-9);
}

// Quick tests never contradict the exact answer.
TEST(Screws, QuickTestsAgree) {
  int open = 0;
  for (std::uint64_t seed = 100; seed < 700; ++seed) {
    const ScrewProblem problem = RandomProblem(seed, 2 + static_cast<int>(seed % 5), 2, 0.003, seed % 2 == 0 ? 0.02 : -1);
    const ScrewSolution exact = SolveScrews(problem);
    const Settled settled = SettleQuickly(problem, nullptr);
    if (settled == Settled::kEnters) EXPECT_LE(exact.excess, 1e-9) << seed;
    if (settled == Settled::kExcluded) EXPECT_GT(exact.excess, -1e-9) << seed;
    if (settled == Settled::kOpen) ++open;
    if (std::abs(exact.excess) > 1e-8) EXPECT_EQ(ScrewsEnter(problem), exact.excess <= 0) << seed;
  }
  EXPECT_LT(open, 500);
}

}  // namespace
}  // namespace fitwright::variation
