// A drawn size with its limits.
#pragma once

#include <string>

namespace fitwright {

// Where a size's limits came from.
enum class LimitsOrigin { kFit, kPlusMinus, kLimits, kGeneralTolerance };

// lower_mm and upper_mm are sizes, not deviations. For a fit the nominal may lie outside the limits
// (40 g6 = 39.975..39.991).
struct Size {
  double nominal_mm = 0;
  double lower_mm = 0;
  double upper_mm = 0;
  LimitsOrigin origin = LimitsOrigin::kGeneralTolerance;
  std::string fit;  // "H7", "g6"; empty unless origin is kFit
  double middle_mm() const { return 0.5 * (lower_mm + upper_mm); }
  double width_mm() const { return upper_mm - lower_mm; }
};

enum class LengthUnit { kMillimetre, kInch };

}  // namespace fitwright
