#include "fitwright/stats/patterns.h"

#include <bit>
#include <cmath>

#include "fitwright/base/check.h"

// What the kernels work on.
#ifndef FITWRIGHT_STATS_PATTERNS_CASE_
#define FITWRIGHT_STATS_PATTERNS_CASE_
namespace fitwright::stats {

inline constexpr std::size_t kPatternBlock = kTrialsAtOnce;
inline constexpr std::size_t kMostGroups = 16;
inline constexpr int kMostSteps = 24;
// Added to every curvature: what no condition bends stays where it is.
inline constexpr double kRidge = 1e-3;
// Rooms are narrowed by this while a move is looked for, so that one at the border is found too.
inline constexpr double kNarrowed_mm = 1e-7;
inline constexpr double kHard_mm = 1e-9;
inline constexpr double kInside_mm2 = 1e-12;
inline constexpr double kApart_mm = 1;  // closer planes say nothing of turns

struct PatternCase {
  const Pattern* pattern = nullptr;
  const PlaneNumbers* numbers = nullptr;
  const PlaneNumbers* compact = nullptr;  // the same for a part of the trials
  double lever = 1;                       // turns are counted in mm at this distance ...
  double reach = 1;                       // ... and rocks at this one,
  double rock_mm = 0;                     // where they are at most this
  std::size_t groups = 0;
  std::size_t far_a = 0;  // the two planes that stand furthest apart
  std::size_t far_b = 0;
  double far_mm = 0;
  double far_q = 0;  // of the first of them
  bool turns = false;
};

}  // namespace fitwright::stats
#endif

#undef HWY_TARGET_INCLUDE
#define HWY_TARGET_INCLUDE "fitwright/stats/patterns.cc"
#include <hwy/foreach_target.h>
#include <hwy/highway.h>

#include "fitwright/stats/lanes-inl.h"

HWY_BEFORE_NAMESPACE();
namespace fitwright::stats::HWY_NAMESPACE {

using D = hn::CappedTag<double, 8>;
using DU = hn::RebindToUnsigned<D>;
using V = hn::Vec<D>;
using M = hn::Mask<D>;

struct Plane2 {
  V x;
  V y;
};

HWY_INLINE V Of(double value) { return hn::Set(D(), value); }
HWY_INLINE V Dot(const Plane2& a, const Plane2& b) { return Fma(a.x, b.x, hn::Mul(a.y, b.y)); }
HWY_INLINE std::uint64_t BitsOf(M mask) {
  std::uint8_t bits = 0;
  hn::StoreMaskBits(D(), mask, &bits);
  return bits;
}

HWY_INLINE V RoomOf(const PatternPlane& plane, V room) {
  const V widened = hn::Add(room, Of(plane.widen));
  return plane.group < 0 ? hn::Max(widened, hn::Zero(D())) : widened;
}

// offset + t + turn * J q, the turn in rad.
HWY_INLINE Plane2 At(const PatternPlane& plane, const Plane2& offset, const Plane2& t, V turn) {
  return {Fma(turn, Of(-plane.q_y), hn::Add(offset.x, t.x)),
          Fma(turn, Of(plane.q_x), hn::Add(offset.y, t.y))};
}

struct Move {
  Plane2 t;
  V turn;  // rad
};

// The numbers of plane p from place `at` on.
class Numbers {
 public:
  HWY_INLINE Numbers(const PatternCase& one, std::size_t at) : one_(one), at_(at) {}
  HWY_INLINE Plane2 Offset(std::size_t p) const {
    return {hn::LoadU(D(), one_.numbers[p][0] + at_), hn::LoadU(D(), one_.numbers[p][1] + at_)};
  }
  HWY_INLINE V Room(std::size_t p) const {
    return RoomOf(one_.pattern->planes[p], hn::LoadU(D(), one_.numbers[p][2] + at_));
  }

