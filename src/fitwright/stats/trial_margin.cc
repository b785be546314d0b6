#include "fitwright/stats/trial_margin.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>
#include <map>
#include <utility>
#include <vector>

#include "fitwright/base/check.h"
#include "fitwright/stats/normal.h"

namespace fitwright::stats {
namespace {

// A draw and where its normals stand. Draws of one length key share the normal of their length.
struct Placed {
  TrialDraw draw;
  std::size_t own = 0;
  std::size_t length = 0;
  bool shared = false;
};

bool HasLength(DrawLaw law) {
  return law == DrawLaw::kRound || law == DrawLaw::kFolded || law == DrawLaw::kDisc ||
         law == DrawLaw::kLognormal;
}

std::size_t OwnNormalsOf(DrawLaw law) {
  return law == DrawLaw::kWorked ? 1 + 2 * (kMostRecuts + 1) : 1;
}

double Worked(const WorkedDraw& size, const double* u) {
  double before = size.reading * u[0];
  for (int again = 0;; ++again) {
    const double value = size.cut * u[1 + 2 * again] - before;
    before = size.reading * u[2 + 2 * again];
    const double seen = value + before;
    const bool spare = size.safe_sign > 0 ? seen > size.high : seen < size.low;
    if (!spare || again == kMostRecuts) return value;
  }
}

// Length and direction of a plane vector.
void FillVector(const Placed& placed, double length, double direction, double* out) {
  if (placed.draw.law == DrawLaw::kRound && !placed.shared) {
    out[0] = length;
    out[1] = direction;
    return;
  }
  const double angle = 2 * std::acos(-1.0) * NormalCdf(direction);
  const double r = placed.draw.law == DrawLaw::kFolded ? std::fabs(length)
                   : placed.draw.law == DrawLaw::kDisc
                       ? std::sqrt(NormalCdf(length))
                       : std::sqrt(-2 * std::log(NormalCdf(-length)));
  out[0] = r * std::cos(angle);
  out[1] = r * std::sin(angle);
}

// Values of a draw's columns at its normals.
void Fill(const TrialProgram& program, const Placed& placed, std::span<const double> u,
          double* out) {
  const TrialDraw& draw = placed.draw;
  const double x = u[placed.own];
  switch (draw.law) {
    case DrawLaw::kNormal:
      out[0] = x;
      return;
    case DrawLaw::kHalfNormal:
      out[0] = std::fabs(x);
      return;
    case DrawLaw::kUniform:
      out[0] = NormalCdf(x) - NormalCdf(-x);
      return;
    case DrawLaw::kFromZero:
      out[0] = NormalCdf(x);
      return;
    case DrawLaw::kRound:
    case DrawLaw::kFolded:
    case DrawLaw::kDisc:
      return FillVector(placed, u[placed.length], x, out);
    case DrawLaw::kLognormal:
      out[0] = std::exp(draw.a * (draw.b * u[placed.length] + draw.c * x));
      return;
    case DrawLaw::kEvent: {
      const double p = NormalCdf(-x);
      out[0] = p < draw.a ? draw.b + (draw.c - draw.b) * p / draw.a : 0;
      return;
    }
    case DrawLaw::kWorked:
      out[0] = Worked(program.worked[draw.worked], u.data() + placed.own);
      return;
  }
}

// The part of a program that one outcome reads, rows and conditions of it alone.
class Part {
 public:
  Part(const TrialProgram& program, std::uint32_t outcome)
      : program_(OnlyOutcomes(program, {outcome})) {
    for (const TrialStage& stage : program_.stages) stepless_ &= stage.steps.empty();
    PlaceNormals();
  }

  bool stepless() const { return stepless_; }
  std::size_t normals() const { return normals_; }

