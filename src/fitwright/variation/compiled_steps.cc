#include "fitwright/variation/compiled_steps.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <memory>
#include <utility>

#include "fitwright/base/check.h"
#include "fitwright/stats/patterns.h"
#include "fitwright/stats/random.h"
#include "fitwright/variation/play_rest.h"

namespace fitwright::variation {
namespace {

constexpr std::size_t kBlock = stats::kTrialsAtOnce;
constexpr double kSlack = 1e-12;
using Lanes = std::array<double, kBlock>;

const double* RowAt(const stats::TrialBlock& block, std::uint32_t row) {
  return block.rows + std::size_t{row} * kBlock;
}
double* ColumnAt(const stats::TrialBlock& block, std::uint32_t column) {
  return block.columns + std::size_t{column} * kBlock;
}

double RockOf(const FloatLimits& limits, const Figures& figures) {
  return figures[Place(SpreadId::kThreadPlay)].spread / std::max(0.1, limits.engagement_mm);
}

// One pattern of limits with where its numbers stand.
struct Placed {
  stats::Pattern pattern;
  std::vector<LimitRows> rows;
};

// `widen`: the rock widens the rooms (a float's limits), else it is each screw's own freedom.
Placed PlacedOf(const FloatLimits& limits, const std::vector<LimitRows>& rows,
                const Figures& figures, bool widen) {
  Placed placed;
  placed.rows = rows;
  const double rock = RockOf(limits, figures);
  placed.pattern.rock = widen ? 0 : rock;
  for (const FloatLimit& limit : limits.limits) {
    stats::PatternPlane plane;
    plane.q_x = limit.q.x();
    plane.q_y = limit.q.y();
    plane.arm = widen ? 0 : limit.rock_arm_mm;
    plane.widen = widen ? rock * limit.rock_arm_mm : 0;
    plane.group = limit.screw;
    placed.pattern.planes.push_back(plane);
  }
  return placed;
}

std::vector<stats::PlaneNumbers> NumbersOf(const Placed& placed, const stats::TrialBlock& block) {
  std::vector<stats::PlaneNumbers> numbers;
  numbers.reserve(placed.rows.size());
  for (const LimitRows& row : placed.rows)
    numbers.push_back({RowAt(block, row.x), RowAt(block, row.y), RowAt(block, row.room)});
  return numbers;
}

void FillProblem(const Placed& placed, const stats::TrialBlock& block, std::size_t lane,
                 ScrewProblem& problem) {
  problem.planes.resize(placed.rows.size());
  problem.rock_limit = placed.pattern.rock;
  problem.may_turn = true;
  for (std::size_t i = 0; i < placed.rows.size(); ++i) {
    const stats::PatternPlane& plane = placed.pattern.planes[i];
    ScrewPlane& one = problem.planes[i];
    one.offset = Vec2(RowAt(block, placed.rows[i].x)[lane], RowAt(block, placed.rows[i].y)[lane]);
    one.q = Vec2(plane.q_x, plane.q_y);
    one.room = RowAt(block, placed.rows[i].room)[lane] + plane.widen;
    one.arm = plane.arm;
    one.screw = plane.group;
  }
}

// A float's rest, build by build or in vectors.
class Rest {
 public:
  Rest(const Play& play, PlayRows rows, const PlayColumns& columns, const Figures& figures)
      : rows_(std::move(rows)),
        columns_(columns),
        key_(play.key),
        returns_(play.returns),
        residual_(play.has_residual),
        turned_(play.before_turns),
        target_factors_(play.target_factors) {
    placed_ = PlacedOf(play.within, rows_.limits, figures, true);
    placed_.pattern.may_turn = play.theta.has_value();
    one_.kind = play.kind;
    one_.returns = play.returns;
    one_.random = figures[Place(SpreadId::kJointPlay)].spread > 0;
    one_.has_theta = play.theta.has_value();
    one_.has_residual = play.has_residual;
    one_.push = play.push;
    for (const auto& [form, tolerance] : play.targets) one_.target_tolerances.push_back(tolerance);
    by_chance_ = !play.returns && !IsPushed(play) && !play.within.limits.empty() &&
                 play.kind != FloatKind::kAdjustedByEye &&
                 play.kind != FloatKind::kAdjustedByIndicator;
  }

