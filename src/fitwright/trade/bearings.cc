#include "fitwright/trade/bearings.h"

#include <array>
#include <cmath>

namespace fitwright::trade {
namespace {

// Boundary dimensions ISO 15; limits of the Normal class ISO 492: bore and outside read in makers'
// fit tables, width (0 / -0.120) from memory.
constexpr auto kRows = std::to_array<Bearing>({
    {8, 22, 7, -0.008, -0.009, -0.12},
    {10, 19, 5, -0.008, -0.009, -0.12},
    {10, 22, 6, -0.008, -0.009, -0.12},
    {10, 26, 8, -0.008, -0.009, -0.12},
    {10, 30, 9, -0.008, -0.009, -0.12},
    {12, 28, 8, -0.008, -0.009, -0.12},
    {15, 32, 9, -0.008, -0.011, -0.12},
    {17, 35, 10, -0.008, -0.011, -0.12},
});

}  // namespace

std::span<const Bearing> Bearings() { return kRows; }

const Bearing* FindBearing(double bore_mm, double outside_mm, double width_mm) {
  constexpr double kSame_mm = 1e-6;
  for (const Bearing& row : kRows) {
    if (std::fabs(row.bore_mm - bore_mm) < kSame_mm &&
        std::fabs(row.outside_mm - outside_mm) < kSame_mm &&
        std::fabs(row.width_mm - width_mm) < kSame_mm) {
      return &row;
    }
  }
  return nullptr;
}

}  // namespace fitwright::trade
