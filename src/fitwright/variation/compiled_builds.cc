#include "fitwright/variation/compiled_builds.h"

#include <Eigen/Core>
#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <set>
#include <utility>

#include "fitwright/base/check.h"
#include "fitwright/base/hash.h"

namespace fitwright::variation {
namespace {

constexpr double kMedianToSigma = 1.1774100225154747;  // sqrt(2 ln 2)
constexpr double kChipLow_mm = 0.02;
constexpr double kChipHigh_mm = 0.10;
constexpr double kToolShare = 0.6;
constexpr double kLastCutShare = 0.5;
constexpr double kSlack = 1e-12;  // of limits, as the blocks of BuildRunner have it
constexpr double kNoLimit = 1e300;
// What is left of a row after what earlier rows explain of it, under this share of it, is rounding.
constexpr double kNothingLeft = 1e-11;

bool ReadsPlay(const SourceTable& sources, const Form& form) {
  return std::any_of(form.terms.begin(), form.terms.end(),
                     [&](const Term& t) { return sources[t.source].law == Law::kPlay; });
}

bool CanCompile(const SourceTable& sources, const RequirementForms& r) {
  if (r.test != TestKind::kLinear && r.test != TestKind::kMagnitude &&
      r.test != TestKind::kClearance)
    return false;
  // A least magnitude is no condition on each of several.
  if (r.test == TestKind::kMagnitude && r.lower > 0) return false;
  for (const Form& form : r.linear) {
    if (ReadsPlay(sources, form)) return false;
  }
  for (const auto& pair : r.vectors) {
    if (ReadsPlay(sources, pair[0]) || ReadsPlay(sources, pair[1])) return false;
  }
  return true;
}

// One row of the map before sources are merged. `form` has no constant where it is not kept.
struct Row {
  Form form;
  double low = -kNoLimit;
  double high = kNoLimit;
  std::optional<std::uint32_t> outcome;
  bool kept = false;
  std::uint64_t key = 0;  // names what it adds to the merged normals
};

// Rows and conditions of the requirements, equal rows shared.
class Rows {
 public:
  void Add(const RequirementForms& r, std::uint32_t outcome) {
    outcome_ = outcome;
    name_ = StableHash(r.name.text());
    switch (r.test) {
      case TestKind::kMagnitude:
        return AddMagnitude(r);
      case TestKind::kClearance:
        return AddClearance(r);
      default:
        for (const Form& form : r.linear) Limit(form, r.lower - kSlack, r.upper + kSlack);
    }
  }

  std::vector<Row> rows;
  std::vector<stats::TrialCondition> conditions;

 private:
  using Terms = std::vector<std::pair<SourceIndex, double>>;

  static Terms TermsOf(const Form& form, double sign) {
    Terms terms;
    for (const Term& t : form.terms) terms.push_back({t.source, sign * t.factor});
    return terms;
  }

  void AddMagnitude(const RequirementForms& r) {
    for (std::size_t v = 0; v < r.vectors.size(); ++v) {
      stats::TrialCondition c;
      c.x = Keep(r.vectors[v][0]);
      c.y = Keep(r.vectors[v][1]);
      if (v < r.linear.size()) c.row = Keep(r.linear[v]);
      c.low = -kNoLimit;
      c.high = r.upper + kSlack;
      c.outcome = outcome_;
      conditions.push_back(c);
    }
  }

  void AddClearance(const RequirementForms& r) {
    for (const Form& form : r.linear) {
      if (r.vectors.empty()) {
        Limit(form, r.lower - kSlack, r.upper + kSlack);
        continue;
      }
      Limit(form, -kNoLimit, r.upper + kSlack);
      stats::TrialCondition c;
      c.row = Keep(form);
      c.x = Keep(r.vectors[0][0]);
      c.y = Keep(r.vectors[0][1]);
      c.factor = -r.tilt_length_mm;
      c.low = r.lower - kSlack;
      c.high = kNoLimit;
      c.outcome = outcome_;
      conditions.push_back(c);
    }
  }

