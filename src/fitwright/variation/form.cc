#include "fitwright/variation/form.h"

#include <algorithm>
#include <cmath>

namespace fitwright::variation {
namespace {

// Factors below this are the cancellation of rounded numbers, not an effect.
constexpr double kNoFactor = 1e-15;

// Few terms, most of them in order already: sorted in place.
constexpr std::size_t kFew = 32;
void SortFew(std::vector<Term>& terms) {
  for (std::size_t i = 1; i < terms.size(); ++i) {
    const Term term = terms[i];
    std::size_t at = i;
    for (; at > 0 && term.source < terms[at - 1].source; --at) terms[at] = terms[at - 1];
    terms[at] = term;
  }
}

// Many terms, of which most sources have several: each source's are summed in a place of its own, and only the sources
// are sorted. Terms of one source are added in the order in which they came, as after a sort that keeps it.
class Places {
 public:
  void Sum(std::vector<Term>& terms) {
    sources_.clear();
    for (const Term& term : terms) {
      if (term.source >= sums_.size()) sums_.resize(std::max<std::size_t>(term.source + 1, 2 * sums_.size()));
      Place& place = sums_[term.source];
      if (place.taken) {
        place.sum += term.factor;
      } else {
        place = {term.factor, true};
        sources_.push_back(term.source);
      }
    }
    std::sort(sources_.begin(), sources_.end());
    terms.clear();
    for (const SourceIndex source : sources_) {
      terms.push_back({source, sums_[source].sum});
      sums_[source].taken = false;
    }
  }