 private:
  const PatternCase& one_;
  std::size_t at_;
};

// Least squares over the grouped planes, then pulled into the hard ones.
Move BestMove(const PatternCase& one, const Numbers& numbers) {
  const std::vector<PatternPlane>& planes = one.pattern->planes;
  Plane2 mean = {hn::Zero(D()), hn::Zero(D())};
  double q_x = 0;
  double q_y = 0;
  double n = 0;
  for (std::size_t p = 0; p < planes.size(); ++p) {
    if (planes[p].group < 0) continue;
    const Plane2 o = numbers.Offset(p);
    mean = {hn::Add(mean.x, o.x), hn::Add(mean.y, o.y)};
    q_x += planes[p].q_x;
    q_y += planes[p].q_y;
    n += 1;
  }
  Move move = {{hn::Zero(D()), hn::Zero(D())}, hn::Zero(D())};
  if (n > 0) {
    mean = {hn::Mul(mean.x, Of(1 / n)), hn::Mul(mean.y, Of(1 / n))};
    V top = hn::Zero(D());
    double bottom = 0;
    for (std::size_t p = 0; p < planes.size(); ++p) {
      if (planes[p].group < 0) continue;
      const double x = planes[p].q_x - q_x / n;
      const double y = planes[p].q_y - q_y / n;
      const Plane2 o = numbers.Offset(p);
      top = Fma(Of(y), hn::Sub(o.x, mean.x), Fma(Of(-x), hn::Sub(o.y, mean.y), top));
      bottom += x * x + y * y;
    }
    if (one.turns && bottom > 1e-9) move.turn = hn::Mul(top, Of(1 / bottom));
    move.t = {Fma(move.turn, Of(q_y / n), hn::Neg(mean.x)),
              Fma(move.turn, Of(-q_x / n), hn::Neg(mean.y))};
  }
  for (std::size_t p = 0; p < planes.size(); ++p) {
    if (planes[p].group >= 0) continue;
    const Plane2 v = At(planes[p], numbers.Offset(p), move.t, move.turn);
    const V length = hn::Sqrt(Dot(v, v));
    const V room = hn::Sub(numbers.Room(p), Of(kNarrowed_mm));
    const V over = hn::Max(hn::Zero(D()), hn::Sub(length, hn::Max(room, hn::Zero(D()))));
    const V share = hn::Div(over, hn::Max(length, Of(1e-300)));
    move.t = {Fma(hn::Neg(share), v.x, move.t.x), Fma(hn::Neg(share), v.y, move.t.y)};
  }
  return move;
}

// Whether v holds the condition of a plane; hard ones to a nanometre.
HWY_INLINE M Holds(const PatternPlane& plane, const Plane2& v, V room) {
  if (plane.group < 0) room = hn::Add(room, Of(kHard_mm));
  return hn::And(hn::Ge(room, hn::Zero(D())), hn::Le(Dot(v, v), hn::Mul(room, room)));
}

// Trials in which the move suits every plane, nothing rocked.
M SuitsUnrocked(const PatternCase& one, const Numbers& numbers, const Move& move) {
  M all = hn::Eq(move.turn, move.turn);
  for (std::size_t p = 0; p < one.pattern->planes.size(); ++p) {
    const PatternPlane& plane = one.pattern->planes[p];
    const Plane2 v = At(plane, numbers.Offset(p), move.t, move.turn);
    all = hn::And(all, Holds(plane, v, numbers.Room(p)));
  }
  return all;
}

// Symmetric 3 x 3 over t and the turn, and the slope.
struct System {
  V xx, xy, yy, xt, yt, tt;
  V gx, gy, gt;
};

// The same of one group's rock: against itself, against t and the turn, and its slope.
struct RockPart {
  V xx, xy, yy;
  V x_x, x_y, y_y, x_t, y_t;
  V gx, gy;
};

// Curvature and slope of half the square of |v| - room, where that is above 0.
struct Bend {
  V xx, xy, yy;
  V gx, gy;
  V over;
};
HWY_INLINE Bend BendOf(const Plane2& v, V room) {
  const D d;
  const V length = hn::Sqrt(hn::Max(Dot(v, v), Of(1e-30)));
  const V over = hn::Max(hn::Zero(d), hn::Sub(length, room));
  const M on = hn::Gt(over, hn::Zero(d));
  const V inverse = hn::Div(Of(1), length);
  const Plane2 u = {hn::Mul(v.x, inverse), hn::Mul(v.y, inverse)};
  const V k = hn::Mul(hn::Max(room, hn::Zero(d)), inverse);
  Bend b;
  b.xx = hn::IfThenElseZero(on, hn::Sub(Of(1), hn::Mul(k, hn::Mul(u.y, u.y))));
  b.yy = hn::IfThenElseZero(on, hn::Sub(Of(1), hn::Mul(k, hn::Mul(u.x, u.x))));
  b.xy = hn::IfThenElseZero(on, hn::Mul(k, hn::Mul(u.x, u.y)));
  b.gx = hn::Mul(over, u.x);
  b.gy = hn::Mul(over, u.y);
  b.over = over;
  return b;
}

// How a plane's point moves with the turn, a mm of it at the lever.
struct Turning {
  V x;
  V y;
};

HWY_INLINE void AddPlane(const Bend& b, const Turning& j, System& s) {
  const V cx = Fma(b.xx, j.x, hn::Mul(b.xy, j.y));
  const V cy = Fma(b.xy, j.x, hn::Mul(b.yy, j.y));
  s.xx = hn::Add(s.xx, b.xx);
  s.xy = hn::Add(s.xy, b.xy);
  s.yy = hn::Add(s.yy, b.yy);
  s.xt = hn::Add(s.xt, cx);
  s.yt = hn::Add(s.yt, cy);
  s.tt = Fma(j.x, cx, Fma(j.y, cy, s.tt));
  s.gx = hn::Add(s.gx, b.gx);
  s.gy = hn::Add(s.gy, b.gy);
  s.gt = Fma(j.x, b.gx, Fma(j.y, b.gy, s.gt));
}

HWY_INLINE void AddRocked(const Bend& b, const Turning& j, double arm, RockPart& r) {
  const V a = Of(arm);
  const V aa = Of(arm * arm);
  r.xx = Fma(aa, b.xx, r.xx);
  r.xy = Fma(aa, b.xy, r.xy);
  r.yy = Fma(aa, b.yy, r.yy);
  r.x_x = Fma(a, b.xx, r.x_x);
  r.x_y = Fma(a, b.xy, r.x_y);
  r.y_y = Fma(a, b.yy, r.y_y);
  r.x_t = Fma(a, Fma(b.xx, j.x, hn::Mul(b.xy, j.y)), r.x_t);
  r.y_t = Fma(a, Fma(b.xy, j.x, hn::Mul(b.yy, j.y)), r.y_t);
  r.gx = Fma(a, b.gx, r.gx);
  r.gy = Fma(a, b.gy, r.gy);
}

// What goes back to a group's rock once t and the turn have stepped: inverse times (cross, slope).
struct WayBack {
  V x_x, x_y, x_t, x_g;
  V y_x, y_y, y_t, y_g;
};

// from - (a b + c e).
HWY_INLINE V Less(V from, V a, V b, V c, V e) { return hn::Sub(from, Fma(a, b, hn::Mul(c, e))); }

// Takes a group's rock out of the system.
HWY_INLINE WayBack Eliminate(const RockPart& r, V ridge, System& s) {
  const V xx = hn::Add(r.xx, ridge);
  const V yy = hn::Add(r.yy, ridge);
  const V by = hn::Div(Of(1), Fma(xx, yy, hn::Neg(hn::Mul(r.xy, r.xy))));
  const V i_xx = hn::Mul(yy, by);
  const V i_yy = hn::Mul(xx, by);
  const V i_xy = hn::Neg(hn::Mul(r.xy, by));
  const WayBack k = {Fma(i_xx, r.x_x, hn::Mul(i_xy, r.x_y)), Fma(i_xx, r.x_y, hn::Mul(i_xy, r.y_y)),
                     Fma(i_xx, r.x_t, hn::Mul(i_xy, r.y_t)), Fma(i_xx, r.gx, hn::Mul(i_xy, r.gy)),
                     Fma(i_xy, r.x_x, hn::Mul(i_yy, r.x_y)), Fma(i_xy, r.x_y, hn::Mul(i_yy, r.y_y)),
                     Fma(i_xy, r.x_t, hn::Mul(i_yy, r.y_t)), Fma(i_xy, r.gx, hn::Mul(i_yy, r.gy))};
  s.xx = Less(s.xx, r.x_x, k.x_x, r.x_y, k.y_x);
  s.xy = Less(s.xy, r.x_x, k.x_y, r.x_y, k.y_y);
  s.yy = Less(s.yy, r.x_y, k.x_y, r.y_y, k.y_y);
  s.xt = Less(s.xt, r.x_x, k.x_t, r.x_y, k.y_t);
  s.yt = Less(s.yt, r.x_y, k.x_t, r.y_y, k.y_t);
  s.tt = Less(s.tt, r.x_t, k.x_t, r.y_t, k.y_t);
  s.gx = Less(s.gx, r.x_x, k.x_g, r.x_y, k.y_g);
  s.gy = Less(s.gy, r.x_y, k.x_g, r.y_y, k.y_g);
  s.gt = Less(s.gt, r.x_t, k.x_g, r.y_t, k.y_g);
  return k;
}

struct StepOf {
  V x, y, turn;
};

// Minus the inverse of (system + ridge) times its slope.
HWY_INLINE StepOf Solve(const System& s, V ridge) {
  const V i1 = hn::Div(Of(1), hn::Add(s.xx, ridge));
  const V f21 = hn::Mul(s.xy, i1);
  const V f31 = hn::Mul(s.xt, i1);
  const V d2 = hn::Sub(hn::Add(s.yy, ridge), hn::Mul(f21, s.xy));
  const V e = hn::Sub(s.yt, hn::Mul(f21, s.xt));
  const V f32 = hn::Div(e, d2);
  const V d3 = hn::Sub(hn::Sub(hn::Add(s.tt, ridge), hn::Mul(f31, s.xt)), hn::Mul(f32, e));
  const V y1 = hn::Neg(s.gx);
  const V y2 = hn::Sub(hn::Neg(s.gy), hn::Mul(f21, y1));
  const V y3 = hn::Sub(hn::Sub(hn::Neg(s.gt), hn::Mul(f31, y1)), hn::Mul(f32, y2));
  StepOf step;
  step.turn = hn::Div(y3, d3);
  step.y = hn::Sub(hn::Div(y2, d2), hn::Mul(f32, step.turn));
  step.x = hn::Sub(hn::Sub(hn::Mul(y1, i1), hn::Mul(f21, step.y)), hn::Mul(f31, step.turn));
  return step;
}

// Newton's steps on half the sum of squares of what is missed, over t, the turn (in mm at the
// lever) and each group's rock (in mm at the reach), the rocks eliminated group by group. A rock
// longer than it may be is one more thing missed.
class Descent {
 public:
  Descent(const PatternCase& one, const Numbers& numbers, const Move& start)
      : one_(one), numbers_(numbers), t_(start.t) {
    const V zero = hn::Zero(D());
    turn_ = hn::Mul(start.turn, Of(one.lever));
    suits_ = hn::Ne(zero, zero);
    excluded_ = suits_;
    for (std::size_t g = 0; g < HWY_MIN(one.groups, kMostGroups); ++g) rock_[g] = {zero, zero};
  }