  // The row with exactly these terms, or its opposite, in this requirement, is limited further;
  // limits are those of the row without its constant.
  void Limit(const Form& form, double low, double high) {
    low -= form.constant;
    high -= form.constant;
    const bool turned = !form.terms.empty() && form.terms.front().factor < 0;
    if (turned) std::tie(low, high) = std::pair(-high, -low);
    const auto [it, is_new] =
        limited_.try_emplace({outcome_, TermsOf(form, turned ? -1 : 1)}, rows.size());
    if (is_new) {
      Row row;
      row.form = turned ? Scaled(form, -1) : form;
      row.form.constant = 0;
      row.outcome = outcome_;
      row.key = NextKey();
      rows.push_back(std::move(row));
    }
    Row& row = rows[it->second];
    row.low = std::max(row.low, low);
    row.high = std::min(row.high, high);
  }

  std::uint32_t Keep(const Form& form) {
    const auto [it, is_new] = kept_.try_emplace({form.constant, TermsOf(form, 1)}, rows.size());
    if (is_new) {
      Row row;
      row.form = form;
      row.kept = true;
      row.key = NextKey();
      rows.push_back(std::move(row));
    }
    return static_cast<std::uint32_t>(it->second);
  }

  std::uint64_t NextKey() { return MixKeys(name_, 1 + of_name_[name_]++); }

  std::uint32_t outcome_ = 0;
  std::uint64_t name_ = 0;
  std::map<std::uint64_t, std::uint64_t> of_name_;
  std::map<std::pair<std::uint32_t, Terms>, std::size_t> limited_;
  std::map<std::pair<double, Terms>, std::size_t> kept_;
};

// A source's figures in force, as draws.cc has them.
struct Figure {
  double mean = 0;
  double spread = 0;
};
Figure InForce(const Source& s, const Figures& figures) {
  const SpreadFigure& f = figures[Place(s.spread)];
  return {s.unit * f.mean, f.spread == 0 ? 0 : s.unit * f.spread + s.extra};
}

// What a source becomes: mean + factor * (a normal, or a column).
struct Part {
  double mean = 0;
  double factor = 0;
  std::optional<std::size_t> normal;  // among the normals to be merged
  std::optional<std::uint32_t> column;
};

// Turns sources into normals and columns of draws.
class Columns {
 public:
  Columns(const SourceTable& sources, const Figures& figures, const std::vector<SourceIndex>& read,
          stats::TrialProgram& program)
      : sources_(sources), figures_(figures), program_(program) {
    for (const SourceIndex i : read) {
      const Source& s = sources[i];
      if (IsVector(s.law)) sharers_[s.size_key].insert(s.key);
    }
  }

  Part Of(SourceIndex index) {
    const Source& s = sources_[index];
    const Figure f = InForce(s, figures_);
    switch (s.law) {
      case Law::kNormal:
        return {f.mean, f.spread, Normal(s.key), std::nullopt};
      case Law::kHalfNormal:
        return Scaled({.law = stats::DrawLaw::kHalfNormal, .key = s.key}, f.mean, f.spread);
      case Law::kRayleighX:
      case Law::kRayleighY:
      case Law::kFoldedX:
      case Law::kFoldedY:
        return Vector(s, f.spread);
      case Law::kUniform:
        return Scaled({.law = stats::DrawLaw::kUniform, .key = s.key}, 0, f.spread);
      case Law::kFromZero:
        return Scaled({.law = stats::DrawLaw::kFromZero, .key = s.key}, 0, f.spread);
      case Law::kLognormal:
        return Lognormal(s);
      case Law::kChip:
        return Scaled({.law = stats::DrawLaw::kEvent,
                       .key = s.key,
                       .a = f.spread,
                       .b = kChipLow_mm,
                       .c = kChipHigh_mm},
                      0, f.spread > 0 ? 1 : 0);
      case Law::kWorked:
        return Worked(s);
      case Law::kPlay:
        break;
    }
    FailCheck("a source without float", __FILE__, __LINE__,
              std::to_string(static_cast<int>(s.law)));
  }

  std::size_t normals() const { return normals_.size(); }

 private:
  static bool IsVector(Law law) {
    return law == Law::kRayleighX || law == Law::kRayleighY || law == Law::kFoldedX ||
           law == Law::kFoldedY;
  }

