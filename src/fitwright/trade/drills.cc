#include "fitwright/trade/drills.h"

#include <array>
#include <cmath>

namespace fitwright::trade {
namespace {

// Twist drills, hundredths of a mm: a selection after ISO 235 as sets and merchants usually have
// them, from memory: 0.5-3 by 0.05, 3-14 by 0.1 with the quarters, 14-16 by 0.25, 16-32 by 0.5.
constexpr bool IsDrill(int hundredths) {
  if (hundredths < 50 || hundredths > 3200) return false;
  if (hundredths <= 300) return hundredths % 5 == 0;
  if (hundredths <= 1400) return hundredths % 10 == 0 || hundredths % 50 == 25;
  if (hundredths <= 1600) return hundredths % 25 == 0;
  return hundredths % 50 == 0;
}

constexpr std::size_t CountDrills() {
  std::size_t count = 0;
  for (int h = 50; h <= 3200; ++h) count += IsDrill(h) ? 1 : 0;
  return count;
}

constexpr auto MakeDrills() {
  std::array<double, CountDrills()> drills{};
  std::size_t i = 0;
  for (int h = 50; h <= 3200; ++h) {
    if (IsDrill(h)) drills[i++] = h / 100.0;
  }
  return drills;
}

constexpr auto kDrills_mm = MakeDrills();

// ISO 236 and ISO 521 preferred diameters of hand and machine reamers, from memory.
constexpr auto kReamers_mm =
    std::to_array<double>({1.5, 2,  2.5, 3,  3.5, 4,  4.5, 5,  5.5, 6,  7,  8,  9,  10, 11,
                           12,  13, 14,  15, 16,  17, 18,  19, 20,  22, 24, 25, 28, 30, 32});

constexpr double kSlack_mm = 1e-9;
// How far outside the list a size may lie and still have a nearest drill: half the step there.
constexpr double kLeastNear_mm = 0.45;
constexpr double kGreatestNear_mm = 32.25;

}  // namespace

std::span<const double> DrillDiameters_mm() { return kDrills_mm; }
std::span<const double> ReamerDiameters_mm() { return kReamers_mm; }

std::optional<double> NearestDrill_mm(double diameter_mm) {
  if (!(diameter_mm >= kLeastNear_mm && diameter_mm <= kGreatestNear_mm)) return std::nullopt;
  double best = kDrills_mm.front();
  for (const double drill : kDrills_mm) {
    if (std::fabs(drill - diameter_mm) < std::fabs(best - diameter_mm) - kSlack_mm) best = drill;
  }
  return best;
}

std::optional<double> DrillAtOrBelow_mm(double diameter_mm) {
  std::optional<double> found;
  for (const double drill : kDrills_mm) {
    if (drill <= diameter_mm + kSlack_mm) found = drill;
  }
  return found;
}

std::optional<double> DrillAtOrAbove_mm(double diameter_mm) {
  for (const double drill : kDrills_mm) {
    if (drill >= diameter_mm - kSlack_mm) return drill;
  }
  return std::nullopt;
}

}  // namespace fitwright::trade
