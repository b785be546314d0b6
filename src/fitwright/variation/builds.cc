#include "fitwright/variation/builds.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "fitwright/stats/random.h"
#include "fitwright/variation/draws.h"
#include "fitwright/variation/play_rest.h"

namespace fitwright::variation {
namespace {

using Lanes = std::array<double, kLanes>;

// The conditions of a float or joint, for kLanes builds.
struct LimitLanes {
  std::vector<std::array<Lanes, 3>> planes;  // offset x, y, room
};

void EvaluateLimits(const FloatLimits& limits, std::span<const double> values, LimitLanes& out) {
  out.planes.resize(limits.limits.size());
  for (std::size_t i = 0; i < limits.limits.size(); ++i) {
    const FloatLimit& limit = limits.limits[i];
    EvaluateLanes(limit.offset[0], values, out.planes[i][0].data());
    EvaluateLanes(limit.offset[1], values, out.planes[i][1].data());
    // A pattern's planes share the screw's room.
    if (i > 0 && limit.screw >= 0 && limit.screw == limits.limits[i - 1].screw) {
      out.planes[i][2] = out.planes[i - 1][2];
    } else {
      EvaluateLanes(limit.room, values, out.planes[i][2].data());
    }
  }
}

// rock widens the rooms (a float's limits) or is kept as the screw's own freedom.
void FillProblem(const FloatLimits& limits, const LimitLanes& lanes, std::size_t lane, double rock,
                 bool widen, ScrewProblem& problem) {
  problem.planes.resize(limits.limits.size());
  problem.rock_limit = widen ? 0 : rock;
  problem.may_turn = true;
  for (std::size_t i = 0; i < limits.limits.size(); ++i) {
    const FloatLimit& limit = limits.limits[i];
    ScrewPlane& plane = problem.planes[i];
    plane.offset = Vec2(lanes.planes[i][0][lane], lanes.planes[i][1][lane]);
    plane.q = limit.q;
    plane.room = lanes.planes[i][2][lane] + (widen ? rock * limit.rock_arm_mm : 0);
    plane.arm = widen ? 0 : limit.rock_arm_mm;
    plane.screw = limit.screw;
  }
}

double RockOf(const FloatLimits& limits, const Figures& figures) {
  return figures[Place(SpreadId::kThreadPlay)].spread / std::max(0.1, limits.engagement_mm);
}

void TestLinear(const RequirementForms& r, std::span<const double> values, double* out,
                std::uint8_t* met) {
  const bool both = r.lower > -1e299 && r.upper < 1e299;
  const bool low_only = r.lower > -1e299 && r.upper > 1e299;
  const double middle = both ? 0.5 * (r.lower + r.upper) : 0;
  Lanes one;
  for (std::size_t k = 0; k < r.linear.size(); ++k) {
    EvaluateLanes(r.linear[k], values, one.data());
    for (int i = 0; i < kLanes; ++i) {
      const double v = one[static_cast<std::size_t>(i)];
      const bool worse = low_only ? v < out[i] : std::abs(v - middle) > std::abs(out[i] - middle);
      if (k == 0 || worse) out[i] = v;
      const bool in = v >= r.lower - 1e-12 && v <= r.upper + 1e-12;
      met[i] = static_cast<std::uint8_t>((k == 0 || met[i] != 0) && in);
    }
  }
}

void TestMagnitude(const RequirementForms& r, std::span<const double> values, double* out,
                   std::uint8_t* met) {
  Lanes x;
  Lanes y;
  Lanes more{};
  std::fill(out, out + kLanes, 0.0);
  for (std::size_t v = 0; v < r.vectors.size(); ++v) {
    EvaluateLanes(r.vectors[v][0], values, x.data());
    EvaluateLanes(r.vectors[v][1], values, y.data());
    if (v < r.linear.size()) EvaluateLanes(r.linear[v], values, more.data());
    for (int i = 0; i < kLanes; ++i) {
      const auto k = static_cast<std::size_t>(i);
      out[i] = std::max(out[i], std::sqrt(x[k] * x[k] + y[k] * y[k]) + more[k]);
    }
  }
  for (int i = 0; i < kLanes; ++i)
    met[i] = static_cast<std::uint8_t>(out[i] <= r.upper + 1e-12 && out[i] >= r.lower - 1e-12);
}

void TestClearance(const RequirementForms& r, std::span<const double> values, double* out,
                   std::uint8_t* met) {
  Lanes tilt{};
  if (!r.vectors.empty()) {
    Lanes y;
    EvaluateLanes(r.vectors[0][0], values, tilt.data());
    EvaluateLanes(r.vectors[0][1], values, y.data());
    for (std::size_t i = 0; i < kLanes; ++i)
      tilt[i] = r.tilt_length_mm * std::sqrt(tilt[i] * tilt[i] + y[i] * y[i]);
  }
  Lanes one;
  std::array<double, kLanes> least;
  std::array<double, kLanes> greatest;
  least.fill(1e300);
  greatest.fill(-1e300);
  for (const Form& form : r.linear) {
    EvaluateLanes(form, values, one.data());
    for (std::size_t i = 0; i < kLanes; ++i) {
      least[i] = std::min(least[i], one[i]);
      greatest[i] = std::max(greatest[i], one[i]);
    }
  }
  for (int i = 0; i < kLanes; ++i) {
    const auto k = static_cast<std::size_t>(i);
    out[i] = least[k] - tilt[k];
    met[i] = static_cast<std::uint8_t>(out[i] >= r.lower - 1e-12 && greatest[k] <= r.upper + 1e-12);
  }
}

// Every pattern of `all` for itself: met where each enters; reported: the tightest's excess.
void TestScrews(std::span<const FloatLimits* const> all, std::span<const double> values,
                const Figures& figures, bool exact_value, double* out, std::uint8_t* met) {
  LimitLanes lanes;
  ScrewProblem problem;
  for (std::size_t k = 0; k < all.size(); ++k) {
    EvaluateLimits(*all[k], values, lanes);
    const double rock = RockOf(*all[k], figures);
    for (int i = 0; i < kLanes; ++i) {
      FillProblem(*all[k], lanes, static_cast<std::size_t>(i), rock, false, problem);
      double excess = 0;
      bool enters = false;
      if (exact_value) {
        excess = SolveScrews(problem).excess;
        enters = excess <= 1e-9;
      } else {
        enters = ScrewsEnter(problem);
        excess = enters ? -1 : 1;
      }
      out[i] = k == 0 ? excess : std::max(out[i], excess);
      met[i] = static_cast<std::uint8_t>((k == 0 || met[i] != 0) && enters);
    }
  }
}

// A value that cannot be reckoned is not met, and reported as 0.
void TestFormula(const RequirementForms& r, std::span<const double> values, double* out,
                 std::uint8_t* met) {
  std::vector<Lanes> lanes(r.linear.size());
  for (std::size_t n = 0; n < r.linear.size(); ++n)
    EvaluateLanes(r.linear[n], values, lanes[n].data());
  std::vector<double> names(r.linear.size());
  for (int i = 0; i < kLanes; ++i) {
    for (std::size_t n = 0; n < names.size(); ++n) names[n] = lanes[n][static_cast<std::size_t>(i)];
    const Result<double> value = r.formula->Evaluate(names);
    out[i] = value ? *value : 0;
    met[i] = static_cast<std::uint8_t>(value && *value >= r.lower && *value <= r.upper);
  }
}

using Marks = std::vector<std::uint8_t>;

void MarkRead(const Form& form, Marks& read) {
  for (const Term& term : form.terms) read[term.source] = 1;
}

void MarkRead(const FloatLimits& limits, Marks& read) {
  for (const FloatLimit& limit : limits.limits) {
    MarkRead(limit.offset[0], read);
    MarkRead(limit.offset[1], read);
    MarkRead(limit.room, read);
  }
}

void MarkRead(const RequirementForms& r, Marks& read) {
  for (const Form& form : r.linear) MarkRead(form, read);
  for (const auto& pair : r.vectors) {
    MarkRead(pair[0], read);
    MarkRead(pair[1], read);
  }
  MarkRead(r.screws, read);
  for (const FloatLimits& limits : r.stack) MarkRead(limits, read);
}

void MarkRead(const Play& play, Marks& read) {
  MarkRead(play.within, read);
  for (const auto& [form, tolerance] : play.targets) MarkRead(form, read);
  if (play.has_residual) {
    for (const SourceIndex s : play.residual) read[s] = 1;
  }
  if (play.returns) {
    read[play.before[0]] = read[play.before[1]] = 1;
    if (play.before_turns) read[play.before[2]] = 1;
  }
}

}  // namespace

void EvaluateLanes(const Form& form, std::span<const double> values, double* out) {
  for (int i = 0; i < kLanes; ++i) out[i] = form.constant;
  for (const Term& term : form.terms) {
    const double* v = values.data() + static_cast<std::size_t>(term.source) * kLanes;
    const double factor = term.factor;
    for (int i = 0; i < kLanes; ++i) out[i] += factor * v[i];
  }
}

BuildRunner::BuildRunner(const Analysis& analysis, bool all_worked) : analysis_(analysis) {
  std::vector<std::size_t> every(analysis.requirements.size());
  std::iota(every.begin(), every.end(), std::size_t{0});
  all_ = WantedOf(every);
  standard_at_.resize(analysis_.sources.size());
  for (std::size_t s = 0; s < analysis_.sources.size(); ++s) {
    const Law law = analysis_.sources[static_cast<SourceIndex>(s)].law;
    if (all_worked && law == Law::kWorked) all_.sources[s] = 1;
    standard_at_[s] = standards_;
    if (all_.sources[s] != 0 && law != Law::kPlay)
      standards_ += law == Law::kWorked ? 3 * kLanes : kLanes;
  }
}

Wanted BuildRunner::WantedOf(const std::vector<std::size_t>& requirements) const {
  Wanted wanted;
  wanted.requirements.resize(analysis_.requirements.size());
  wanted.sources.resize(analysis_.sources.size());
  wanted.plays.resize(analysis_.plays.size());
  for (const std::size_t r : requirements) {
    wanted.requirements[r] = 1;
    MarkRead(analysis_.requirements[r], wanted.sources);
  }
  // A later play may rest on an earlier one, never the other way round.
  for (std::size_t i = analysis_.plays.size(); i-- > 0;) {
    const Play& play = analysis_.plays[i];
    const bool read = wanted.sources[play.tx] != 0 || wanted.sources[play.ty] != 0 ||
                      (play.theta && wanted.sources[*play.theta] != 0);
    if (!read) continue;
    wanted.plays[i] = 1;
    MarkRead(play, wanted.sources);
  }
  return wanted;
}

void BuildRunner::Draw(std::int64_t first, const BlockOptions& options,
                       Standards& standards) const {
  standards.first = first;
  standards.numbers.resize(standards_);
  for (std::size_t s = 0; s < analysis_.sources.size(); ++s) {
    const Source& source = analysis_.sources[static_cast<SourceIndex>(s)];
    if (all_.sources[s] != 0 && source.law != Law::kPlay)
      FillStandard(source, first, options, standards.numbers.data() + standard_at_[s]);
  }
}

void BuildRunner::RestPlay(const Play& play, std::int64_t first, const Figures& figures,
                           const BlockOptions& options, std::vector<double>& values) const {
  LimitLanes lanes;
  EvaluateLimits(play.within, values, lanes);
  std::vector<Lanes> targets(play.targets.size());
  PlayCase one;
  one.kind = play.kind;
  one.returns = play.returns;
  one.random = figures[Place(SpreadId::kJointPlay)].spread > 0;
  one.has_theta = play.theta.has_value();
  one.has_residual = play.has_residual;
  one.push = play.push;
  one.target_factors = play.target_factors;
  one.stream = stats::StreamKey(options.seed, play.key);
  for (std::size_t t = 0; t < targets.size(); ++t) {
    EvaluateLanes(play.targets[t].first, values, targets[t].data());
    one.target_tolerances.push_back(play.targets[t].second);
  }
  one.target_values.resize(targets.size());
  const double rock = RockOf(play.within, figures);
  const auto at = [&](SourceIndex s, int lane) -> double& {
    return values[static_cast<std::size_t>(s) * kLanes + static_cast<std::size_t>(lane)];
  };
  for (int i = 0; i < kLanes; ++i) {
    FillProblem(play.within, lanes, static_cast<std::size_t>(i), rock, true, one.limits);
    one.build = static_cast<std::uint64_t>(first + i);
    for (std::size_t t = 0; t < targets.size(); ++t)
      one.target_values[t] = targets[t][static_cast<std::size_t>(i)];
    if (play.has_residual)
      one.residual =
          PlanarMove(at(play.residual[0], i), at(play.residual[1], i), at(play.residual[2], i));
    if (play.returns) {
      one.before = PlanarMove(at(play.before[0], i), at(play.before[1], i),
                              play.before_turns ? at(play.before[2], i) : 0);
    }
    const PlanarMove rest = RestOf(one);
    at(play.tx, i) = rest[0];
    at(play.ty, i) = rest[1];
    if (play.theta) at(*play.theta, i) = rest[2];
  }
}

void BuildRunner::FillValues(const Standards& standards, const Figures& figures,
                             const BlockOptions& options, std::vector<double>& values,
                             BlockOutcome& outcome) const {
  FillWanted(standards, figures, options, all_, values, outcome);
}

void BuildRunner::FillWanted(const Standards& standards, const Figures& figures,
                             const BlockOptions& options, const Wanted& wanted,
                             std::vector<double>& values, BlockOutcome& outcome) const {
  const SourceTable& sources = analysis_.sources;
  values.resize(sources.size() * kLanes);
  outcome.rework_min.assign(kLanes, 0);
  outcome.remake_min.assign(kLanes, 0);
  outcome.spoils.assign(kLanes, 0);
  outcome.spoiled.assign(sources.worked().size() * kLanes, 0);
  std::array<WorkedOutcome, kLanes> worked;
  for (std::size_t s = 0; s < sources.size(); ++s) {
    double* out = values.data() + s * kLanes;
    const Source& source = sources[static_cast<SourceIndex>(s)];
    if (wanted.sources[s] == 0 || source.law == Law::kPlay) {
      std::fill(out, out + kLanes, 0.0);
      continue;
    }
    const double* standard = standards.numbers.data() + standard_at_[s];
    if (source.law != Law::kWorked) {
      ScaleSource(source, figures, standard, out);
      continue;
    }
    const WorkedSize& size = sources.worked()[static_cast<std::size_t>(source.worked)];
    FillWorked(source, size, standards.first, figures, options, standard, worked.data());
    for (int i = 0; i < kLanes; ++i) {
      const auto k = static_cast<std::size_t>(i);
      out[i] = worked[k].value;
      outcome.rework_min[k] += worked[k].recuts * size.recut_min;
      if (!worked[k].spoiled) continue;
      outcome.spoils[k] = 1;
      outcome.spoiled[static_cast<std::size_t>(source.worked) * kLanes + k] = 1;
      if (size.part >= 0)
        outcome.remake_min[k] += analysis_.parts[static_cast<std::size_t>(size.part)].minutes;
    }
  }
  for (std::size_t i = 0; i < analysis_.plays.size(); ++i) {
    if (wanted.plays[i] != 0)
      RestPlay(analysis_.plays[i], standards.first, figures, options, values);
  }
}

void BuildRunner::RunBlock(const Standards& standards, const Figures& figures,
                           const BlockOptions& options, BlockOutcome& outcome) const {
  RunBlock(standards, figures, options, all_, outcome);
}

void BuildRunner::RunBlock(const Standards& standards, const Figures& figures,
                           const BlockOptions& options, const Wanted& wanted,
                           BlockOutcome& outcome) const {
  thread_local std::vector<double> values;
  FillWanted(standards, figures, options, wanted, values, outcome);
  const std::size_t count = analysis_.requirements.size();
  outcome.values.resize(count * kLanes);
  outcome.met.resize(count * kLanes);
  for (std::size_t r = 0; r < count; ++r) {
    if (wanted.requirements[r] == 0) continue;
    double* out = outcome.values.data() + r * kLanes;
    std::uint8_t* met = outcome.met.data() + r * kLanes;
    const RequirementForms& forms = analysis_.requirements[r];
    switch (forms.test) {
      case TestKind::kLinear:
        TestLinear(forms, values, out, met);
        break;
      case TestKind::kMagnitude:
        TestMagnitude(forms, values, out, met);
        break;
      case TestKind::kClearance:
        TestClearance(forms, values, out, met);
        break;
      case TestKind::kScrews: {
        std::vector<const FloatLimits*> all = {&forms.screws};
        for (const FloatLimits& limits : forms.stack) all.push_back(&limits);
        TestScrews(all, values, figures, options.values, out, met);
      } break;
      case TestKind::kFormula:
        TestFormula(forms, values, out, met);
        break;
    }
  }
}

}  // namespace fitwright::variation