  void Run() {
    for (int k = 0; k < kMostSteps; ++k) {
      Gather();
      if (hn::AllTrue(D(), hn::Or(suits_, excluded_))) return;
      Go();
    }
  }
  M suits() const { return suits_; }
  M excluded() const { return excluded_; }
  Move move() const { return {t_, hn::Mul(turn_, Of(1 / one_.lever))}; }

 private:
  // Sums at the point, and what follows from them.
  void Gather() {
    const V zero = hn::Zero(D());
    system_ = {zero, zero, zero, zero, zero, zero, zero, zero, zero};
    V squares = AddRocks();
    M all = hn::Eq(zero, zero);
    const V turn = hn::Mul(turn_, Of(1 / one_.lever));
    for (std::size_t p = 0; p < one_.pattern->planes.size(); ++p) {
      const PatternPlane& plane = one_.pattern->planes[p];
      const bool rocks = plane.group >= 0 && plane.arm > 0 && one_.rock_mm > 0;
      const auto g = static_cast<std::size_t>(rocks ? plane.group : 0);
      const double arm = rocks ? plane.arm / one_.reach : 0;
      Plane2 v = At(plane, numbers_.Offset(p), t_, turn);
      Plane2 held = v;
      if (rocks) {
        held = {Fma(Of(arm), held_[g].x, v.x), Fma(Of(arm), held_[g].y, v.y)};
        v = {Fma(Of(arm), rock_[g].x, v.x), Fma(Of(arm), rock_[g].y, v.y)};
      }
      const V room = numbers_.Room(p);
      if (plane.group >= 0) excluded_ = hn::Or(excluded_, hn::Lt(room, zero));
      all = hn::And(all, Holds(plane, held, room));
      const V narrowed = hn::Sub(room, Of(kNarrowed_mm));
      const Bend b = BendOf(v, plane.group < 0 ? hn::Max(narrowed, zero) : narrowed);
      squares = Fma(b.over, b.over, squares);
      const Turning j = {Of(one_.turns ? -plane.q_y / one_.lever : 0),
                         Of(one_.turns ? plane.q_x / one_.lever : 0)};
      AddPlane(b, j, system_);
      if (rocks) AddRocked(b, j, arm, part_[g]);
    }
    suits_ = hn::Or(suits_, hn::AndNot(excluded_, all));
    Exclude(hn::Mul(Of(0.5), squares), turn);
  }