  std::size_t Normal(std::uint64_t key) {
    return normals_.try_emplace(key, normals_.size()).first->second;
  }

  Part Scaled(const stats::TrialDraw& draw, double mean, double factor) {
    if (factor == 0) return {mean, 0, std::nullopt, std::nullopt};
    return {mean, factor, std::nullopt, Column(draw, 1)};
  }

  std::uint32_t Column(stats::TrialDraw draw, std::uint32_t wide) {
    draw.column = program_.columns;
    program_.draws.push_back(draw);
    program_.columns += wide;
    return draw.column;
  }

  // A Rayleigh length of uniform direction is a pair of independent normals, unless another vector
  // shares the length.
  Part Vector(const Source& s, double spread) {
    const bool folded = s.law == Law::kFoldedX || s.law == Law::kFoldedY;
    const bool along_x = s.law == Law::kRayleighX || s.law == Law::kFoldedX;
    if (spread == 0) return {};
    const double factor = folded ? spread : spread / kMedianToSigma;
    if (!folded && sharers_[s.size_key].size() == 1)
      return {0, factor, Normal(MixKeys(MixKeys(s.key, s.size_key), along_x ? 1 : 2)),
              std::nullopt};
    const auto [it, is_new] = vectors_.try_emplace({MixKeys(s.key, s.size_key), folded}, 0);
    if (is_new) {
      const stats::DrawLaw law = folded ? stats::DrawLaw::kFolded : stats::DrawLaw::kRound;
      it->second = Column({.law = law, .key = s.key, .length_key = s.size_key}, 2);
    }
    return {0, factor, std::nullopt, it->second + (along_x ? 0 : 1)};
  }

  Part Lognormal(const Source& s) {
    const SpreadFigure& a = figures_[Place(s.spread)];
    const SpreadFigure& b = figures_[Place(s.spread_b)];
    const double w = s.blend;
    const double median = s.unit * ((1 - w) * a.mean + w * b.mean);
    const double sigma = (1 - w) * a.spread + w * b.spread;
    if (sigma == 0) return {median, 0, std::nullopt, std::nullopt};
    return Scaled({.law = stats::DrawLaw::kLognormal,
                   .key = s.key,
                   .length_key = s.size_key,
                   .a = sigma,
                   .b = std::sqrt(kToolShare),
                   .c = std::sqrt(1 - kToolShare)},
                  0, median);
  }

  Part Worked(const Source& s) {
    const WorkedSize& size = sources_.worked()[static_cast<std::size_t>(s.worked)];
    const double last = kLastCutShare * s.unit * figures_[Place(size.cut)].spread;
    stats::WorkedDraw worked;
    worked.reading = figures_[Place(size.reading)].spread;
    worked.cut = std::sqrt(std::max(0.0, last * last - worked.reading * worked.reading));
    worked.low = size.low;
    worked.high = size.high;
    worked.safe_sign = size.safe_sign;
    if (worked.cut == 0 && worked.reading == 0) return {};
    program_.worked.push_back(worked);
    return Scaled({.law = stats::DrawLaw::kWorked,
                   .key = s.key,
                   .worked = static_cast<std::uint32_t>(program_.worked.size() - 1)},
                  0, 1);
  }

  const SourceTable& sources_;
  const Figures& figures_;
  stats::TrialProgram& program_;
  std::map<std::uint64_t, std::set<std::uint64_t>> sharers_;  // directions of a common length
  std::map<std::uint64_t, std::size_t> normals_;              // by key
  std::map<std::pair<std::uint64_t, bool>, std::uint32_t> vectors_;
};

// Orthogonal directions of the rows' normal parts, one after the other (modified Gram and Schmidt,
// twice over): a row is its factors times independent normals, one of its own at most.
class Merged {
 public:
  struct Factor {
    std::size_t direction = 0;
    double factor = 0;
  };

