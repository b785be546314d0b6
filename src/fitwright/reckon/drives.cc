#include "fitwright/reckon/drives.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/units/geometry.h"

namespace fitwright::reckon {
namespace {

constexpr double kNear_mm = 1e-10;
constexpr int kMostSteps = 60;

}  // namespace

double BeltLength_mm(double large_mm, double small_mm, double centres_mm) {
  const double angle = std::asin((large_mm - small_mm) / (2 * centres_mm));
  return 2 * centres_mm * std::cos(angle) + 0.5 * kPi * (large_mm + small_mm) +
         angle * (large_mm - small_mm);
}

// dL / dC = 2 cos a: Newton from above, where the length is convex, comes down on the root.
Result<double> CentresOfBelt_mm(double large_mm, double small_mm, double length_mm) {
  const double least = 0.5 * (large_mm + small_mm);  // wheels that touch
  const double shortest = BeltLength_mm(large_mm, small_mm, least);
  if (length_mm < shortest) {
    return Unexpected(
        Error{ErrorCode::kOutOfRange,
              fmt::format("round two wheels that only just clear goes {:.3f} mm of belt", shortest),
              fmt::format("{:.3f}", length_mm),
              "take a longer belt or smaller wheels",
              {}});
  }
  double centres = 0.5 * length_mm;
  for (int i = 0; i < kMostSteps; ++i) {
    const double angle = std::asin((large_mm - small_mm) / (2 * centres));
    const double step =
        (BeltLength_mm(large_mm, small_mm, centres) - length_mm) / (2 * std::cos(angle));
    centres = std::max(centres - step, least);
    if (std::abs(step) < kNear_mm) break;
  }
  return centres;
}

double WrapOfSmall_rad(double large_mm, double small_mm, double centres_mm) {
  return kPi - 2 * std::asin((large_mm - small_mm) / (2 * centres_mm));
}

SpurGear MakeSpurGear(int teeth, double module_mm) {
  constexpr double kAddendum = 1;
  constexpr double kDedendum = 1.25;
  return {module_mm * teeth, module_mm * (teeth + 2 * kAddendum),
          module_mm * (teeth - 2 * kDedendum)};
}

}  // namespace fitwright::reckon