  // The rocks' own share of the sums; returns the squares of what they are too long.
  V AddRocks() {
    const V zero = hn::Zero(D());
    V squares = zero;
    for (std::size_t g = 0; g < one_.groups && one_.rock_mm > 0; ++g) {
      const Bend b = BendOf(rock_[g], Of(HWY_MAX(0.0, one_.rock_mm - kNarrowed_mm)));
      squares = Fma(b.over, b.over, squares);
      part_[g] = {b.xx, b.xy, b.yy, zero, zero, zero, zero, zero, b.gx, b.gy};
      const V length = hn::Sqrt(hn::Max(Dot(rock_[g], rock_[g]), Of(1e-30)));
      const V share = hn::Min(Of(1), hn::Div(Of(one_.rock_mm * (1 - 1e-15)), length));
      held_[g] = {hn::Mul(share, rock_[g].x), hn::Mul(share, rock_[g].y)};
    }
    return squares;
  }

  // Half the sum of squares is convex: where it is above what narrowing alone makes of it by more
  // than slope times the way to any move that could suit, none does.
  void Exclude(V f, V turn) {
    const auto& planes = one_.pattern->planes;
    const Plane2 o_a = numbers_.Offset(one_.far_a);
    const V room_a = Widest(one_.far_a);
    V turns = hn::Zero(D());
    if (one_.turns) {
      const Plane2 o_b = numbers_.Offset(one_.far_b);
      const Plane2 apart = {hn::Sub(o_a.x, o_b.x), hn::Sub(o_a.y, o_b.y)};
      const V gap = hn::Add(hn::Sqrt(Dot(apart, apart)), hn::Add(room_a, Widest(one_.far_b)));
      turns = hn::Mul(gap, Of(1 / one_.far_mm));
    }
    const Plane2 here = {hn::Add(o_a.x, t_.x), hn::Add(o_a.y, t_.y)};
    const V shift = hn::Add(hn::Sqrt(Dot(here, here)), Fma(turns, Of(one_.far_q), room_a));
    const System& s = system_;
    V most = hn::Mul(shift, hn::Sqrt(Fma(s.gx, s.gx, hn::Mul(s.gy, s.gy))));
    const V turned = hn::Mul(hn::Add(turns, hn::Abs(turn)), Of(one_.lever));
    most = Fma(turned, hn::Abs(s.gt), most);
    for (std::size_t g = 0; g < one_.groups && one_.rock_mm > 0; ++g) {
      const Plane2 slope = {part_[g].gx, part_[g].gy};
      most =
          Fma(Of(one_.rock_mm), hn::Sqrt(Dot(slope, slope)), hn::Add(most, Dot(slope, rock_[g])));
    }
    const auto count = static_cast<double>(planes.size() + one_.groups);
    const V narrowed = Of(0.51 * count * kNarrowed_mm * kNarrowed_mm + 1e-15);
    const M none = hn::Gt(f, Fma(most, Of(1 + 1e-6), narrowed));
    excluded_ = hn::Or(excluded_, hn::AndNot(suits_, none));
  }

