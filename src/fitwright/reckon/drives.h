// Belts and spur gears. mm, rad.
#pragma once

#include "fitwright/base/result.h"

namespace fitwright::reckon {

// Open belt round two wheels, by their pitch diameters, exact:
// L = 2 C cos a + pi / 2 (D + d) + a (D - d), a = asin((D - d) / 2 C). Requires C > (D - d) / 2.
double BeltLength_mm(double large_mm, double small_mm, double centres_mm);
// The centre distance of a belt of this length. out_of_range when the belt is too short to go
// round.
Result<double> CentresOfBelt_mm(double large_mm, double small_mm, double length_mm);
// Angle that the belt lies round the small wheel.
double WrapOfSmall_rad(double large_mm, double small_mm, double centres_mm);

// Spur gear of standard proportions (ISO 53: addendum 1, dedendum 1.25 modules), without shift.
struct SpurGear {
  double pitch_mm = 0;
  double outside_mm = 0;
  double root_mm = 0;
};
SpurGear MakeSpurGear(int teeth, double module_mm);
inline constexpr double kWholeDepth = 2.25;  // modules

}  // namespace fitwright::reckon