  void Run(const stats::TrialBlock& block) const {
    std::uint64_t open = ~std::uint64_t{0};
    alignas(64) Lanes still{};
    double* theta = columns_.theta ? ColumnAt(block, *columns_.theta) : still.data();
    if (by_chance_) {
      if (columns_.theta && residual_) {
        std::copy_n(RowAt(block, rows_.residual[2]), kBlock, theta);
      } else {
        std::fill_n(theta, kBlock, 0.0);
      }
      stats::ChanceMove move;
      move.key = stats::StreamKey(block.seed, key_);
      move.first = block.first;
      move.turns = one_.has_theta;
      move.x = ColumnAt(block, columns_.x);
      move.y = ColumnAt(block, columns_.x + 1);
      move.theta = theta;
      const std::vector<stats::PlaneNumbers> numbers = NumbersOf(placed_, block);
      if (one_.random) open = ~stats::MoveByChance(placed_.pattern, numbers, move, block.vectors);
      // Those whose tries all failed walk from what is found; where nothing is let in, or nothing
      // is left to chance, that stands.
      if (open != 0) {
        const std::uint64_t found =
            stats::FindMove(placed_.pattern, numbers, {open, move.x, move.y, theta}, block.vectors);
        open &= one_.random ? found : 0;
      }
    }
    if (open != 0) OneByOne(block, open);
  }

 private:
  void OneByOne(const stats::TrialBlock& block, std::uint64_t open) const {
    PlayCase one = one_;
    one.target_factors = target_factors_;
    one.target_values.resize(rows_.targets.size());
    one.stream = stats::StreamKey(block.seed, key_);
    for (; open != 0; open &= open - 1) {
      const auto lane = static_cast<std::size_t>(std::countr_zero(open));
      FillProblem(placed_, block, lane, one.limits);
      one.build = block.first + lane;
      for (std::size_t t = 0; t < rows_.targets.size(); ++t)
        one.target_values[t] = RowAt(block, rows_.targets[t])[lane];
      if (by_chance_) {
        one.found = {ColumnAt(block, columns_.x)[lane], ColumnAt(block, columns_.x + 1)[lane],
                     columns_.theta ? ColumnAt(block, *columns_.theta)[lane] : 0};
      }
      if (residual_) one.residual = At(block, rows_.residual, lane, true);
      if (returns_) one.before = At(block, rows_.before, lane, turned_);
      const PlanarMove rest = RestOf(one);
      ColumnAt(block, columns_.x)[lane] = rest[0];
      ColumnAt(block, columns_.x + 1)[lane] = rest[1];
      if (columns_.theta) ColumnAt(block, *columns_.theta)[lane] = rest[2];
    }
  }

  static PlanarMove At(const stats::TrialBlock& block, const std::array<std::uint32_t, 3>& rows,
                       std::size_t lane, bool turns) {
    return {RowAt(block, rows[0])[lane], RowAt(block, rows[1])[lane],
            turns ? RowAt(block, rows[2])[lane] : 0};
  }

