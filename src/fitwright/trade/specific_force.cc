#include "fitwright/trade/specific_force.h"

#include <array>
#include <cmath>

#include "fitwright/base/check.h"

namespace fitwright::trade {
namespace {

// Main values of the specific cutting force as textbooks of machining give them, for a rake of 6
// degrees, from memory; S235, E295, E335, 16MnCr5, 18CrNi8, 42CrMo4, GE240, GE260 and GJL-250 agree
// within 4 % with a power law through a printed table of forces.
constexpr auto kRows = std::to_array<SpecificForce>({{"S235", 1780, 0.17},
                                                     {"E295", 1990, 0.26},
                                                     {"E335", 2110, 0.17},
                                                     {"C45", 2220, 0.14},
                                                     {"C60", 2130, 0.18},
                                                     {"16MnCr5", 2100, 0.26},
                                                     {"18CrNi8", 2260, 0.30},
                                                     {"42CrMo4", 2500, 0.26},
                                                     {"GE240", 1600, 0.17},
                                                     {"GE260", 1780, 0.17},
                                                     {"GJL-200", 1020, 0.25},
                                                     {"GJL-250", 1160, 0.26},
                                                     {"brass", 780, 0.18},
                                                     {"aluminium alloy", 640, 0.25}});

}  // namespace

std::span<const SpecificForce> SpecificForces() { return kRows; }

const SpecificForce* FindSpecificForce(std::string_view grade) {
  for (const SpecificForce& row : kRows) {
    if (row.grade == grade) return &row;
  }
  return nullptr;
}

double CuttingForce_N(const SpecificForce& row, double depth_mm, double feed_mm,
                      double approach_rad) {
  FW_CHECK(depth_mm > 0 && feed_mm > 0 && approach_rad > 0, depth_mm, feed_mm, approach_rad);
  const double width_mm = depth_mm / std::sin(approach_rad);
  const double chip_mm = feed_mm * std::sin(approach_rad);
  return row.kc11_MPa * width_mm * std::pow(chip_mm, 1 - row.mc);
}

}  // namespace fitwright::trade
