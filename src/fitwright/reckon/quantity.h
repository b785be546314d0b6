// What the numbers of a reckoning are, how they are written on the command line, and how they are
// shown in either unit system. Inside: mm, rad, N, N m, W, kg, MPa, degC, mm3, m/min, rpm, mm/min.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/units/size.h"

namespace fitwright::reckon {

enum class Kind {
  kLength,        // 3 places in mm, 4 in inch
  kFine,          // a length that wants one place more
  kAngle,         // degrees
  kCount,         // whole number
  kNumber,        // plain number
  kPercent,       // 0..100 inside as well
  kSurfaceSpeed,  // m/min, ft/min
  kTurns,         // rpm
  kFeedRate,      // mm/min, in/min
  kForce,         // N, lbf
  kTorque,        // N m, lbf in
  kPower,         // W, hp
  kMass,          // kg, lb
  kPressure,      // MPa, psi
  kTemperature,   // degC, degF
  kRise,          // a difference of temperature: K, degF
  kVolume,        // cm3, in3 (inside mm3)
  kWord,
  kLengths,  // lengths parted by commas, each once or as "3x120"
  kCounts,   // whole numbers parted by commas
  kNumbers   // plain numbers parted by commas
};

struct Shown {
  std::string text;       // the number alone, or the word
  std::string_view unit;  // "" for plain numbers
  double value = 0;       // in that unit, not rounded
};
// Not for the list kinds and words.
Shown Show(Kind kind, double value, LengthUnit unit);
// "12.500 mm".
std::string ShowWithUnit(Kind kind, double value, LengthUnit unit);

// One number as written: bare in the unit system asked for, or with a unit of its kind behind it
// ("12.5", "0.5in", "1/2in", "30 deg", "100ft/min", "1.5kW"). Errors (value = the text):
// bad_length, bad_angle, wrong_type (not such a number, or a unit of another kind; the remedy names
// the units), not_finite.
Result<double> ReadQuantity(Kind kind, std::string_view text, LengthUnit bare);
// Lists: at most kLongestList values. Errors as ReadQuantity, and wrong_count.
inline constexpr std::size_t kLongestList = 500;
Result<std::vector<double>> ReadQuantities(Kind kind, std::string_view text, LengthUnit bare);

// The units that a number of this kind may carry: "mm, cm, m, in".
std::string UnitsOf(Kind kind);

}  // namespace fitwright::reckon
