// Quick tests of whether screws enter: a good move by least squares or projection, or a
// contradiction.
#include "fitwright/variation/screws_quick.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace fitwright::variation {

Vec2 At(const ScrewPlane& p, const PlanarMove& move) {
  return p.offset + move.head<2>() + move[2] * Vec2(-p.q.y(), p.q.x());
}

PlanarMove LeastSquares(const ScrewProblem& problem) {
  Vec2 mean_o = Vec2::Zero();
  Vec2 mean_q = Vec2::Zero();
  double n = 0;
  for (const ScrewPlane& p : problem.planes) {
    if (p.screw < 0) continue;
    mean_o += p.offset;
    mean_q += p.q;
    n += 1;
  }
  PlanarMove move = PlanarMove::Zero();
  if (n == 0) return move;
  mean_o /= n;
  mean_q /= n;
  double top = 0;
  double bottom = 0;
  for (const ScrewPlane& p : problem.planes) {
    if (p.screw < 0) continue;
    const Vec2 q = p.q - mean_q;
    const Vec2 o = p.offset - mean_o;
    top += -q.x() * o.y() + q.y() * o.x();
    bottom += q.squaredNorm();
  }
  if (problem.may_turn && bottom > 1e-9) move[2] = top / bottom;
  move.head<2>() = -mean_o - move[2] * Vec2(-mean_q.y(), mean_q.x());
  for (const ScrewPlane& p : problem.planes) {
    if (p.screw >= 0) continue;
    const Vec2 v = p.offset + move.head<2>() + move[2] * Vec2(-p.q.y(), p.q.x());
    const double room = std::max(p.room, 0.0);
    if (v.norm() > room) move.head<2>() += v * (room / v.norm() - 1);
  }
  return move;
}

double QuickExcess(const ScrewProblem& problem, const PlanarMove& move) {
  double worst = -std::numeric_limits<double>::infinity();
  const auto& planes = problem.planes;
  for (std::size_t i = 0; i < planes.size();) {
    std::size_t j = i;
    double still = -std::numeric_limits<double>::infinity();
    double arms = 0;
    Vec2 pull = Vec2::Zero();
    while (j < planes.size() && planes[j].screw == planes[i].screw) {
      const Vec2 v = At(planes[j], move);
      if (planes[j].screw >= 0) still = std::max(still, v.norm() - planes[j].room);
      arms += planes[j].arm * planes[j].arm;
      pull += planes[j].arm * v;
      ++j;
    }
    if (planes[i].screw >= 0 && still > 0 && arms > 0 && problem.rock_limit > 0) {
      Vec2 delta = -pull / arms;
      if (delta.norm() > problem.rock_limit) delta *= problem.rock_limit / delta.norm();
      double rocked = -std::numeric_limits<double>::infinity();
      for (std::size_t k = i; k < j; ++k) {
        rocked =
            std::max(rocked, (At(planes[k], move) + planes[k].arm * delta).norm() - planes[k].room);
      }
      still = std::min(still, rocked);
    }
    worst = std::max(worst, still);
    i = j;
  }
  return worst;
}

namespace {

// Projections in turn onto every violated condition, in the scaled variables (t, theta * lever,
// rock * arm): finds a move that satisfies all soon after there is room for one.
bool FindByProjection(const ScrewProblem& problem, PlanarMove& move) {
  constexpr int kRounds = 30;
  constexpr double kOver = 1.3;
  constexpr int kMostScrews = 32;
  const auto& planes = problem.planes;
  double lever = 1;
  int screws = 0;
  for (const ScrewPlane& p : planes) {
    lever = std::max(lever, p.q.norm());
    screws = std::max(screws, p.screw + 1);
  }
  if (screws > kMostScrews) return false;
  std::array<Vec2, kMostScrews> rock;
  rock.fill(Vec2::Zero());
  for (int round = 0; round < kRounds; ++round) {
    bool all = true;
    for (const ScrewPlane& p : planes) {
      const auto k = static_cast<std::size_t>(std::max(0, p.screw));
      const double arm = p.screw < 0 ? 0 : p.arm;
      const double room = p.screw < 0 ? std::max(0.0, p.room) : p.room;
      const Vec2 v = At(p, move) + arm * rock[k];
      const double length = v.norm();
      const double over = length - room;
      if (over <= 0 || length < 1e-12) continue;
      all = false;
      const Vec2 unit = v / length;
      const double turn = problem.may_turn ? unit.dot(Vec2(-p.q.y(), p.q.x())) / lever : 0;
      const double tilt = problem.rock_limit > 0 && arm > 0 ? 1 : 0;
      const double step = kOver * (over + 1e-9) / (1 + turn * turn + tilt);
      move.head<2>() -= step * unit;
      move[2] -= step * turn / lever;
      if (tilt == 0) continue;
      rock[k] -= step / arm * unit;
      const double size = rock[k].norm();
      if (size > problem.rock_limit) rock[k] *= problem.rock_limit / size;
    }
    if (all) return true;
  }
  return false;
}

bool Exclude(const ScrewProblem& problem, const ScrewPlane& a, const ScrewPlane& b) {
  const auto room = [](const ScrewPlane& p) {
    return p.screw < 0 ? std::max(0.0, p.room) : p.room;
  };
  const double reach = room(a) + room(b) + (a.arm + b.arm) * problem.rock_limit;
  const Vec2 apart = a.q - b.q;
  const double distance = apart.norm();
  const Vec2 gap = a.offset - b.offset;
  if (!problem.may_turn || distance < 1e-9) return gap.norm() > reach;
  // Turning moves the two against each other only across the line that joins them.
  return std::abs(gap.dot(apart)) > reach * distance;
}

}  // namespace

double SpigotRoomAt(const ScrewProblem& problem, const PlanarMove& move) {
  double least = std::numeric_limits<double>::infinity();
  for (const ScrewPlane& p : problem.planes) {
    if (p.screw < 0) least = std::min(least, p.room - At(p, move).norm());
  }
  return least;
}

Settled SettleQuickly(const ScrewProblem& problem, PlanarMove* start) {
  const PlanarMove move = LeastSquares(problem);
  if (start != nullptr) *start = move;
  if (QuickExcess(problem, move) <= 0 && SpigotRoomAt(problem, move) >= -1e-12)
    return Settled::kEnters;
  PlanarMove projected = move;
  const auto& planes = problem.planes;
  for (std::size_t i = 0; i < planes.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      if (planes[i].screw < 0 && planes[j].screw < 0) continue;
      if (Exclude(problem, planes[i], planes[j])) return Settled::kExcluded;
    }
  }
  if (FindByProjection(problem, projected)) return Settled::kEnters;
  return Settled::kOpen;
}

}  // namespace fitwright::variation