  // The room of plane p with all that its rock can give.
  HWY_INLINE V Widest(std::size_t p) {
    const PatternPlane& plane = one_.pattern->planes[p];
    const double more = plane.group < 0 ? 0 : plane.arm * HWY_MAX(0.0, one_.pattern->rock);
    return hn::Max(hn::Zero(D()), hn::Add(numbers_.Room(p), Of(more)));
  }

  void Go() {
    const V ridge = Of(kRidge);
    const bool rocks = one_.rock_mm > 0;
    for (std::size_t g = 0; g < one_.groups && rocks; ++g)
      back_[g] = Eliminate(part_[g], ridge, system_);
    const StepOf step = Solve(system_, ridge);
    const M done = hn::Or(suits_, excluded_);  // stays where that was seen
    t_ = {hn::IfThenElse(done, t_.x, hn::Add(t_.x, step.x)),
          hn::IfThenElse(done, t_.y, hn::Add(t_.y, step.y))};
    turn_ = hn::IfThenElse(done, turn_, hn::Add(turn_, step.turn));
    for (std::size_t g = 0; g < one_.groups && rocks; ++g) {
      const WayBack& k = back_[g];
      const V x = Fma(k.x_x, step.x, Fma(k.x_y, step.y, Fma(k.x_t, step.turn, k.x_g)));
      const V y = Fma(k.y_x, step.x, Fma(k.y_y, step.y, Fma(k.y_t, step.turn, k.y_g)));
      rock_[g] = {hn::Sub(rock_[g].x, x), hn::Sub(rock_[g].y, y)};
    }
  }