  PlayRows rows_;
  PlayColumns columns_;
  std::uint64_t key_;
  bool returns_;
  bool residual_;
  bool turned_;
  bool by_chance_ = false;
  std::vector<std::array<double, 3>> target_factors_;
  Placed placed_;
  PlayCase one_;
};

void AddRows(const std::vector<LimitRows>& limits, std::vector<std::uint32_t>& rows) {
  for (const LimitRows& row : limits) rows.insert(rows.end(), {row.x, row.y, row.room});
}

// Builds in which every pattern enters, each for itself.
std::uint64_t Enter(const std::vector<Placed>& patterns, const stats::TrialBlock& block) {
  std::uint64_t all = ~std::uint64_t{0};
  ScrewProblem problem;
  for (const Placed& placed : patterns) {
    if (all == 0 || placed.rows.empty()) continue;
    const stats::PatternAnswer answer =
        stats::SettlePattern(placed.pattern, NumbersOf(placed, block), block.vectors);
    std::uint64_t enters = answer.suits;
    std::uint64_t open = all & ~answer.suits & ~answer.excluded;
    for (; open != 0; open &= open - 1) {
      const int lane = std::countr_zero(open);
      FillProblem(placed, block, static_cast<std::size_t>(lane), problem);
      if (ScrewsEnter(problem)) enters |= std::uint64_t{1} << lane;
    }
    all &= enters;
  }
  return all;
}

// The formula's values; bit k of the answer: build k has one.
std::uint64_t FillFormula(const RequirementForms& r, const RequirementRows& rows,
                          const stats::TrialBlock& block, double* out) {
  std::vector<const double*> names;
  for (const FormRow& row : rows.linear) names.push_back(RowAt(block, row.row));
  std::array<std::uint8_t, kBlock> known{};
  r.formula->EvaluateMany(names, {out, kBlock}, known);
  std::uint64_t bits = 0;
  for (std::size_t i = 0; i < kBlock; ++i) bits |= std::uint64_t{known[i] != 0} << i;
  return bits;
}

std::uint64_t Within(const double* value, double low, double high) {
  std::uint64_t bits = 0;
  for (std::size_t i = 0; i < kBlock; ++i)
    bits |= std::uint64_t{value[i] >= low && value[i] <= high} << i;
  return bits;
}

void FillGreatest(const RequirementRows& rows, const stats::TrialBlock& block, double* out) {
  std::fill_n(out, kBlock, 0.0);
  for (std::size_t v = 0; v < rows.vectors.size(); ++v) {
    const double* x = RowAt(block, rows.vectors[v][0]);
    const double* y = RowAt(block, rows.vectors[v][1]);
    const double* more = v < rows.linear.size() ? RowAt(block, rows.linear[v].row) : nullptr;
    for (std::size_t i = 0; i < kBlock; ++i) {
      const double length = std::sqrt(x[i] * x[i] + y[i] * y[i]);
      out[i] = std::max(out[i], length + (more == nullptr ? 0 : more[i]));
    }
  }
}

double ValueOf(const FormRow& row, const stats::TrialBlock& block, std::size_t lane) {
  return row.sign * RowAt(block, row.row)[lane] + row.constant;
}

// The form furthest from the middle, where there is only a lower limit the least.
void FillFurthest(const RequirementForms& r, const RequirementRows& rows,
                  const stats::TrialBlock& block, double* out) {
  const bool both = r.lower > -kUnlimited && r.upper < kUnlimited;
  const bool low_only = r.lower > -kUnlimited && r.upper > kUnlimited;
  const double middle = both ? 0.5 * (r.lower + r.upper) : 0;
  for (std::size_t k = 0; k < rows.linear.size(); ++k) {
    for (std::size_t i = 0; i < kBlock; ++i) {
      const double v = ValueOf(rows.linear[k], block, i);
      const bool worse = low_only ? v < out[i] : std::abs(v - middle) > std::abs(out[i] - middle);
      if (k == 0 || worse) out[i] = v;
    }
  }
}

void FillLeast(const RequirementForms& r, const RequirementRows& rows,
               const stats::TrialBlock& block, double* out) {
  for (std::size_t i = 0; i < kBlock; ++i) {
    out[i] = kNoLimit;
    for (const FormRow& row : rows.linear) out[i] = std::min(out[i], ValueOf(row, block, i));
    if (rows.vectors.empty()) continue;
    const double x = RowAt(block, rows.vectors[0][0])[i];
    const double y = RowAt(block, rows.vectors[0][1])[i];
    out[i] -= r.tilt_length_mm * std::sqrt(x * x + y * y);
  }
}

void FillExcess(const RequirementForms& r, const RequirementRows& rows, const Figures& figures,
                const stats::TrialBlock& block, double* out) {
  std::vector<const FloatLimits*> all = {&r.screws};
  for (const FloatLimits& limits : r.stack) all.push_back(&limits);
  ScrewProblem problem;
  for (std::size_t k = 0; k < all.size(); ++k) {
    const Placed placed = PlacedOf(*all[k], rows.patterns[k], figures, false);
    for (std::size_t i = 0; i < kBlock; ++i) {
      FillProblem(placed, block, i, problem);
      const double excess = SolveScrews(problem).excess;
      out[i] = k == 0 ? excess : std::max(out[i], excess);
    }
  }
}

}  // namespace

bool IsPushed(const Play& play) { return play.kind == FloatKind::kPushed && play.push.norm() > 0; }

bool RestsInOneDisc(const Play& play) {
  if (play.returns || play.has_residual || play.within.limits.size() != 1) return false;
  const FloatLimit& limit = play.within.limits.front();
  if (limit.screw >= 0 || limit.rock_arm_mm != 0) return false;
  if (play.kind == FloatKind::kAdjustedByEye || play.kind == FloatKind::kAdjustedByIndicator)
    return false;
  return !IsPushed(play) || !play.theta;
}

stats::TrialRest RestInDisc(const Play& play, const PlayRows& rows, const PlayColumns& columns,
                            std::optional<std::uint32_t> disc) {
  stats::TrialRest rest;
  rest.x = rows.limits.front().x;
  rest.y = rows.limits.front().y;
  rest.room = rows.limits.front().room;
  rest.disc = disc;
  if (IsPushed(play)) {
    rest.disc.reset();
    rest.at_x = play.push.normalized().x();
    rest.at_y = play.push.normalized().y();
  }
  rest.column = columns.x;
  return rest;
}

stats::TrialStep StepOfPlay(const Play& play, const PlayRows& rows, const PlayColumns& columns,
                            const Figures& figures) {
  stats::TrialStep step;
  AddRows(rows.limits, step.rows);
  step.rows.insert(step.rows.end(), rows.targets.begin(), rows.targets.end());
  for (std::size_t i = 0; i < 3; ++i) {
    if (play.has_residual) step.rows.push_back(rows.residual[i]);
    if (play.returns && (i < 2 || play.before_turns)) step.rows.push_back(rows.before[i]);
  }
  step.columns = {columns.x, columns.x + 1};
  if (columns.theta) step.columns.push_back(*columns.theta);
  const auto rest = std::make_shared<const Rest>(play, rows, columns, figures);
  step.run = [rest](const stats::TrialBlock& block) { rest->Run(block); };
  return step;
}

bool NeedsStep(const RequirementForms& r) {
  if (r.test == TestKind::kMagnitude) return r.lower > 0 && r.vectors.size() > 1;
  return r.test == TestKind::kScrews || r.test == TestKind::kFormula;
}

stats::TrialStep StepOfRequirement(const RequirementForms& r, const RequirementRows& rows,
                                   std::uint32_t outcome, const Figures& figures) {
  stats::TrialStep step;
  step.outcome = outcome;
  for (const std::vector<LimitRows>& limits : rows.patterns) AddRows(limits, step.rows);
  for (const FormRow& row : rows.linear) step.rows.push_back(row.row);
  for (const auto& pair : rows.vectors) step.rows.insert(step.rows.end(), pair.begin(), pair.end());
  if (r.test == TestKind::kScrews) {
    auto patterns = std::make_shared<std::vector<Placed>>();
    patterns->push_back(PlacedOf(r.screws, rows.patterns[0], figures, false));
    for (std::size_t k = 0; k < r.stack.size(); ++k)
      patterns->push_back(PlacedOf(r.stack[k], rows.patterns[k + 1], figures, false));
    step.run = [patterns, outcome](const stats::TrialBlock& block) {
      block.words[outcome] &= Enter(*patterns, block);
    };
    return step;
  }
  step.run = [&r, rows, outcome](const stats::TrialBlock& block) {
    Lanes value;
    if (r.test == TestKind::kFormula) {
      const std::uint64_t known = FillFormula(r, rows, block, value.data());
      block.words[outcome] &= known & Within(value.data(), r.lower, r.upper);
    } else {
      FillGreatest(rows, block, value.data());
      block.words[outcome] &= Within(value.data(), r.lower - kSlack, r.upper + kSlack);
    }
  };
  return step;
}

void FillMeasured(const RequirementForms& r, const RequirementRows& rows, const Figures& figures,
                  const stats::TrialBlock& block, double* out) {
  switch (r.test) {
    case TestKind::kLinear:
      return FillFurthest(r, rows, block, out);
    case TestKind::kMagnitude:
      return FillGreatest(rows, block, out);
    case TestKind::kClearance:
      return FillLeast(r, rows, block, out);
    case TestKind::kScrews:
      return FillExcess(r, rows, figures, block, out);
    case TestKind::kFormula: {
      const std::uint64_t known = FillFormula(r, rows, block, out);
      for (std::size_t i = 0; i < kBlock; ++i) {
        if ((known >> i & 1) == 0) out[i] = 0;
      }
    }
  }
}

}  // namespace fitwright::variation
