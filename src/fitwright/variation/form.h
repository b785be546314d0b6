// Linear forms over named independent sources, and small displacements made of six of them.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "fitwright/units/geometry.h"

namespace fitwright::variation {

// Place of a source in a SourceTable. Valid only with the table that gave it.
using SourceIndex = std::uint32_t;

struct Term {
  SourceIndex source = 0;
  double factor = 0;  // unit of the form per unit of the source
  friend bool operator==(const Term&, const Term&) = default;
};

// constant + sum of factor * source. terms are ascending by source, without repetition. `constant`
// is the value with every source at zero; the sources' own means come on top (CalcMoments).
struct Form {
  double constant = 0;
  std::vector<Term> terms;
  friend bool operator==(const Form&, const Form&) = default;
};

Form FormOf(SourceIndex source, double factor = 1);
// a + factor * b.
Form Plus(const Form& a, const Form& b, double factor = 1);
Form Scaled(const Form& a, double factor);
// The factor of one source, 0 when it is not in the form.
double FactorOf(const Form& form, SourceIndex source);
// Value with source i at values[i].
double Evaluate(const Form& form, std::span<const double> values);

// Sums many forms without an intermediate one for each addition.
class FormSum {
 public:
  void Add(double constant) { constant_ += constant; }
  void Add(SourceIndex source, double factor);
  void Add(const Form& form, double factor = 1);
  // The sum so far; the object is empty afterwards.
  Form Take();

 private:
  double constant_ = 0;
  std::vector<Term> terms_;
};

// Small displacement t = (w, d) of something rigid in a named frame: a point p of that frame moves
// by d + w x p. w in rad, d in mm, first order (error under |w|^2 |p|: 0.2 um for 0.1 mm over 50
// mm).
struct Form6 {
  std::array<Form, 3> w;
  std::array<Form, 3> d;
  friend bool operator==(const Form6&, const Form6&) = default;
};

Form6 Plus(const Form6& a, const Form6& b, double factor = 1);
Form6 Scaled(const Form6& a, double factor);
// The same displacement seen from frame A, X_AB the nominal pose of B in A.
Form6 Transformed(const Pose& X_AB, const Form6& t_B);
// direction . (d + w x point): how far the point moves along the direction.
Form MoveAlong(const Form6& t, const Vec3& point, const Vec3& direction);
void AddMoveAlong(FormSum& sum, const Form6& t, const Vec3& point, const Vec3& direction,
                  double factor = 1);
// direction . w.
Form TurnAbout(const Form6& t, const Vec3& direction);
// Adds a translation along `direction` by factor * source.
void AddShift(Form6& t, const Vec3& direction, SourceIndex source, double factor = 1);
void AddShift(Form6& t, const Vec3& direction, const Form& by, double factor = 1);
// Adds a turn about the line through `point` along `direction` by factor * source.
void AddTurn(Form6& t, const Vec3& point, const Vec3& direction, SourceIndex source,
             double factor = 1);
void AddTurn(Form6& t, const Vec3& point, const Vec3& direction, const Form& by, double factor = 1);

// Two unit vectors square to n and to each other; the same for the same n.
std::array<Vec3, 2> SquareTo(const Vec3& n);

}  // namespace fitwright::variation
