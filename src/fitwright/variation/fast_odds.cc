#include "fitwright/variation/fast_odds.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <numeric>
#include <set>
#include <string>
#include <utility>

#include "fitwright/base/check.h"
#include "fitwright/stats/normal.h"
#include "fitwright/stats/points.h"
#include "fitwright/variation/compiled_builds.h"
#include "fitwright/variation/met_counts.h"
#include "fitwright/variation/source_laws.h"

namespace fitwright::variation {
namespace {

constexpr double kSlack = 1e-12;  // of limits
constexpr double kReach = 7;  // sigma: of sizes and tilts integrated over
constexpr int kSizePlaces = 129;
constexpr int kTiltDraws = 4096;
constexpr std::int64_t kLeastBuilds = 100;
constexpr double kTurn = 6.283185307179586;

// Places and weights of an even grid over a density of one number.
struct Nodes {
  std::vector<double> at;
  std::vector<double> weights;
};
template <typename Density>
Nodes NodesOf(double from, double to, int count, Density density) {
  Nodes nodes;
  double sum = 0;
  for (int i = 0; i < count; ++i) {
    nodes.at.push_back(from + (to - from) * i / (count - 1));
    const double end = i == 0 || i + 1 == count ? 0.5 : 1;
    nodes.weights.push_back(end * density(nodes.at.back()));
    sum += nodes.weights.back();
  }
  for (double& w : nodes.weights) w /= sum;
  return nodes;
}
double Bell(double x) { return std::exp(-0.5 * x * x); }
const Nodes& NormalNodes() {
  static const Nodes nodes = NodesOf(-6, 6, 97, Bell);
  return nodes;
}
const Nodes& FewNormalNodes() {
  static const Nodes nodes = NodesOf(-5.5, 5.5, 33, Bell);
  return nodes;
}
// Lengths that several directions share: Rayleigh with sigma 1, and |N|.
const Nodes& LengthNodes(bool folded) {
  static const Nodes kFolded = NodesOf(0, 6, 65, Bell);
  static const Nodes kRayleigh = NodesOf(0, 6.5, 65, [](double x) { return x * Bell(x); });
  return folded ? kFolded : kRayleigh;
}

// Terms whose sources are not independent of each other, by what they share.
struct Vectors {
  bool folded = false;
  std::map<std::uint64_t, std::array<double, 2>> by_direction;  // factors of cosine and sine
};
// Holes of one drill: factor * median, log-sigma of the drill, and of the hole.
using Oversizes = std::vector<std::array<double, 3>>;

class Adder {
 public:
  Adder(const SourceTable& sources, const Figures& figures, LawMemo& memo)
      : sources_(sources), figures_(figures), memo_(memo) {}

  // False: reads a float.
  bool Add(const Term& term) {
    const Source& s = sources_[term.source];
    const FigureInForce f = InForce(s, figures_);
    const double by = term.factor * f.spread;
    switch (s.law) {
      case Law::kNormal:
        law_.AddNormal(term.factor * f.mean, by);
        return true;
      case Law::kHalfNormal:
        law_.AddFixed(term.factor * f.mean);
        law_.AddHalfNormal(by);
        return true;
      case Law::kRayleighX:
      case Law::kRayleighY:
      case Law::kFoldedX:
      case Law::kFoldedY:
        AddVector(s, by);
        return true;
      case Law::kUniform:
        law_.AddUniform(-std::abs(by), std::abs(by));
        return true;
      case Law::kFromZero:
        law_.AddUniform(std::min(0.0, by), std::max(0.0, by));
        return true;
      case Law::kLognormal:
        AddOversize(s, term.factor);
        return true;
      case Law::kChip:
        AddChip(f.spread, term.factor);
        return true;
      case Law::kWorked:
        AddWorked(s, term.factor);
        return true;
      case Law::kPlay:
        return false;
    }
    return false;
  }

  stats::SumLaw Finish(double constant) {
    law_.AddFixed(constant);
    for (const auto& [length, vectors] : vectors_) FinishVectors(vectors);
    for (const auto& [drill, holes] : oversizes_) FinishOversizes(holes);
    return std::move(law_);
  }

