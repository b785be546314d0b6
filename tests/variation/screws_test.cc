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
    while (i < problem.planes.size() && problem.planes[i].screw == screw)
      one.push_back(problem.planes[i++]);
    if (screw >= 0) worst = std::max(worst, ScrewAt(one, problem.rock_limit, move));
  }
  return worst;
}

bool SpigotsHold(const ScrewProblem& problem, const PlanarMove& move) {
  return SpigotRoomAt(problem, move) >= -1e-12;
}

// Least of a convex function on [low, high] by golden section.
template <typename F>
double GoldenLeast(double low, double high, F f) {
  constexpr double kGolden = 0.6180339887498949;
  double x1 = high - kGolden * (high - low);
  double x2 = low + kGolden * (high - low);
  double f1 = f(x1);
  double f2 = f(x2);
  for (int i = 0; i < 50; ++i) {
    if (f1 < f2) {
      high = x2;
      x2 = x1;
      f2 = f1;
      x1 = high - kGolden * (high - low);
      f1 = f(x1);
    } else {
      low = x1;
      x1 = x2;
      f1 = f2;
      x2 = low + kGolden * (high - low);
      f2 = f(x2);
    }
  }
  return std::min(f1, f2);
}

// Three golden sections inside each other; the spigot's disc is the range of the inner two.
double SlowLeastExcess(const ScrewProblem& problem) {
  Vec2 centre = Vec2::Zero();
  double radius = 1;
  for (const ScrewPlane& p : problem.planes) {
    if (p.screw < 0) {
      centre = -p.offset;
      radius = p.room;
    }
  }
  const auto at_turn = [&](double theta) {
    return GoldenLeast(-radius, radius, [&](double x) {
      const double half = std::sqrt(std::max(0.0, radius * radius - x * x));
      return GoldenLeast(-half, half, [&](double y) {
        return SlowExcessAt(problem, PlanarMove(centre.x() + x, centre.y() + y, theta));
      });
    });
  };
  return problem.may_turn ? GoldenLeast(-0.1, 0.1, at_turn) : at_turn(0);
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

// 50 golden sections over a range of 2 mm leave 1e-10 of it, times the depth of nesting.
constexpr double kSearchError_mm = 1e-8;

TEST(Screws, ExactAgainstSlowSearch) {
  for (std::uint64_t seed = 1; seed <= 24; ++seed) {
    const int screws = 1 + static_cast<int>(seed % 6);
    const double spigot = seed % 3 == 0 ? 0.015 : seed % 3 == 1 ? -1 : 0.2;
    ScrewProblem problem = RandomProblem(seed, screws, 1 + static_cast<int>(seed % 2), 0, spigot);
    problem.may_turn = seed % 5 != 0;
    const ScrewSolution solution = SolveScrews(problem);
    EXPECT_NEAR(solution.excess, SlowLeastExcess(problem), kSearchError_mm) << seed;
    EXPECT_TRUE(SpigotsHold(problem, solution.move)) << seed;
    EXPECT_NEAR(SlowExcessAt(problem, solution.move), solution.excess, 1e-9) << seed;
  }
}

// With rocking screws: the value is right at the move given, and since the problem is convex, that
// no move nearby is better makes it the least.
TEST(Screws, RockingIsLeast) {
  for (std::uint64_t seed = 30; seed <= 40; ++seed) {
    const ScrewProblem problem =
        RandomProblem(seed, 2 + static_cast<int>(seed % 4), 2, 0.005, seed % 2 == 0 ? 0.015 : -1);
    const ScrewSolution solution = SolveScrews(problem);
    EXPECT_NEAR(SlowExcessAt(problem, solution.move), solution.excess, 2e-5) << seed;
    EXPECT_NEAR(ExcessAt(problem, solution.move), solution.excess, 1e-8) << seed;
    for (std::uint64_t i = 0; i < 100; ++i) {
      const double size = 0.01 * std::pow(0.1, static_cast<double>(i % 3));
      const PlanarMove near = solution.move + size * PlanarMove(NormalAt(seed, 900 + 3 * i),
                                                                NormalAt(seed, 901 + 3 * i),
                                                                0.05 * NormalAt(seed, 902 + 3 * i));
      EXPECT_TRUE(!SpigotsHold(problem, near) || ExcessAt(problem, near) >= solution.excess - 1e-8)
          << seed;
    }
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
    const ScrewProblem problem =
        RandomProblem(seed, 2 + static_cast<int>(seed % 5), 2, 0.003, seed % 2 == 0 ? 0.02 : -1);
    const ScrewSolution exact = SolveScrews(problem);
    const Settled settled = SettleQuickly(problem, nullptr);
    const double sign = settled == Settled::kEnters ? -1 : settled == Settled::kExcluded ? 1 : 0;
    EXPECT_GE(sign * exact.excess, -1e-9) << seed;
    open += settled == Settled::kOpen ? 1 : 0;
    const bool plain = std::abs(exact.excess) > 1e-8;
    EXPECT_TRUE(!plain || ScrewsEnter(problem) == (exact.excess <= 0)) << seed;
  }
  EXPECT_LT(open, 500);
}

}  // namespace
}  // namespace fitwright::variation
