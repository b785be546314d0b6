#include "fitwright/rework/conditioning.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "fitwright/rework/bearing.h"
#include "fitwright/stats/normal.h"
#include "fitwright/variation/draws.h"

namespace fitwright::rework {
namespace {

using variation::Analysis;
using variation::Form;
using variation::FormSum;
using variation::Law;
using variation::Moments;
using variation::SourceIndex;
using variation::Term;

// Sources that are not normal are weighed where they carry more of a reading's variance.
constexpr double kLinearUpTo = 0.2;
constexpr double kRidge_mm2 = 1e-12;  // two readings that are one and the same stay two equations

}  // namespace

std::vector<Moments> MomentsOfSources(const Analysis& analysis) {
  std::vector<Moments> all;
  for (SourceIndex s = 0; s < analysis.sources.size(); ++s)
    all.push_back(variation::MomentsOf(analysis.sources, s, analysis.figures));
  return all;
}

Conditioning::Conditioning(const Analysis& analysis, const Observed& observed,
                           const std::vector<Moments>& known)
    : settled_(observed.settled) {
  const std::size_t count = analysis.sources.size();
  means_.resize(count);
  variances_.resize(count);
  weighed_.resize(count);
  for (const Observation& one : observed.observations) {
    shown_.push_back(Settled(one.shown));
    values_.push_back(one.taken.value_mm);
  }
  for (SourceIndex s = 0; s < count; ++s) {
    const Moments m = s < known.size()
                          ? known[s]
                          : variation::MomentsOf(analysis.sources, s, analysis.figures);
    means_[s] = m.mean;
    variances_[s] = m.variance;
  }
  FindWeighed(analysis.sources);
  Factor();
  Expect();
}

void Conditioning::FindWeighed(const variation::SourceTable& sources) {
  for (const Form& form : shown_) {
    double all = 0;
    double other = 0;
    for (const Term& t : form.terms) {
      const double share = t.factor * t.factor * variances_[t.source];
      all += share;
      if (sources[t.source].law != Law::kNormal) other += share;
    }
    if (other <= kLinearUpTo * all) continue;
    for (const Term& t : form.terms) {
      if (sources[t.source].law != Law::kNormal) weighed_[t.source] = 1;
    }
  }
}

void Conditioning::Factor() {
  const auto n = static_cast<Eigen::Index>(shown_.size());
  in_shown_.resize(means_.size());
  for (std::size_t i = 0; i < shown_.size(); ++i) {
    FormSum off;
    off.Add(values_[i]);
    off.Add(shown_[i], -1);
    off_.push_back(off.Take());
    for (const Term& t : shown_[i].terms) {
      if (weighed_[t.source] == 0 && variances_[t.source] > 0)
        in_shown_[t.source].push_back({i, t.factor * variances_[t.source]});
    }
  }
  Eigen::MatrixXd covariance(n, n);
  for (Eigen::Index i = 0; i < n; ++i) {
    covariance.col(i) = CovarianceWithShown(shown_[static_cast<std::size_t>(i)]);
    covariance(i, i) += kRidge_mm2;
  }
  inverse_ = covariance.ldlt().solve(Eigen::MatrixXd::Identity(n, n));
  const bool any = std::any_of(weighed_.begin(), weighed_.end(), [](auto w) { return w != 0; });
  if (!any) return;
  for (const Form& off : off_) {
    Form miss;
    miss.constant = off.constant;
    for (const Term& t : off.terms) {
      if (weighed_[t.source] != 0)
        miss.terms.push_back(t);
      else
        miss.constant += t.factor * means_[t.source];
    }
    misses_.push_back(std::move(miss));
  }
}

// Each reading by those before it: the sources that are not normal by their moments.
void Conditioning::Expect() {
  const auto n = static_cast<Eigen::Index>(shown_.size());
  Eigen::MatrixXd covariance = Eigen::MatrixXd::Zero(n, n);
  Eigen::VectorXd off(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    off[i] = values_[static_cast<std::size_t>(i)] -
             PlannedMomentsOf(shown_[static_cast<std::size_t>(i)]).mean;
    for (Eigen::Index j = 0; j <= i; ++j) {
      covariance(i, j) = covariance(j, i) =
          CovarianceOf(shown_[static_cast<std::size_t>(i)], shown_[static_cast<std::size_t>(j)]);
    }
    covariance(i, i) += kRidge_mm2;
  }
  for (Eigen::Index i = 0; i < n; ++i) {
    double mean = 0;
    double variance = covariance(i, i);
    if (i > 0) {
      const Eigen::VectorXd c = covariance.col(i).head(i);
      const Eigen::VectorXd g = covariance.topLeftCorner(i, i).ldlt().solve(c);
      mean = g.dot(off.head(i));
      variance = std::max(kRidge_mm2, variance - g.dot(c));
    }
    Expectation e;
    e.mean_mm = values_[static_cast<std::size_t>(i)] - off[i] + mean;
    e.sigma_mm = std::sqrt(variance);
    e.chance = 2 * stats::NormalCdf(-std::abs(off[i] - mean) / e.sigma_mm);
    expectations_.push_back(e);
  }
}

Form Conditioning::Settled(const Form& form) const {
  const bool any = std::any_of(form.terms.begin(), form.terms.end(),
                               [&](const Term& t) { return settled_.contains(t.source); });
  if (!any) return form;
  FormSum sum;
  sum.Add(form.constant);
  for (const Term& t : form.terms) {
    const auto it = settled_.find(t.source);
    if (it == settled_.end())
      sum.Add(t.source, t.factor);
    else
      sum.Add(it->second, t.factor);
  }
  return sum.Take();
}

Eigen::VectorXd Conditioning::CovarianceWithShown(const Form& form) const {
  Eigen::VectorXd c = Eigen::VectorXd::Zero(static_cast<Eigen::Index>(shown_.size()));
  for (const Term& t : form.terms) {
    for (const auto& [i, covariance] : in_shown_[t.source])
      c[static_cast<Eigen::Index>(i)] += t.factor * covariance;
  }
  return c;
}

Form Conditioning::Updated(const Form& settled) const {
  const Eigen::VectorXd c = CovarianceWithShown(settled);
  if (c.isZero(0)) return settled;
  const Eigen::VectorXd gain = inverse_ * c;
  FormSum sum;
  sum.Add(settled);
  for (std::size_t i = 0; i < off_.size(); ++i) {
    const double of_this = gain[static_cast<Eigen::Index>(i)];
    if (of_this != 0) sum.Add(off_[i], of_this);
  }
  return sum.Take();
}

Form Conditioning::Given(const Form& form) const { return Updated(Settled(form)); }

bool Conditioning::Changes(const Form& form) const {
  return std::any_of(form.terms.begin(), form.terms.end(), [&](const Term& t) {
    return settled_.contains(t.source) || weighed_[t.source] != 0 || !in_shown_[t.source].empty();
  });
}

Analysis Conditioning::Given(const Analysis& analysis,
                             const std::vector<std::size_t>& requirements) const {
  Analysis out;
  out.sources = analysis.sources;
  out.figures = analysis.figures;
  out.parts = analysis.parts;
  out.plays = analysis.plays;
  for (const std::size_t r : requirements) out.requirements.push_back(analysis.requirements[r]);
  const auto change = [&](Form& form) {
    if (Changes(form)) form = Given(form);
  };
  ForEachForm(out, change);
  return out;
}

Moments Conditioning::PlannedMomentsOf(const Form& form) const {
  Moments sum{form.constant, 0};
  for (const Term& t : form.terms) {
    sum.mean += t.factor * means_[t.source];
    sum.variance += t.factor * t.factor * variances_[t.source];
  }
  return sum;
}

Moments Conditioning::MomentsOf(const Form& form) const { return PlannedMomentsOf(Given(form)); }

double Conditioning::CovarianceOf(const Form& a, const Form& b) const {
  double sum = 0;
  auto at = b.terms.begin();
  for (const Term& t : a.terms) {
    while (at != b.terms.end() && at->source < t.source) ++at;
    if (at == b.terms.end()) break;
    if (at->source == t.source) sum += t.factor * at->factor * variances_[t.source];
  }
  return sum;
}

double Conditioning::LogWeightOf(const double* values, std::size_t stride) const {
  Eigen::VectorXd v(static_cast<Eigen::Index>(misses_.size()));
  for (Eigen::Index i = 0; i < v.size(); ++i) v[i] = values[static_cast<std::size_t>(i) * stride];
  return -0.5 * v.dot(inverse_ * v);
}

}  // namespace fitwright::rework