  // The factors of a row; `key` names the direction that it adds.
  std::vector<Factor> Add(Eigen::VectorXd row, std::uint64_t key) {
    const double whole = row.norm();
    std::vector<double> factors(directions_.size());
    for (int pass = 0; pass < 2; ++pass) {
      for (std::size_t k = 0; k < directions_.size(); ++k) {
        const double f = directions_[k].dot(row);
        factors[k] += f;
        row -= f * directions_[k];
      }
    }
    std::vector<Factor> found;
    for (std::size_t k = 0; k < factors.size(); ++k) {
      if (std::abs(factors[k]) > kNothingLeft * whole) found.push_back({k, factors[k]});
    }
    const double left = row.norm();
    if (left > kNothingLeft * whole) {
      found.push_back({directions_.size(), left});
      directions_.push_back(row / left);
      keys_.push_back(key);
    }
    return found;
  }

  const std::vector<std::uint64_t>& keys() const { return keys_; }

 private:
  std::vector<Eigen::VectorXd> directions_;
  std::vector<std::uint64_t> keys_;
};

std::vector<SourceIndex> SourcesOf(const std::vector<Row>& rows) {
  std::set<SourceIndex> read;
  for (const Row& row : rows) {
    for (const Term& t : row.form.terms) read.insert(t.source);
  }
  return {read.begin(), read.end()};
}

// Fills columns, rows and terms of the program.
void Emit(const Analysis& analysis, const Figures& figures, const std::vector<Row>& rows,
          CompiledBuilds& out) {
  stats::TrialProgram& program = out.program;
  const std::vector<SourceIndex> read = SourcesOf(rows);
  Columns columns(analysis.sources, figures, read, program);
  std::map<SourceIndex, Part> parts;
  for (const SourceIndex s : read) {
    const Part part = parts[s] = columns.Of(s);
    out.sources_read += part.factor != 0 ? 1 : 0;
  }
  Merged merged;
  std::vector<std::vector<Merged::Factor>> factors;
  for (const Row& row : rows) {
    Eigen::VectorXd normal = Eigen::VectorXd::Zero(static_cast<Eigen::Index>(columns.normals()));
    for (const Term& t : row.form.terms) {
      const Part& part = parts[t.source];
      if (part.normal) normal[static_cast<Eigen::Index>(*part.normal)] += t.factor * part.factor;
    }
    factors.push_back(merged.Add(std::move(normal), row.key));
  }
  const std::uint32_t first_normal = program.columns;
  for (const std::uint64_t key : merged.keys())
    program.draws.push_back(
        {.law = stats::DrawLaw::kNormal, .key = key, .column = program.columns++});
  for (std::size_t r = 0; r < rows.size(); ++r) {
    stats::TrialRow row;
    row.constant = rows[r].form.constant;
    row.first_term = static_cast<std::uint32_t>(program.terms.size());
    for (const Term& t : rows[r].form.terms) {
      const Part& part = parts[t.source];
      row.constant += t.factor * part.mean;
      if (part.column) program.terms.push_back({*part.column, t.factor * part.factor});
    }
    for (const Merged::Factor& f : factors[r])
      program.terms.push_back({first_normal + static_cast<std::uint32_t>(f.direction), f.factor});
    row.terms = static_cast<std::uint32_t>(program.terms.size()) - row.first_term;
    row.low = rows[r].low;
    row.high = rows[r].high;
    row.outcome = rows[r].outcome;
    row.kept = rows[r].kept;
    program.rows.push_back(row);
  }
}

std::size_t FactorsOf(const RequirementForms& r) {
  std::size_t factors = 0;
  for (const Form& form : r.linear) factors += form.terms.size();
  for (const auto& pair : r.vectors) factors += pair[0].terms.size() + pair[1].terms.size();
  return factors;
}

}  // namespace

CompiledBuilds CompileBuilds(const Analysis& analysis, const Figures& figures) {
  CompiledBuilds out;
  Rows rows;
  for (std::size_t r = 0; r < analysis.requirements.size(); ++r) {
    const RequirementForms& forms = analysis.requirements[r];
    if (!CanCompile(analysis.sources, forms)) {
      out.left.push_back(r);
      continue;
    }
    rows.Add(forms, static_cast<std::uint32_t>(out.requirements.size()));
    out.requirements.push_back(r);
    out.factors_read += FactorsOf(forms);
  }
  out.program.outcomes = static_cast<std::uint32_t>(out.requirements.size());
  out.program.conditions = rows.conditions;
  Emit(analysis, figures, rows.rows, out);
  return out;
}

}  // namespace fitwright::variation