 private:
  struct Place {
    double sum = 0;
    bool taken = false;
  };
  std::vector<Place> sums_;  // by source
  std::vector<SourceIndex> sources_;
};

}  // namespace

Form FormOf(SourceIndex source, double factor) {
  Form form;
  if (factor != 0) form.terms.push_back({source, factor});
  return form;
}

Form Plus(const Form& a, const Form& b, double factor) {
  Form sum;
  sum.constant = a.constant + factor * b.constant;
  if (factor == 0 || b.terms.empty()) {
    sum.terms = a.terms;
    return sum;
  }
  sum.terms.reserve(a.terms.size() + b.terms.size());
  auto i = a.terms.begin();
  auto j = b.terms.begin();
  while (i != a.terms.end() || j != b.terms.end()) {
    if (j == b.terms.end() || (i != a.terms.end() && i->source < j->source)) {
      sum.terms.push_back(*i++);
    } else if (i == a.terms.end() || j->source < i->source) {
      sum.terms.push_back({j->source, factor * j->factor});
      ++j;
    } else {
      const double both = i->factor + factor * j->factor;
      if (std::abs(both) > kNoFactor) sum.terms.push_back({i->source, both});
      ++i;
      ++j;
    }
  }
  return sum;
}

Form Scaled(const Form& a, double factor) {
  Form form;
  if (factor == 0) return form;
  form = a;
  form.constant *= factor;
  for (Term& term : form.terms) term.factor *= factor;
  return form;
}

double FactorOf(const Form& form, SourceIndex source) {
  const auto it = std::lower_bound(form.terms.begin(), form.terms.end(), source,
                                   [](const Term& t, SourceIndex s) { return t.source < s; });
  return it != form.terms.end() && it->source == source ? it->factor : 0;
}

double Evaluate(const Form& form, std::span<const double> values) {
  double value = form.constant;
  for (const Term& term : form.terms) value += term.factor * values[term.source];
  return value;
}

void FormSum::Add(SourceIndex source, double factor) {
  if (factor != 0) terms_.push_back({source, factor});
}

void FormSum::Add(const Form& form, double factor) {
  if (factor == 0) return;
  constant_ += factor * form.constant;
  const std::size_t before = terms_.size();
  terms_.resize(before + form.terms.size());
  Term* to = terms_.data() + before;
  for (const Term& term : form.terms) *to++ = {term.source, factor * term.factor};
}

Form FormSum::Take() {
  Form form;
  form.constant = constant_;
  static thread_local Places places;
  if (terms_.size() > kFew) {
    places.Sum(terms_);
  } else {
    SortFew(terms_);
  }
  auto end = terms_.begin();  // of the terms summed so far
  for (auto at = terms_.begin(); at != terms_.end();) {
    Term sum = *at++;
    for (; at != terms_.end() && at->source == sum.source; ++at) sum.factor += at->factor;
    if (std::abs(sum.factor) > kNoFactor) *end++ = sum;
  }
  form.terms.assign(terms_.begin(), end);
  constant_ = 0;
  terms_.clear();
  return form;
}

Form6 Plus(const Form6& a, const Form6& b, double factor) {
  Form6 sum;
  for (std::size_t i = 0; i < 3; ++i) {
    sum.w[i] = Plus(a.w[i], b.w[i], factor);
    sum.d[i] = Plus(a.d[i], b.d[i], factor);
  }
  return sum;
}

Form6 Scaled(const Form6& a, double factor) {
  Form6 scaled;
  for (std::size_t i = 0; i < 3; ++i) {
    scaled.w[i] = Scaled(a.w[i], factor);
    scaled.d[i] = Scaled(a.d[i], factor);
  }
  return scaled;
}

Form6 Transformed(const Pose& X_AB, const Form6& t_B) {
  const auto& R = X_AB.linear();
  const Vec3 p = X_AB.translation();
  Form6 t_A;
  FormSum sum;
  for (int i = 0; i < 3; ++i) {
    for (int j = 0; j < 3; ++j) sum.Add(t_B.w[static_cast<std::size_t>(j)], R(i, j));
    t_A.w[static_cast<std::size_t>(i)] = sum.Take();
  }
  // d_A = R d_B - w_A x p.
  for (int i = 0; i < 3; ++i) {
    const int j = (i + 1) % 3;
    const int k = (i + 2) % 3;
    for (int m = 0; m < 3; ++m) sum.Add(t_B.d[static_cast<std::size_t>(m)], R(i, m));
    sum.Add(t_A.w[static_cast<std::size_t>(j)], -p[k]);
    sum.Add(t_A.w[static_cast<std::size_t>(k)], p[j]);
    t_A.d[static_cast<std::size_t>(i)] = sum.Take();
  }
  return t_A;
}

void AddMoveAlong(FormSum& sum, const Form6& t, const Vec3& point, const Vec3& direction,
                  double factor) {
  const Vec3 lever = point.cross(direction);
  for (int i = 0; i < 3; ++i) {
    sum.Add(t.d[static_cast<std::size_t>(i)], factor * direction[i]);
    sum.Add(t.w[static_cast<std::size_t>(i)], factor * lever[i]);
  }
}

Form MoveAlong(const Form6& t, const Vec3& point, const Vec3& direction) {
  FormSum sum;
  AddMoveAlong(sum, t, point, direction);
  return sum.Take();
}

Form TurnAbout(const Form6& t, const Vec3& direction) {
  FormSum sum;
  for (int i = 0; i < 3; ++i) sum.Add(t.w[static_cast<std::size_t>(i)], direction[i]);
  return sum.Take();
}

void AddShift(Form6& t, const Vec3& direction, const Form& by, double factor) {
  for (int i = 0; i < 3; ++i) {
    auto& d = t.d[static_cast<std::size_t>(i)];
    if (direction[i] != 0) d = Plus(d, by, factor * direction[i]);
  }
}

void AddShift(Form6& t, const Vec3& direction, SourceIndex source, double factor) {
  AddShift(t, direction, FormOf(source), factor);
}

void AddTurn(Form6& t, const Vec3& point, const Vec3& direction, const Form& by, double factor) {
  for (int i = 0; i < 3; ++i) {
    auto& w = t.w[static_cast<std::size_t>(i)];
    if (direction[i] != 0) w = Plus(w, by, factor * direction[i]);
  }
  // The point itself stays: d = -w x point = point x w.
  AddShift(t, point.cross(direction), by, factor);
}

void AddTurn(Form6& t, const Vec3& point, const Vec3& direction, SourceIndex source,
             double factor) {
  AddTurn(t, point, direction, FormOf(source), factor);
}

std::array<Vec3, 2> SquareTo(const Vec3& n) {
  const Vec3 start = std::abs(n.x()) < 0.9 ? Vec3::UnitX() : Vec3::UnitY();
  const Vec3 u = (start - n * n.dot(start)).normalized();
  return {u, n.cross(u)};
}

}  // namespace fitwright::variation
