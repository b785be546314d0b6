// Specific cutting force of steels, irons and light metals by grade, for Kienzle's formula.
#pragma once

#include <span>
#include <string_view>

namespace fitwright::trade {

struct SpecificForce {
  std::string_view grade;  // of the material standards, e.g. "C45"
  double kc11_MPa = 0;     // at a chip of 1 x 1 mm
  double mc = 0;           // exponent
};

std::span<const SpecificForce> SpecificForces();
// By grade as written there; null when there is none.
const SpecificForce* FindSpecificForce(std::string_view grade);

// Fc = kc11 b h^(1 - mc), b = depth / sin(approach), h = feed sin(approach). N. All above 0,
// approach to pi / 2.
double CuttingForce_N(const SpecificForce& row, double depth_mm, double feed_mm,
                      double approach_rad);

}  // namespace fitwright::trade
