#include "fitwright/variation/play_rest.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "fitwright/stats/random.h"

namespace fitwright::variation {
namespace {

constexpr int kChords = 16;
constexpr double kInside = 1e-12;

Vec2 Turned(const Vec2& q) { return {-q.y(), q.x()}; }

Vec2 At(const ScrewPlane& p, const PlanarMove& m) {
  return p.offset + m.head<2>() + m[2] * Turned(p.q);
}

double RoomOf(const ScrewPlane& p) { return p.screw < 0 ? std::max(p.room, 0.0) : p.room; }

bool LetsIn(const ScrewProblem& limits, const PlanarMove& m) {
  return std::all_of(limits.planes.begin(), limits.planes.end(), [&](const ScrewPlane& p) {
    const double room = RoomOf(p);
    return room >= 0 && At(p, m).squaredNorm() <= room * room + kInside;
  });
}

const ScrewPlane& Tightest(const ScrewProblem& limits) {
  return *std::min_element(
      limits.planes.begin(), limits.planes.end(),
      [](const ScrewPlane& a, const ScrewPlane& b) { return RoomOf(a) < RoomOf(b); });
}

// Whether two limits stand apart, so that they leave the part some turn and no more.
bool AnyApart(const ScrewProblem& limits) {
  for (const ScrewPlane& a : limits.planes) {
    for (const ScrewPlane& b : limits.planes) {
      if ((a.q - b.q).norm() >= 1) return true;
    }
  }
  return false;
}

// The longest part of the line m + s * d that the limits let in; m must be let in.
std::pair<double, double> ChordOf(const ScrewProblem& limits, const PlanarMove& m,
                                  const PlanarMove& d) {
  double low = -1e9;
  double high = 1e9;
  for (const ScrewPlane& p : limits.planes) {
    const Vec2 v = At(p, m);
    const Vec2 u = d.head<2>() + d[2] * Turned(p.q);
    const double a = u.squaredNorm();
    if (a < 1e-30) continue;
    const double b = v.dot(u);
    const double room = RoomOf(p);
    const double root = std::sqrt(std::max(0.0, b * b - a * (v.squaredNorm() - room * room)));
    low = std::max(low, (-b - root) / a);
    high = std::min(high, (-b + root) / a);
  }
  return {std::min(low, 0.0), std::max(high, 0.0)};
}

double LeverOf(const ScrewProblem& limits) {
  double lever = 1;
  for (const ScrewPlane& p : limits.planes) lever = std::max(lever, p.q.norm());
  return lever;
}

PlanarMove Walk(const PlayCase& play, PlanarMove m, bool turns) {
  const double lever = LeverOf(play.limits);
  for (std::uint32_t k = 0; k < kChords; ++k) {
    const stats::Pair a = stats::NormalPair(play.stream, play.build, 100 + 2 * k);
    const stats::Pair b = stats::UniformPair(play.stream, play.build, 101 + 2 * k);
    PlanarMove d(a.first, a.second, turns ? (2 * b.first - 1) * 1.7 / lever : 0);
    const auto [low, high] = ChordOf(play.limits, m, d);
    if (!(high - low < 1e8)) continue;
    m += (low + b.second * (high - low)) * d;
  }
  return m;
}

PlanarMove ChanceIn(const PlayCase& play) {
  if (!LetsIn(play.limits, play.found)) return play.found;
  return Walk(play, play.found, play.has_theta && AnyApart(play.limits));
}

// The move of least excess: the middle of what is let in.
PlanarMove MiddleOf(const PlayCase& play) {
  ScrewProblem all = play.limits;
  all.may_turn = play.has_theta && AnyApart(play.limits);
  const bool screws = std::any_of(all.planes.begin(), all.planes.end(),
                                  [](const ScrewPlane& p) { return p.screw >= 0; });
  if (!screws) {
    PlanarMove m = PlanarMove::Zero();
    m.head<2>() = -Tightest(all).offset;
    return m;
  }
  return SolveScrews(all).move;
}

// From `inside` as far towards `wanted` as the limits let it.
PlanarMove Clipped(const PlayCase& play, const PlanarMove& wanted) {
  if (play.limits.planes.empty() || LetsIn(play.limits, wanted)) return wanted;
  const PlanarMove inside = MiddleOf(play);
  if (!LetsIn(play.limits, inside)) return inside;
  const PlanarMove d = wanted - inside;
  return inside + std::min(1.0, ChordOf(play.limits, inside, d).second) * d;
}

PlanarMove BestForTargets(const PlayCase& play) {
  Eigen::Matrix3d N = Eigen::Matrix3d::Zero();
  PlanarMove g = PlanarMove::Zero();
  for (std::size_t i = 0; i < play.target_values.size(); ++i) {
    const PlanarMove f(play.target_factors[i][0], play.target_factors[i][1],
                       play.target_factors[i][2]);
    const double w = 1 / (play.target_tolerances[i] * play.target_tolerances[i]);
    N += w * f * f.transpose();
    g += w * play.target_values[i] * f;
  }
  if (play.target_values.empty()) return PlanarMove::Zero();
  // What no target reads stays put.
  Eigen::Matrix3d scale = Eigen::Matrix3d::Identity();
  scale(2, 2) = 1 / LeverOf(play.limits);
  const Eigen::CompleteOrthogonalDecomposition<Eigen::Matrix3d> solver(scale * N * scale);
  return -scale * solver.solve(scale * g);
}

PlanarMove PushedIn(const PlayCase& play) {
  PlanarMove m = MiddleOf(play);
  if (!LetsIn(play.limits, m)) return m;
  // A disc of its own: straight to the rim. Several: along the push, then along the walls.
  PlanarMove along = PlanarMove::Zero();
  along.head<2>() = play.push;
  m += ChordOf(play.limits, m, along).second * along;
  const double lever = LeverOf(play.limits);
  double step = 0.5;
  for (int round = 0; round < 40; ++round) {
    PlanarMove best = m;
    for (int k = 0; k < 6; ++k) {
      const double angle = (k - 2.5) * 0.5 * kPi / 3;
      for (const double turn : {-1.0, 0.0, 1.0}) {
        if (!play.has_theta && turn != 0) continue;
        PlanarMove d;
        d.head<2>() = Eigen::Rotation2Dd(angle) * play.push;
        d[2] = turn / lever;
        const PlanarMove next = m + step * ChordOf(play.limits, m, d).second * d;
        if (next.head<2>().dot(play.push) > best.head<2>().dot(play.push) + 1e-9) best = next;
      }
    }
    if ((best - m).norm() < 1e-9) break;
    m = best;
    step = step < 0.9 ? 0.9 : 0.5;
  }
  return m;
}

}  // namespace

PlanarMove RestOf(const PlayCase& play) {
  if (play.returns)
    return Clipped(play,
                   play.before + (play.random ? play.residual : PlanarMove(PlanarMove::Zero())));
  if (play.kind == FloatKind::kPushed && play.push.norm() > 0 && !play.limits.planes.empty())
    return PushedIn(play);
  if (play.kind == FloatKind::kAdjustedByEye || play.kind == FloatKind::kAdjustedByIndicator) {
    return Clipped(play, BestForTargets(play) + play.residual);
  }
  if (play.limits.planes.empty())
    return play.has_residual ? play.residual : PlanarMove(PlanarMove::Zero());
  return play.random ? ChanceIn(play) : MiddleOf(play);
}

}  // namespace fitwright::variation
