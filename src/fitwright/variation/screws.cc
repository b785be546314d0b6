#include "fitwright/variation/screws.h"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "fitwright/variation/screws_quick.h"

namespace fitwright::variation {
namespace {

// Barrier method (Nesterov and Nemirovski's bound, from memory: gap <= parameter / weight, 2 for
// each second-order cone).
constexpr double kGap_mm = 5e-10;
constexpr double kFirstWeight = 20;
constexpr double kWeightStep = 30;
constexpr int kNewtonSteps = 60;
// A spigot with less room than this pins the part; its slack is below every reading.
constexpr double kPinned_mm = 1e-7;
// Two spigots on one spot that miss each other by less than this agree.
constexpr double kBeside_mm = 1e-9;

using Vec4 = Eigen::Vector4d;
using Mat4 = Eigen::Matrix4d;
using Mat2x4 = Eigen::Matrix<double, 2, 4>;

// v = a + B y + arm * delta, and s = room + z (screws) or room (hard). y has three entries, of
// which a pinned or turn-free problem leaves some out (their columns are 0).
struct Cone {
  Vec2 a = Vec2::Zero();
  Eigen::Matrix<double, 2, 3> B = Eigen::Matrix<double, 2, 3>::Zero();
  double room = 0;
  double arm = 0;
  bool hard = false;
};

struct Bundle {  // one screw, or one spigot
  std::size_t from = 0;
  std::size_t to = 0;
  bool rocks = false;
};

// The spigot that pins the part, if there is one.
const ScrewPlane* PinOf(const ScrewProblem& problem) {
  const ScrewPlane* pin = nullptr;
  for (const ScrewPlane& p : problem.planes) {
    if (p.screw < 0 && p.room < kPinned_mm) pin = &p;
  }
  return pin;
}

// Whether the other spigot stands as it stands, the part once pinned.
bool StandsStill(const ScrewProblem& problem, const ScrewPlane& pin, const ScrewPlane& other) {
  return !problem.may_turn || (other.q - pin.q).squaredNorm() < 1e-18;
}

// The problem in the solver's variables: y = (t, theta * lever) or what a pin leaves of it.
class Cones {
 public:
  Cones(const ScrewProblem& problem, const PlanarMove* fixed);
  std::vector<Cone> cones;
  std::vector<Bundle> bundles;
  std::array<bool, 3> used = {true, true, true};
  double rock = 0;
  double lever = 1;
  bool pinned = false;
  Vec2 pin_a = Vec2::Zero();
  Vec2 pin_q = Vec2::Zero();
  PlanarMove MoveOf(const Eigen::Vector3d& y) const {
    PlanarMove move;
    move[2] = y[2] / lever;
    move.head<2>() =
        pinned ? Vec2(-pin_a - move[2] * Vec2(-pin_q.y(), pin_q.x())) : Vec2(y.head<2>());
    return move;
  }
  Eigen::Vector3d Start(const PlanarMove& move) const {
    Eigen::Vector3d y(move[0], move[1], move[2] * lever);
    for (int i = 0; i < 3; ++i) {
      if (!used[static_cast<std::size_t>(i)]) y[i] = 0;
    }
    return y;
  }

