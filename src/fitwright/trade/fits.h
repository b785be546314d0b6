// ISO 286-1/-2: tolerance grades and limits of fits, sizes over 0 up to 500 mm.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/units/size.h"

namespace fitwright::trade {

inline constexpr double kFitRange_mm = 500;

// Deviations from the nominal size, mm: limits are nominal + lower_mm and nominal + upper_mm.
struct FitLimits {
  double lower_mm = 0;
  double upper_mm = 0;
  bool hole = false;  // capital letter
  int grade = 0;      // 7 of "H7"
};

// Width of the tolerance grade IT`grade`, mm. Requires 0 < nominal_mm <= kFitRange_mm and
// grade 1..18.
double ToleranceGrade_mm(double nominal_mm, int grade);

// The same by name, with the two finest grades: "IT01", "IT0", "IT1" to "IT18", mm. Errors:
// kUnknownFit (no such grade), kNotPositive, kNotFinite, kOutOfRange.
Result<double> FindToleranceGrade_mm(double nominal_mm, std::string_view grade);

// Limits of a tolerance class, e.g. FindFit(40, "g6") = -0.025..-0.009. Shafts a b c cd d e ef f fg
// g h js j k m n p r s t u v x y z za zb zc; holes A..ZC by the rules of ISO 286-1 (delta
// included). cd ef fg only to 10 mm; t over 24, v over 14, y over 18 mm; j5..j8 and J6..J8; a b A B
// over 1 mm. The rows are in fits.cc, each with its source. Deterministic, no allocation on
// success. Errors: kUnknownFit (letters or grade not in the tables, or a class that the standard
// does not give at this size; remedy names one that exists), kNotPositive, kNotFinite, kOutOfRange
// (over 500 mm).
Result<FitLimits> FindFit(double nominal_mm, std::string_view fit);

// Size with origin kFit and both limits filled. Errors as FindFit.
Result<Size> MakeFitSize(double nominal_mm, std::string_view fit);

// Tolerance classes that the tables know at this size, in alphabetical order of letters,
// grades 5..11.
std::vector<std::string> KnownFits(double nominal_mm, bool hole);

}  // namespace fitwright::trade
