// Inch fits: ASME B4.1 preferred hole-basis fits RC1-RC9, LC1-LC11, LT1-LT6, LN1-LN3, FN1-FN5.
#pragma once

#include <string_view>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/units/size.h"

namespace fitwright::trade {

// Deviations from the nominal size, mm (exact conversions of the standard's thousandths).
struct InchFit {
  double hole_lower_mm = 0;
  double hole_upper_mm = 0;
  double shaft_lower_mm = 0;
  double shaft_upper_mm = 0;
  // Negative: interference.
  double least_clearance_mm() const { return hole_lower_mm - shaft_upper_mm; }
  double greatest_clearance_mm() const { return hole_upper_mm - shaft_lower_mm; }
};

// "RC3", "RC 3", "rc3". Sizes over 0 to 4.73 in; LT to 3.15, FN to 3.94, LC10 and LC11 to 1.19 in
// (what could be had honestly: see inch_fits.cc). A step is over the one before, up to and
// including. Errors: kUnknownFit, kNotFinite, kNotPositive, kOutOfRange.
Result<InchFit> FindInchFit(double nominal_mm, std::string_view fit);

// Names of all the fits, in the standard's order.
std::vector<std::string_view> InchFits();

// Width of a tolerance grade 4 to 11 of the inch system, mm. Errors: kNotFinite, kNotPositive,
// kOutOfRange (size over 4.73 in, or grade).
Result<double> InchGrade_mm(double nominal_mm, int grade);

}  // namespace fitwright::trade