  double Margin(std::span<const double> u) const {
    std::vector<double> columns(program_.columns);
    for (const Placed& placed : draws_)
      Fill(program_, placed, u, columns.data() + placed.draw.column);
    double least = std::numeric_limits<double>::infinity();
    std::vector<double> rows(program_.rows.size());
    std::size_t done = 0;
    for (const TrialStage& stage : program_.stages) {
      for (; done < stage.before_row; ++done) AddRow(done, columns, rows, least);
      for (const TrialRest& rest : stage.rests) {
        const double room = std::max(0.0, rows[rest.room]);
        columns[rest.column] = room * (rest.disc ? columns[*rest.disc] : rest.at_x) - rows[rest.x];
        columns[rest.column + 1] =
            room * (rest.disc ? columns[*rest.disc + 1] : rest.at_y) - rows[rest.y];
      }
    }
    for (; done < rows.size(); ++done) AddRow(done, columns, rows, least);
    for (const TrialCondition& c : program_.conditions) {
      const double value = (c.row ? rows[*c.row] : 0) + c.factor * std::hypot(rows[c.x], rows[c.y]);
      least = std::min({least, value - c.low, c.high - value});
    }
    return least;
  }

 private:
  void AddRow(std::size_t r, const std::vector<double>& columns, std::vector<double>& rows,
              double& least) const {
    const TrialRow& row = program_.rows[r];
    if (!row.kept && !row.outcome) return;
    rows[r] = row.constant;
    for (std::uint32_t t = row.first_term; t < row.first_term + row.terms; ++t)
      rows[r] += program_.terms[t].factor * columns[program_.terms[t].column];
    if (row.outcome) least = std::min({least, rows[r] - row.low, row.high - rows[r]});
  }

  void PlaceNormals() {
    std::map<std::pair<DrawLaw, std::uint64_t>, std::vector<std::size_t>> lengths;
    for (const TrialDraw& draw : program_.draws) {
      if (HasLength(draw.law)) lengths[{draw.law, draw.length_key}].push_back(draws_.size());
      draws_.push_back({draw, normals_});
      normals_ += OwnNormalsOf(draw.law);
    }
    for (const auto& [key, draws] : lengths) {
      for (const std::size_t d : draws) {
        draws_[d].length = normals_;
        draws_[d].shared = draws.size() > 1;
      }
      ++normals_;
    }
  }

  TrialProgram program_;
  bool stepless_ = true;
  std::vector<Placed> draws_;
  std::size_t normals_ = 0;
};

}  // namespace

bool HasMargin(const TrialProgram& program, std::uint32_t outcome) {
  return outcome < program.outcomes && Part(program, outcome).stepless();
}

TrialMargin MarginOf(const TrialProgram& program, std::uint32_t outcome) {
  FW_CHECK(outcome < program.outcomes, outcome, program.outcomes);
  const Part part(program, outcome);
  FW_CHECK(part.stepless(), outcome);
  return {[part](std::span<const double> u) { return part.Margin(u); }, part.normals()};
}

bool Agrees(const Interval& found, std::int64_t missed, std::int64_t trials) {
  constexpr double kSureOf = 0.999;
  const Interval counted = ClopperPearsonInterval(missed, trials, kSureOf);
  return found.low <= counted.high && found.high >= counted.low;
}

MissChance CalcMissChance(const TrialProgram& program, std::uint32_t outcome,
                          const MissOptions& options) {
  TrialRun run;
  run.seed = options.seed;
  run.trials = options.trials;
  run.threads = options.threads;
  const std::vector<std::uint64_t> words = RunTrials(program, run);
  const std::size_t each = words.size() / program.outcomes;
  std::int64_t missed = 0;
  for (std::size_t w = 0; w < each; ++w) missed += std::popcount(~words[outcome * each + w]);
  MissChance miss{static_cast<double>(missed) / static_cast<double>(options.trials),
                  CountedInterval(missed, options.trials), false};
  if (missed >= options.seldom || !HasMargin(program, outcome)) return miss;
  const TrialMargin margin = MarginOf(program, outcome);
  if (margin.dimensions == 0) return {miss.chance, {miss.chance, miss.chance}, false};
  RareOptions rare;
  rare.seed = options.seed;
  const RareChance found = CalcRareChance(margin.margin, margin.dimensions, rare);
  const bool narrower =
      found.interval.high - found.interval.low <= miss.interval.high - miss.interval.low;
  if (!narrower || !found.trusted || !Agrees(found.interval, missed, options.trials)) return miss;
  return {found.chance, found.interval, true};
}

}  // namespace fitwright::stats