 private:
  int last_screw_ = -1;
};

Cones::Cones(const ScrewProblem& problem, const PlanarMove* fixed) : rock(problem.rock_limit) {
  for (const ScrewPlane& p : problem.planes) lever = std::max(lever, p.q.norm());
  const ScrewPlane* pin = fixed == nullptr ? PinOf(problem) : nullptr;
  if (pin != nullptr) {
    pinned = true;
    pin_a = pin->offset;
    pin_q = pin->q;
    used = {false, false, problem.may_turn};
  } else if (fixed != nullptr) {
    used = {false, false, false};
  } else {
    used = {true, true, problem.may_turn};
  }
  for (const ScrewPlane& p : problem.planes) {
    if (p.screw < 0 && fixed != nullptr) continue;
    if (p.screw < 0 && pin != nullptr && (&p == pin || StandsStill(problem, *pin, p))) continue;
    Cone cone;
    cone.a = p.offset;
    const Vec2 turned(-p.q.y(), p.q.x());
    if (fixed != nullptr) cone.a += fixed->head<2>() + (*fixed)[2] * turned;
    if (pin != nullptr) cone.a -= pin_a;
    if (used[0]) cone.B.leftCols<2>() = Eigen::Matrix2d::Identity();
    if (used[2])
      cone.B.col(2) =
          (pin != nullptr ? Vec2(turned - Vec2(-pin_q.y(), pin_q.x())) : turned) / lever;
    cone.room = p.screw < 0 ? std::max(p.room, 0.0) : p.room;
    cone.arm = p.screw < 0 || rock <= 0 ? 0 : p.arm;
    cone.hard = p.screw < 0;
    const bool same = !bundles.empty() && p.screw >= 0 && !cones.empty() && last_screw_ == p.screw;
    if (same) {
      ++bundles.back().to;
    } else {
      bundles.push_back({cones.size(), cones.size() + 1, false});
    }
    bundles.back().rocks |= cone.arm > 0;
    last_screw_ = p.screw;
    cones.push_back(cone);
  }
}

struct Point {
  Eigen::Vector3d y = Eigen::Vector3d::Zero();
  double z = 0;
  std::vector<Vec2> delta;  // per bundle
};

Vec2 ValueAt(const Cone& cone, const Point& x, std::size_t bundle) {
  return cone.a + cone.B * x.y + cone.arm * x.delta[bundle];
}

double SlackOf(const Cone& cone, const Point& x) { return cone.room + (cone.hard ? 0 : x.z); }

// Greatest |v| - room over the screws, with the point's own rocking.
double ExcessOf(const Cones& c, const Point& x) {
  double worst = -std::numeric_limits<double>::infinity();
  for (std::size_t b = 0; b < c.bundles.size(); ++b) {
    for (std::size_t i = c.bundles[b].from; i < c.bundles[b].to; ++i) {
      if (!c.cones[i].hard)
        worst = std::max(worst, ValueAt(c.cones[i], x, b).norm() - c.cones[i].room);
    }
  }
  return worst;
}

// weight * z + sum of barriers; +inf outside.
double Barrier(const Cones& c, const Point& x, double weight) {
  double sum = weight * x.z;
  for (std::size_t b = 0; b < c.bundles.size(); ++b) {
    for (std::size_t i = c.bundles[b].from; i < c.bundles[b].to; ++i) {
      const double s = SlackOf(c.cones[i], x);
      const double D = s * s - ValueAt(c.cones[i], x, b).squaredNorm();
      if (s <= 0 || D <= 0) return std::numeric_limits<double>::infinity();
      sum -= std::log(D);
    }
    if (c.bundles[b].rocks) {
      const double D = c.rock * c.rock - x.delta[b].squaredNorm();
      if (D <= 0) return std::numeric_limits<double>::infinity();
      sum -= std::log(D);
    }
  }
  return sum;
}

// Local system of one bundle in (y, z) and its rocking delta, delta already eliminated on request.
struct Local {
  Mat4 H = Mat4::Zero();
  Vec4 g = Vec4::Zero();
  Eigen::Matrix2d Hd = Eigen::Matrix2d::Zero();
  Vec2 gd = Vec2::Zero();
  Eigen::Matrix<double, 2, 4> Hdy = Mat2x4::Zero();
};

void AddCone(const Cone& cone, const Vec2& v, double s, Local& local) {
  const double D = s * s - v.squaredNorm();
  const double h = s / D;
  const Vec2 gv = 2 * v / D;
  Eigen::Matrix2d Hvv = 4 / (D * D) * v * v.transpose();
  Hvv.diagonal().array() += 2 / D;
  Mat2x4 J = Mat2x4::Zero();
  J.leftCols<3>() = cone.B;
  local.g += J.transpose() * gv;
  local.H += J.transpose() * Hvv * J;
  local.gd += cone.arm * gv;
  local.Hd += cone.arm * cone.arm * Hvv;
  local.Hdy += cone.arm * Hvv * J;
  if (cone.hard) return;
  const Vec2 Hvs = -4 * h * v / D;
  local.g[3] -= 2 * h;
  local.H(3, 3) += 4 * h * h - 2 / D;
  const Vec4 cross = J.transpose() * Hvs;
  local.H.col(3) += cross;
  local.H.row(3) += cross.transpose();
  local.Hdy.col(3) += cone.arm * Hvs;
}

Local LocalOf(const Cones& c, std::size_t b, const Point& x) {
  Local local;
  for (std::size_t i = c.bundles[b].from; i < c.bundles[b].to; ++i) {
    AddCone(c.cones[i], ValueAt(c.cones[i], x, b), SlackOf(c.cones[i], x), local);
  }
  if (!c.bundles[b].rocks) return local;
  const Vec2& d = x.delta[b];
  const double D = c.rock * c.rock - d.squaredNorm();
  local.gd += 2 * d / D;
  local.Hd += 4 / (D * D) * d * d.transpose();
  local.Hd.diagonal().array() += 2 / D;
  return local;
}

// One Newton direction; returns the squared decrement.
double NewtonStep(const Cones& c, const Point& x, double weight, Vec4& step,
                  std::vector<Vec2>& delta_step) {
  Mat4 H = Mat4::Zero();
  Vec4 g = Vec4::Zero();
  g[3] = weight;
  std::vector<Local> locals;
  locals.reserve(c.bundles.size());
  for (std::size_t b = 0; b < c.bundles.size(); ++b) {
    locals.push_back(LocalOf(c, b, x));
    const Local& l = locals.back();
    H += l.H;
    g += l.g;
    if (!c.bundles[b].rocks) continue;
    const Eigen::Matrix2d inverse = l.Hd.inverse();
    H -= l.Hdy.transpose() * inverse * l.Hdy;
    g -= l.Hdy.transpose() * (inverse * l.gd);
  }
  for (int i = 0; i < 3; ++i) {
    if (!c.used[static_cast<std::size_t>(i)]) {
      H.row(i).setZero();
      H.col(i).setZero();
      H(i, i) = 1;
      g[i] = 0;
    }
  }
  step = -H.ldlt().solve(g);
  double decrement = -step.dot(g);
  delta_step.assign(c.bundles.size(), Vec2::Zero());
  for (std::size_t b = 0; b < c.bundles.size(); ++b) {
    if (!c.bundles[b].rocks) continue;
    const Local& l = locals[b];
    delta_step[b] = -l.Hd.inverse() * (l.gd + l.Hdy * step);
    decrement += l.gd.dot(l.Hd.inverse() * l.gd);
  }
  return decrement;
}

// Centres for one weight. False when no progress is possible any more (rounding).
bool Centre(const Cones& c, Point& x, double weight) {
  Vec4 step;
  std::vector<Vec2> delta_step;
  double value = Barrier(c, x, weight);
  for (int k = 0; k < kNewtonSteps; ++k) {
    const double decrement = NewtonStep(c, x, weight, step, delta_step);
    if (!(decrement > 1e-6)) return true;
    double length = 1;
    bool moved = false;
    for (int half = 0; half < 50; ++half, length *= 0.5) {
      Point next = x;
      next.y += length * step.head<3>();
      next.z += length * step[3];
      for (std::size_t b = 0; b < next.delta.size(); ++b) next.delta[b] += length * delta_step[b];
      const double next_value = Barrier(c, next, weight);
      if (next_value <= value - 0.1 * length * decrement) {
        x = std::move(next);
        value = next_value;
        moved = true;
        break;
      }
    }
    if (!moved) return false;
  }
  return true;
}

enum class Stop { kAtGap, kAtSign };

double ParameterOf(const Cones& c) {
  double parameter = 0;
  for (const Bundle& b : c.bundles)
    parameter += 2.0 * static_cast<double>(b.to - b.from) + (b.rocks ? 2 : 0);
  return parameter;
}

struct Run {
  double excess = 0;
  double bound = 0;  // the least excess is not below this
  Point best;
};

Run Solve(const Cones& c, const Eigen::Vector3d& start, Stop stop) {
  Point x;
  x.y = start;
  x.delta.assign(c.bundles.size(), Vec2::Zero());
  x.z = ExcessOf(c, x);
  for (const Cone& cone : c.cones) {
    if (!cone.hard) x.z = std::max(x.z, -cone.room);
  }
  x.z += 0.05;
  const double parameter = ParameterOf(c);
  Run run;
  run.excess = ExcessOf(c, x);
  run.bound = -std::numeric_limits<double>::infinity();
  run.best = x;
  for (double weight = kFirstWeight;; weight *= kWeightStep) {
    const bool centred = Centre(c, x, weight);
    const double excess = ExcessOf(c, x);
    if (excess < run.excess) {
      run.excess = excess;
      run.best = x;
    }
    // The bound holds at the centre; off it by less than twice.
    if (centred) run.bound = std::max(run.bound, x.z - 2 * parameter / weight);
    if (stop == Stop::kAtSign && (run.excess <= 0 || run.bound > 0)) return run;
    if (parameter / weight < kGap_mm || !centred) return run;
  }
}

}  // namespace

double ExcessAt(const ScrewProblem& problem, const PlanarMove& move) {
  const Cones cones(problem, &move);
  if (cones.cones.empty()) return -std::numeric_limits<double>::infinity();
  if (problem.rock_limit <= 0) return QuickExcess(problem, move);
  // Each screw alone: the worst of them is what matters, and they do not share anything here.
  double worst = -std::numeric_limits<double>::infinity();
  for (const Bundle& bundle : cones.bundles) {
    Cones one = cones;
    one.cones.assign(cones.cones.begin() + static_cast<std::ptrdiff_t>(bundle.from),
                     cones.cones.begin() + static_cast<std::ptrdiff_t>(bundle.to));
    one.bundles = {{0, one.cones.size(), bundle.rocks}};
    worst = std::max(worst, Solve(one, Eigen::Vector3d::Zero(), Stop::kAtGap).excess);
  }
  return worst;
}

namespace {

// A turn about the pin that leaves room in the other spigots, if there is one.
bool InsideAboutPin(const ScrewProblem& problem, const ScrewPlane& pin, PlanarMove& move) {
  double low = -1;
  double high = 1;
  for (const ScrewPlane& p : problem.planes) {
    if (p.screw >= 0 || &p == &pin) continue;
    const Vec2 v = p.offset - pin.offset;
    const Vec2 apart = p.q - pin.q;
    const Vec2 turned(-apart.y(), apart.x());
    const double a = turned.squaredNorm();
    const double room = std::max(0.0, p.room);
    if (StandsStill(problem, pin, p)) {
      if (v.norm() > room + kBeside_mm) return false;
      continue;
    }
    const double b = v.dot(turned);
    const double D = b * b - a * (v.squaredNorm() - room * room);
    if (D <= 0) return false;
    low = std::max(low, (-b - std::sqrt(D)) / a);
    high = std::min(high, (-b + std::sqrt(D)) / a);
  }
  const double inside = 0.01 * (high - low);
  if (!(inside > 1e-14)) return false;
  if (problem.may_turn) move[2] = std::clamp(move[2], low + inside, high - inside);
  move.head<2>() = -pin.offset - move[2] * Vec2(-pin.q.y(), pin.q.x());
  return true;
}

// A start strictly inside every spigot, if there is one.
bool InsideSpigots(const ScrewProblem& problem, PlanarMove& move) {
  if (const ScrewPlane* pin = PinOf(problem)) return InsideAboutPin(problem, *pin, move);
  std::vector<const ScrewPlane*> spigots;
  for (const ScrewPlane& p : problem.planes) {
    if (p.screw < 0 && p.room >= kPinned_mm) spigots.push_back(&p);
  }
  if (spigots.empty() || SpigotRoomAt(problem, move) > 1e-12) return true;
  if (spigots.size() == 1) {
    // A little towards the middle from the rim.
    const ScrewPlane& p = *spigots.front();
    const Vec2 v = At(p, move);
    const double keep = std::min(1.0, 0.95 * p.room / std::max(v.norm(), 1e-12));
    move.head<2>() += v * (keep - 1);
    return true;
  }
  ScrewProblem first = problem;
  std::erase_if(first.planes, [](const ScrewPlane& p) { return p.screw >= 0; });
  for (std::size_t i = 0; i < first.planes.size(); ++i) {
    first.planes[i].screw = static_cast<int>(i);
    first.planes[i].room = std::max(first.planes[i].room, kPinned_mm);
    first.planes[i].arm = 0;
  }
  const ScrewSolution inside = SolveScrews(first);
  move = inside.move;
  return inside.excess < -1e-12;
}

}  // namespace

ScrewSolution SolveScrews(const ScrewProblem& problem) {
  PlanarMove start = LeastSquares(problem);
  ScrewSolution solution;
  solution.move = start;
  const Cones cones(problem, nullptr);
  if (cones.cones.empty()) {
    solution.excess = -std::numeric_limits<double>::infinity();
    return solution;
  }
  if (!InsideSpigots(problem, start)) {
    solution.excess =
        std::max(0.0, -SpigotRoomAt(problem, start)) + std::max(0.0, ExcessAt(problem, start));
    return solution;
  }
  const Run run = Solve(cones, cones.Start(start), Stop::kAtGap);
  solution.excess = run.excess;
  solution.move = cones.MoveOf(run.best.y);
  return solution;
}

bool ScrewsEnter(const ScrewProblem& problem) {
  PlanarMove start;
  const Settled settled = SettleQuickly(problem, &start);
  if (settled != Settled::kOpen) return settled == Settled::kEnters;
  const Cones cones(problem, nullptr);
  if (cones.cones.empty()) return true;
  if (!InsideSpigots(problem, start)) return false;
  const Run run = Solve(cones, cones.Start(start), Stop::kAtSign);
  return run.excess <= 0;
}

}  // namespace fitwright::variation