 private:
  void AddVector(const Source& s, double by) {
    const bool folded = s.law == Law::kFoldedX || s.law == Law::kFoldedY;
    const bool along_x = s.law == Law::kRayleighX || s.law == Law::kFoldedX;
    Vectors& vectors = vectors_[{s.size_key, folded}];
    vectors.folded = folded;
    vectors.by_direction[s.key][along_x ? 0 : 1] += folded ? by : by / kMedianToSigma;
  }

  // One direction of a Rayleigh length is a pair of normals; with a common length the average over
  // it of what uniform directions give, J0 each.
  void FinishVectors(const Vectors& vectors) {
    std::vector<double> lengths;
    double variance = 0;
    for (const auto& [direction, factors] : vectors.by_direction) {
      const double length = std::hypot(factors[0], factors[1]);
      if (length > 0) lengths.push_back(length);
      variance += length * length * (vectors.folded ? 0.5 : 1);
    }
    if (lengths.empty()) return;
    if (!vectors.folded && lengths.size() == 1) return law_.AddNormal(0, lengths.front());
    const Nodes& nodes = LengthNodes(vectors.folded);
    law_.Add(0, variance, [&nodes, lengths = std::move(lengths)](double t) {
      double sum = 0;
      for (std::size_t i = 0; i < nodes.at.size(); ++i) {
        double product = nodes.weights[i];
        for (const double length : lengths) product *= ::j0(t * nodes.at[i] * length);
        sum += product;
      }
      return std::complex<double>(sum, 0);
    });
  }

  void AddOversize(const Source& s, double factor) {
    const SpreadFigure& a = figures_[Place(s.spread)];
    const SpreadFigure& b = figures_[Place(s.spread_b)];
    const double w = s.blend;
    const double median = s.unit * ((1 - w) * a.mean + w * b.mean);
    const double sigma = (1 - w) * a.spread + w * b.spread;
    if (sigma == 0) return law_.AddFixed(factor * median);
    oversizes_[s.size_key].push_back(
        {factor * median, sigma * std::sqrt(kToolShare), sigma * std::sqrt(1 - kToolShare)});
  }

  void FinishOversizes(const Oversizes& holes) {
    const Nodes& nodes = NormalNodes();
    if (holes.size() == 1) {
      std::vector<double> values;
      const auto& [median, common, own] = holes.front();
      for (const double z : nodes.at)
        values.push_back(median * std::exp(std::hypot(common, own) * z));
      return law_.AddPoints(std::move(values), nodes.weights);
    }
    AddSharedTool(holes, FewNormalNodes());
  }

  // For each of the tool's own errors the holes are independent of each other.
  void AddSharedTool(const Oversizes& holes, const Nodes& nodes) {
    double mean = 0;
    double variance = 0;
    for (const auto& [a, common, own] : holes) {
      mean += a * std::exp(0.5 * (common * common + own * own));
      for (const auto& [b, other, its_own] : holes) {
        const bool same = &a == &b;
        const double both =
            a * b *
            std::exp(0.5 * (common * common + own * own + other * other + its_own * its_own));
        variance += both * std::expm1(common * other + (same ? own * its_own : 0));
      }
    }
    law_.Add(mean, variance, [holes, &nodes](double t) {
      std::complex<double> sum = 0;
      for (std::size_t i = 0; i < nodes.at.size(); ++i) {
        if (nodes.weights[i] < 1e-9) continue;
        std::complex<double> product = nodes.weights[i];
        for (const auto& [median, common, own] : holes) {
          std::complex<double> hole = 0;
          const double middle = t * median * std::exp(common * nodes.at[i]);
          for (std::size_t k = 0; k < nodes.at.size(); ++k) {
            const double angle = middle * std::exp(own * nodes.at[k]);
            hole += nodes.weights[k] * std::complex<double>(std::cos(angle), std::sin(angle));
          }
          product *= hole;
        }
        sum += product;
      }
      return sum;
    });
  }

  void AddChip(double chance, double factor) {
    if (chance <= 0) return;
    const double a = factor * kChipLow_mm;
    const double b = factor * kChipHigh_mm;
    law_.AddEvent(std::min(1.0, chance), std::min(a, b), std::max(a, b));
  }