  const PatternCase& one_;
  Numbers numbers_;
  Plane2 t_;
  V turn_;
  M suits_;
  M excluded_;
  System system_;
  Plane2 rock_[kMostGroups];
  Plane2 held_[kMostGroups];  // the rock no longer than it may be
  RockPart part_[kMostGroups];
  WayBack back_[kMostGroups];
};

// Copies the trials of `open` side by side and starts each from its best move.
struct Gathered {
  std::size_t count = 0;
  std::uint8_t trial[kPatternBlock];
};

Gathered Compact(const PatternCase& one, std::uint64_t open, double* scratch) {
  Gathered gathered;
  for (; open != 0; open &= open - 1)
    gathered.trial[gathered.count++] = static_cast<std::uint8_t>(std::countr_zero(open));
  for (std::size_t p = 0; p < one.pattern->planes.size(); ++p) {
    for (std::size_t c = 0; c < 3; ++c) {
      double* to = scratch + (3 * p + c) * kPatternBlock;
      for (std::size_t k = 0; k < kPatternBlock; ++k)
        to[k] = one.numbers[p][c][gathered.trial[HWY_MIN(k, gathered.count - 1)]];
    }
  }
  return gathered;
}

PatternAnswer SettleKernel(const PatternCase& one, double* scratch) {
  const std::size_t N = hn::Lanes(D());
  PatternAnswer answer;
  for (std::size_t at = 0; at < kPatternBlock; at += N) {
    const Numbers numbers(one, at);
    answer.suits |= BitsOf(SuitsUnrocked(one, numbers, BestMove(one, numbers))) << at;
  }
  if (answer.suits == ~std::uint64_t{0} || one.groups > kMostGroups) return answer;
  const Gathered open = Compact(one, ~answer.suits, scratch);
  PatternCase compact = one;
  compact.numbers = one.compact;
  for (std::size_t at = 0; at < open.count; at += N) {
    const Numbers here(compact, at);
    Descent descent(compact, here, BestMove(compact, here));
    descent.Run();
    const std::uint64_t suits = BitsOf(descent.suits());
    const std::uint64_t excluded = BitsOf(descent.excluded());
    for (std::size_t k = 0; k < N && at + k < open.count; ++k) {
      answer.suits |= (suits >> k & 1) << open.trial[at + k];
      answer.excluded |= (excluded >> k & 1) << open.trial[at + k];
    }
  }
  return answer;
}

std::uint64_t FindKernel(const PatternCase& one, const FoundMove& found, double* scratch) {
  const D d;
  const std::size_t N = hn::Lanes(d);
  const Gathered open = Compact(one, found.trials, scratch);
  PatternCase compact = one;
  compact.numbers = one.compact;
  HWY_ALIGN double x[8];
  HWY_ALIGN double y[8];
  HWY_ALIGN double theta[8];
  std::uint64_t in = 0;
  for (std::size_t at = 0; at < open.count; at += N) {
    const Numbers here(compact, at);
    Descent descent(compact, here, BestMove(compact, here));
    descent.Run();
    const std::uint64_t suits = BitsOf(descent.suits());
    const Move move = descent.move();
    hn::Store(move.t.x, d, x);
    hn::Store(move.t.y, d, y);
    hn::Store(move.turn, d, theta);
    for (std::size_t k = 0; k < N && at + k < open.count; ++k) {
      const std::size_t trial = open.trial[at + k];
      found.x[trial] = x[k];
      found.y[trial] = y[k];
      found.theta[trial] = theta[k];
      in |= (suits >> k & 1) << trial;
    }
  }
  return in;
}

// The tightest plane of each trial.
struct Tightest {
  V room;
  Plane2 offset;
  Plane2 q;
};

Tightest TightestOf(const PatternCase& one, const Numbers& numbers) {
  Tightest t{};
  for (std::size_t p = 0; p < one.pattern->planes.size(); ++p) {
    const PatternPlane& plane = one.pattern->planes[p];
    const V room = numbers.Room(p);
    const Plane2 offset = numbers.Offset(p);
    if (p == 0) {
      t = {room, offset, {Of(plane.q_x), Of(plane.q_y)}};
      continue;
    }
    const M less = hn::Lt(room, t.room);
    t.room = hn::IfThenElse(less, room, t.room);
    t.offset = {hn::IfThenElse(less, offset.x, t.offset.x),
                hn::IfThenElse(less, offset.y, t.offset.y)};
    t.q = {hn::IfThenElse(less, Of(plane.q_x), t.q.x), hn::IfThenElse(less, Of(plane.q_y), t.q.y)};
  }
  return t;
}

// Middle and half width of the turns that two planes leave, of the pair that leaves the least.
struct Turns {
  V middle;
  V half;
  bool any = false;
};

Turns TurnsLeft(const PatternCase& one, const Numbers& numbers) {
  const auto& planes = one.pattern->planes;
  Turns turns{hn::Zero(D()), hn::Zero(D()), false};
  for (std::size_t i = 0; i < planes.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      const double x = planes[i].q_x - planes[j].q_x;
      const double y = planes[i].q_y - planes[j].q_y;
      const double apart = std::sqrt(x * x + y * y);
      if (apart < kApart_mm) continue;
      const V rooms = hn::Max(hn::Zero(D()), hn::Add(numbers.Room(i), numbers.Room(j)));
      const V half = hn::Mul(rooms, Of(1 / apart));
      const Plane2 a = numbers.Offset(i);
      const Plane2 b = numbers.Offset(j);
      const V across = Fma(hn::Sub(a.x, b.x), Of(-y), hn::Mul(hn::Sub(a.y, b.y), Of(x)));
      const V middle = hn::Mul(across, Of(-1 / (apart * apart)));
      const M less = turns.any ? hn::Lt(half, turns.half) : hn::Eq(half, half);
      turns.half = hn::IfThenElse(less, half, turns.half);
      turns.middle = hn::IfThenElse(less, middle, turns.middle);
      turns.any = true;
    }
  }
  return turns;
}

