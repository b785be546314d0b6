// Reading and printing lengths, limits and angles. Inside the program all lengths are mm and angles
// rad; inches and degrees exist only here.
#pragma once

#include <string>
#include <string_view>

#include "fitwright/base/result.h"
#include "fitwright/units/size.h"

namespace fitwright {

// Reads one length: "12.5", "12.5 mm", "1.2 cm", "0.1 m", "1/2 in", "1-1/8 in", "1 1/8 in", "0.375
// in", "3/8\"", with an optional sign in front. A number without a unit is in `bare`. 1 in = 25.4
// mm exactly. Errors (value = the text, remedy set): kBadLength when it cannot be read as a length
// (also a zero denominator, an unknown unit, an empty text), kNotFinite for nan, infinity or a
// number beyond double.
Result<double> ParseLength_mm(std::string_view text, LengthUnit bare);

// Reads one angle: "63.43" and "63.43 deg" (degrees), "30 min", "45 s" (minutes and seconds of
// arc), "63 deg 26 min 6 s", "1.2 mrad", "0.01 rad". Errors: kBadAngle, kNotFinite.
Result<double> ParseAngle_rad(std::string_view text);

// value rounded to `decimals` places (0..12), half away from zero as a person would with the number
// written out: 15 significant decimal digits decide, so that 2.675 gives 2.68. Never gives -0.
double RoundHalfAway(double value, int decimals);

// The same as text with exactly `decimals` places, never "-0.000". Non-finite: "nan", "inf",
// "-inf".
std::string FormatFixed(double value, int decimals);

// At most `decimals` places, trailing zeros and point left out: 12.50 -> "12.5".
std::string FormatTrimmed(double value, int decimals);

// The number alone in the unit asked for, without its name.
std::string FormatLength(double mm, LengthUnit unit, int decimals);
// "12.50 mm", "0.492 in".
std::string FormatLengthWithUnit(double mm, LengthUnit unit, int decimals);
// "39.975-39.991"; with a negative limit "-0.025 to -0.009".
std::string FormatLimits(double lower_mm, double upper_mm, LengthUnit unit, int decimals);
// "40 g6 (39.975-39.991)" for a fit, "32 (31.700-32.300)" otherwise.
std::string FormatSize(const Size& size, LengthUnit unit, int decimals);
// Places that show a shop what it can dial or measure: 3 for mm sizes with limits under 0.1 wide
// and 2 otherwise; one more for inch.
int DecimalsFor(double width_mm, LengthUnit unit);

// "63.43" from rad, in degrees.
std::string FormatAngle_deg(double rad, int decimals);
// "63 deg 26 min" to the nearest minute of arc.
std::string FormatAngle_degmin(double rad);

// "mm" or "in".
std::string_view UnitWord(LengthUnit unit);

}  // namespace fitwright