  void AddWorked(const Source& s, double factor) {
    const WorkedSize& size = sources_.worked()[static_cast<std::size_t>(s.worked)];
    const double last = kLastCutShare * s.unit * figures_[Place(size.cut)].spread;
    stats::WorkedDraw worked;
    worked.reading = figures_[Place(size.reading)].spread;
    worked.cut = std::sqrt(std::max(0.0, last * last - worked.reading * worked.reading));
    worked.low = size.low;
    worked.high = size.high;
    worked.safe_sign = size.safe_sign;
    stats::LawPoints law = memo_.OfWorked(worked);
    for (double& v : law.values) v *= factor;
    law_.AddPoints(std::move(law.values), std::move(law.weights));
  }

  const SourceTable& sources_;
  const Figures& figures_;
  LawMemo& memo_;
  stats::SumLaw law_;
  std::map<std::pair<std::uint64_t, bool>, Vectors> vectors_;
  std::map<std::uint64_t, Oversizes> oversizes_;
};

bool ReadsPlay(const SourceTable& sources, const Form& form) {
  return std::any_of(form.terms.begin(), form.terms.end(),
                     [&](const Term& t) { return sources[t.source].law == Law::kPlay; });
}

// +1 or -1 where b's terms are a's or their opposites.
double SignOf(const Form& a, const Form& b) {
  for (const double sign : {1.0, -1.0}) {
    const bool same = std::equal(a.terms.begin(), a.terms.end(), b.terms.begin(), b.terms.end(),
                                 [&](const Term& x, const Term& y) {
                                   return x.source == y.source && x.factor == sign * y.factor;
                                 });
    if (same) return sign;
  }
  return 0;
}

// What the randomness of a form's sources is named by.
void AddNames(const SourceTable& sources, const Form& form, std::set<std::uint64_t>& names) {
  for (const Term& t : form.terms) {
    const Source& s = sources[t.source];
    names.insert(s.key);
    const bool has_second = s.law == Law::kLognormal || s.law == Law::kRayleighX ||
                            s.law == Law::kRayleighY || s.law == Law::kFoldedX ||
                            s.law == Law::kFoldedY;
    if (has_second) names.insert(s.size_key);
  }
}

bool HaveNothingInCommon(const SourceTable& sources, const Form& form,
                         const std::array<Form, 2>& tilt) {
  std::set<std::uint64_t> own;
  std::set<std::uint64_t> of_tilt;
  AddNames(sources, form, own);
  for (const Form& f : tilt) {
    if (ReadsPlay(sources, f)) return false;
    AddNames(sources, f, of_tilt);
  }
  return std::none_of(of_tilt.begin(), of_tilt.end(),
                      [&](std::uint64_t name) { return own.contains(name); });
}

// A source's values in a fixed set of well-spread draws. Empty: a law that tilts do not have.
std::vector<double> ValuesOf(const Source& s, const Figures& figures) {
  const FigureInForce f = InForce(s, figures);
  std::vector<double> values = stats::LatinNormal(s.key, kTiltDraws);
  switch (s.law) {
    case Law::kNormal:
      for (double& v : values) v = f.mean + f.spread * v;
      return values;
    case Law::kHalfNormal:
      for (double& v : values) v = f.mean + f.spread * std::abs(v);
      return values;
    case Law::kUniform:
    case Law::kFromZero:
      values = stats::LatinUniform(s.key, kTiltDraws);
      for (double& v : values) v = f.spread * (s.law == Law::kUniform ? 2 * v - 1 : v);
      return values;
    case Law::kRayleighX:
    case Law::kRayleighY:
    case Law::kFoldedX:
    case Law::kFoldedY: {
      const bool folded = s.law == Law::kFoldedX || s.law == Law::kFoldedY;
      const bool along_x = s.law == Law::kRayleighX || s.law == Law::kFoldedX;
      const std::vector<double> length = stats::LatinUniform(s.size_key, kTiltDraws, 1);
      const std::vector<double> turn = stats::LatinUniform(s.key, kTiltDraws, 2);
      for (std::size_t i = 0; i < values.size(); ++i) {
        const double r = folded ? std::abs(stats::InverseNormal(length[i]))
                                : std::sqrt(-2 * std::log1p(-length[i])) / kMedianToSigma;
        const double angle = kTurn * turn[i];
        values[i] = f.spread * r * (along_x ? std::cos(angle) : std::sin(angle));
      }
      return values;
    }
    case Law::kLognormal:
    case Law::kChip:
    case Law::kWorked:
    case Law::kPlay:
      return {};
  }
  return {};
}

// Lengths of the tilt in those draws, ascending.
std::vector<double> TiltsOf(const SourceTable& sources, const Figures& figures,
                            const std::array<Form, 2>& tilt) {
  std::array<std::vector<double>, 2> sums;
  for (std::size_t axis = 0; axis < 2; ++axis) {
    sums[axis].assign(kTiltDraws, tilt[axis].constant);
    for (const Term& t : tilt[axis].terms) {
      const std::vector<double> values = ValuesOf(sources[t.source], figures);
      if (values.empty()) return {};
      for (std::size_t i = 0; i < values.size(); ++i) sums[axis][i] += t.factor * values[i];
    }
  }
  for (std::size_t i = 0; i < kTiltDraws; ++i) sums[0][i] = std::hypot(sums[0][i], sums[1][i]);
  std::sort(sums[0].begin(), sums[0].end());
  return sums[0];
}

// Over every `stride`-th of the values, of which there are 4 n + 1.
double Simpson(const std::vector<double>& values, double step, std::size_t stride) {
  double sum = 0;
  const std::size_t last = (values.size() - 1) / stride;
  for (std::size_t i = 0; i <= last; ++i)
    sum += values[i * stride] * (i == 0 || i == last ? 1 : i % 2 == 1 ? 4 : 2);
  return sum * step * static_cast<double>(stride) / 3;
}

std::optional<FastOdds> OddsOf(const OneQuantity& one, const SourceTable& sources,
                               const Figures& figures, LawMemo& memo) {
  const auto law = LawOf(sources, one.form, figures, memo);
  if (!law) return std::nullopt;
  const stats::SumChance chance = ChanceOf(one, *law, sources, figures);
  if (chance.error > kHandOver) return std::nullopt;
  return FastOdds{chance.chance, chance.error, true};
}

std::vector<std::size_t> EveryPlace(const Analysis& analysis) {
  std::vector<std::size_t> places(analysis.requirements.size());
  std::iota(places.begin(), places.end(), std::size_t{0});
  return places;
}

}  // namespace

const stats::LawPoints& LawMemo::OfWorked(const stats::WorkedDraw& size) {
  const auto [it, is_new] =
      worked_.try_emplace(std::tuple{size.cut, size.reading, size.low, size.high, size.safe_sign});
  if (is_new) it->second = stats::LawOfWorked(size);
  return it->second;
}

std::optional<stats::SumLaw> LawOf(const SourceTable& sources, const Form& form,
                                   const Figures& figures, LawMemo& memo) {
  Adder adder(sources, figures, memo);
  for (const Term& term : form.terms) {
    if (!adder.Add(term)) return std::nullopt;
  }
  return adder.Finish(form.constant);
}

std::optional<OneQuantity> FindOneQuantity(const SourceTable& sources, const RequirementForms& r) {
  const bool linear = r.test == TestKind::kLinear || r.test == TestKind::kClearance;
  if (!linear || r.linear.empty() || ReadsPlay(sources, r.linear.front())) return std::nullopt;
  OneQuantity one{r.linear.front(), r.lower, r.upper, std::nullopt, 0};
  for (const Form& form : r.linear) {
    const double sign = SignOf(one.form, form);
    if (sign == 0 || (sign < 0 && !r.vectors.empty())) return std::nullopt;
    // lower <= form <= upper, in terms of the first.
    double low = r.lower - form.constant;
    double high = r.upper - form.constant;
    if (sign < 0) std::tie(low, high) = std::pair(-high, -low);
    one.lower = std::max(one.lower, low < -kUnlimited ? low : low + one.form.constant);
    one.upper = std::min(one.upper, high > kUnlimited ? high : high + one.form.constant);
  }
  if (r.vectors.empty()) return one;
  if (r.test != TestKind::kClearance || !HaveNothingInCommon(sources, one.form, r.vectors.front()))
    return std::nullopt;
  one.tilt = r.vectors.front();
  one.tilt_length = r.tilt_length_mm;
  return one;
}

stats::SumChance ChanceOf(const OneQuantity& one, const stats::SumLaw& law,
                          const SourceTable& sources, const Figures& figures) {
  const double low = one.lower - kSlack;
  const double high = one.upper + kSlack;
  const bool loses = one.tilt && one.tilt_length > 0 && one.lower > -kUnlimited;
  if (!loses) return law.Within(low, high);
  const std::vector<double> tilts = TiltsOf(sources, figures, *one.tilt);
  if (tilts.empty() || law.variance() <= 0) return {0, 1};
  const double sigma = std::sqrt(law.variance());
  const double from = std::max(low, law.mean() - kReach * sigma);
  const double to = std::min(high, law.mean() + kReach * sigma);
  if (from >= to) return law.Within(low, high);
  std::vector<double> places;
  for (int i = 0; i < kSizePlaces; ++i)
    places.push_back(from + (to - from) * i / (kSizePlaces - 1));
  std::vector<double> met = law.Densities(places);
  for (std::size_t i = 0; i < met.size(); ++i) {
    const double most = (places[i] - one.lower) / one.tilt_length;
    met[i] *=
        static_cast<double>(std::upper_bound(tilts.begin(), tilts.end(), most) - tilts.begin()) /
        kTiltDraws;
  }
  const double fine = Simpson(met, places[1] - places[0], 1);
  const double coarse = Simpson(met, places[1] - places[0], 2);
  return {std::clamp(fine, 0.0, 1.0), std::abs(fine - coarse)};
}

std::optional<FastOdds> CalcFastOdds(const SourceTable& sources, const Figures& figures,
                                     const RequirementForms& requirement, LawMemo& memo) {
  const auto one = FindOneQuantity(sources, requirement);
  return one ? OddsOf(*one, sources, figures, memo) : std::nullopt;
}

struct FastJudge::Compiled {
  BuildCompiler compiler;
};

FastJudge::FastJudge(const Analysis& analysis, const FastOptions& options, LawMemo& memo)
    : FastJudge(analysis, EveryPlace(analysis), options, memo) {}

FastJudge::FastJudge(const Analysis& analysis, std::vector<std::size_t> places,
                     const FastOptions& options, LawMemo& memo)
    : analysis_(analysis), places_(std::move(places)), options_(options), memo_(memo) {}

FastJudge::~FastJudge() = default;

std::optional<FastOdds> FastJudge::ByLaw(std::size_t place, const Figures& figures) {
  const auto [one, is_new] = quantities_.try_emplace(place);
  if (is_new) one->second = FindOneQuantity(analysis_.sources, analysis_.requirements[place]);
  return one->second ? OddsOf(*one->second, analysis_.sources, figures, memo_) : std::nullopt;
}

Result<std::vector<FastOdds>> FastJudge::Of(const std::vector<std::size_t>& places,
                                            const Figures& figures) {
  if (options_.builds < kLeastBuilds) {
    return Unexpected(
        Error{ErrorCode::kOutOfRange,
              fmt::format("{} builds are fewer than {}", options_.builds, kLeastBuilds),
              std::to_string(options_.builds),
              "32768 is usual",
              {}});
  }
  std::vector<FastOdds> fast(places.size());
  std::vector<std::size_t> counted;  // places in `places`
  MetWanted wanted;
  for (std::size_t i = 0; i < places.size(); ++i) {
    if (const auto by_law = ByLaw(places[i], figures)) {
      fast[i] = *by_law;
      continue;
    }
    counted.push_back(i);
    const auto at = std::find(places_.begin(), places_.end(), places[i]);
    FW_CHECK(at != places_.end(), places[i]);
    wanted.only.push_back(static_cast<std::size_t>(at - places_.begin()));
  }
  if (counted.empty()) return fast;
  if (!compiled_) compiled_.reset(new Compiled{BuildCompiler(analysis_, places_)});
  wanted.builds = options_.builds;
  wanted.seed = options_.seed;
  wanted.threads = options_.threads;
  wanted.cancel = options_.cancel;
  const auto counts = CountMet(compiled_->compiler, figures, wanted);
  if (!counts) {
    return Unexpected(
        Error{ErrorCode::kStopped, "stopped before the odds were known", {}, "run it again", {}});
  }
  const auto n = static_cast<double>(options_.builds);
  for (std::size_t k = 0; k < counted.size(); ++k) {
    const double p = static_cast<double>(counts->met[wanted.only[k]]) / n;
    fast[counted[k]] = {p, 1.96 * std::sqrt(p * (1 - p) / n), false};
  }
  return fast;
}

}  // namespace fitwright::variation