HWY_INLINE M LetsIn(const PatternCase& one, const Numbers& numbers, const Move& move) {
  const V zero = hn::Zero(D());
  M all = hn::Eq(zero, zero);
  for (std::size_t p = 0; p < one.pattern->planes.size(); ++p) {
    const Plane2 v = At(one.pattern->planes[p], numbers.Offset(p), move.t, move.turn);
    const V room = numbers.Room(p);
    all = hn::And(all,
                  hn::And(hn::Ge(room, zero), hn::Le(Dot(v, v), Fma(room, room, Of(kInside_mm2)))));
  }
  return all;
}

// The k-th try: a place in the tightest plane's disc, at a turn of the range.
HWY_INLINE Move Try(const PhiloxKeys<DU>& keys, std::uint64_t trial, std::uint32_t k,
                    const Tightest& tight, const Turns& turns, V given) {
  const D d;
  const auto counter = hn::Iota(DU(), trial);
  const PhiloxWords<DU> words = Philox(DU(), counter, 2 * k, 0, keys);
  Move move;
  move.turn = given;
  if (turns.any) {
    const V u = ToUniform(d, Philox(DU(), counter, 2 * k + 1, 0, keys).first);
    move.turn = Fma(Fma(Of(2), u, Of(-1)), turns.half, turns.middle);
  }
  V sine = hn::Zero(d);
  V cosine = hn::Zero(d);
  SinCosOfTurns(d, ToUniform(d, words.second), sine, cosine);
  const V r = hn::Mul(tight.room, hn::Sqrt(ToUniform(d, words.first)));
  move.t = {Fma(move.turn, tight.q.y, Fma(r, cosine, hn::Neg(tight.offset.x))),
            Fma(hn::Neg(move.turn), tight.q.x, Fma(r, sine, hn::Neg(tight.offset.y)))};
  return move;
}

std::uint64_t ChanceKernel(const PatternCase& one, const ChanceMove& wanted) {
  const D d;
  const std::size_t N = hn::Lanes(d);
  PhiloxKeys<DU> keys;
  FillKeys(DU(), wanted.key, keys);
  std::uint64_t in = 0;
  for (std::size_t at = 0; at < kPatternBlock; at += N) {
    const Numbers numbers(one, at);
    const Tightest tight = TightestOf(one, numbers);
    const Turns turns =
        wanted.turns ? TurnsLeft(one, numbers) : Turns{hn::Zero(d), hn::Zero(d), false};
    Move rest = {{hn::Zero(d), hn::Zero(d)}, hn::Load(d, wanted.theta + at)};
    const V given = rest.turn;
    M done = hn::Ne(given, given);
    for (int k = 0; k < wanted.tries && !hn::AllTrue(d, done); ++k) {
      const Move move =
          Try(keys, wanted.first + at, static_cast<std::uint32_t>(k), tight, turns, given);
      const M now = hn::AndNot(done, LetsIn(one, numbers, move));
      rest.t = {hn::IfThenElse(now, move.t.x, rest.t.x), hn::IfThenElse(now, move.t.y, rest.t.y)};
      rest.turn = hn::IfThenElse(now, move.turn, rest.turn);
      done = hn::Or(done, now);
    }
    hn::BlendedStore(rest.t.x, done, d, wanted.x + at);
    hn::BlendedStore(rest.t.y, done, d, wanted.y + at);
    hn::BlendedStore(rest.turn, done, d, wanted.theta + at);
    in |= BitsOf(done) << at;
  }
  return in;
}

// NOLINTNEXTLINE(google-readability-namespace-comments)
}  // namespace fitwright::stats::HWY_NAMESPACE
HWY_AFTER_NAMESPACE();

#if HWY_ONCE
#include <algorithm>
#include <memory>

#include "fitwright/stats/lane_dispatch.h"

namespace fitwright::stats {

HWY_EXPORT(SettleKernel);
HWY_EXPORT(ChanceKernel);
HWY_EXPORT(FindKernel);

namespace {

PatternCase CaseOf(const Pattern& pattern, std::span<const PlaneNumbers> numbers) {
  FW_CHECK(!pattern.planes.empty() && numbers.size() == pattern.planes.size(), numbers.size());
  PatternCase one;
  one.pattern = &pattern;
  one.numbers = numbers.data();
  one.reach = 0;
  for (std::size_t i = 0; i < pattern.planes.size(); ++i) {
    const PatternPlane& p = pattern.planes[i];
    one.lever = std::max(one.lever, std::hypot(p.q_x, p.q_y));
    one.groups = std::max(one.groups, static_cast<std::size_t>(p.group + 1));
    if (p.group >= 0) one.reach = std::max(one.reach, p.arm);
    for (std::size_t j = 0; j < i; ++j) {
      const double apart = std::hypot(p.q_x - pattern.planes[j].q_x, p.q_y - pattern.planes[j].q_y);
      if (apart <= one.far_mm) continue;
      one.far_mm = apart;
      one.far_a = i;
      one.far_b = j;
    }
  }
  // What stands on one spot turns about it and gains nothing.
  one.turns = pattern.may_turn && one.far_mm > 1e-9;
  if (one.reach <= 0) one.reach = 1;
  one.far_q = std::hypot(pattern.planes[one.far_a].q_x, pattern.planes[one.far_a].q_y);
  one.rock_mm = std::max(0.0, pattern.rock) * one.reach;
  return one;
}

// Numbers of a part of the trials, side by side.
struct Scratch {
  explicit Scratch(std::size_t planes) : store(new double[3 * kPatternBlock * planes]) {
    for (std::size_t p = 0; p < planes; ++p) {
      const double* of = store.get() + 3 * p * kPatternBlock;
      numbers.push_back({of, of + kPatternBlock, of + 2 * kPatternBlock});
    }
  }
  std::unique_ptr<double[]> store;
  std::vector<PlaneNumbers> numbers;
};

}  // namespace

PatternAnswer SettlePattern(const Pattern& pattern, std::span<const PlaneNumbers> numbers,
                            Vectors vectors) {
  PatternCase one = CaseOf(pattern, numbers);
  Scratch scratch(pattern.planes.size());
  one.compact = scratch.numbers.data();
  return Pick(HWY_DISPATCH_TABLE(SettleKernel), vectors)(one, scratch.store.get());
}

std::uint64_t FindMove(const Pattern& pattern, std::span<const PlaneNumbers> numbers,
                       const FoundMove& found, Vectors vectors) {
  FW_CHECK(found.trials != 0 && pattern.rock == 0, found.trials, pattern.rock);
  PatternCase one = CaseOf(pattern, numbers);
  Scratch scratch(pattern.planes.size());
  one.compact = scratch.numbers.data();
  return Pick(HWY_DISPATCH_TABLE(FindKernel), vectors)(one, found, scratch.store.get());
}

std::uint64_t MoveByChance(const Pattern& pattern, std::span<const PlaneNumbers> numbers,
                           const ChanceMove& move, Vectors vectors) {
  return Pick(HWY_DISPATCH_TABLE(ChanceKernel), vectors)(CaseOf(pattern, numbers), move);
}

}  // namespace fitwright::stats
#endif  // HWY_ONCE
