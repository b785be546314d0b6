#include "fitwright/trade/stock.h"

#include <algorithm>
#include <array>

namespace fitwright::trade {
namespace {

// Opinion: metric sizes that merchants for small shops usually keep. No standard is claimed.
constexpr auto kRounds_mm = std::to_array<double>(
    {3,  4,  5,  6,  7,  8,  10, 12, 14, 15, 16, 18, 20, 22, 24,  25,  28,  30,  32,  35, 38,
     40, 42, 45, 48, 50, 55, 60, 65, 70, 75, 80, 85, 90, 95, 100, 110, 120, 130, 140, 150});
constexpr auto kSquares_mm = std::to_array<double>(
    {6, 8, 10, 12, 15, 16, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 120});
constexpr auto kWidths_mm =
    std::to_array<double>({10, 12, 15, 16, 20,  25,  30,  35,  40,  45,  50,  60,
                           70, 75, 80, 90, 100, 110, 120, 130, 150, 200, 250, 300});
constexpr auto kThicknesses_mm =
    std::to_array<double>({3, 4, 5, 6, 8, 10, 12, 15, 16, 20, 25, 30, 35, 40, 50, 60, 80, 100});

// A size computed from sums may stand a hair above the one it means.
constexpr double kSlack_mm = 1e-9;

std::optional<double> NextOf(std::span<const double> sizes, double at_least) {
  for (const double size : sizes) {
    if (size >= at_least - kSlack_mm) return size;
  }
  return std::nullopt;
}

}  // namespace

std::span<const double> RoundBars_mm() { return kRounds_mm; }
std::span<const double> SquareBars_mm() { return kSquares_mm; }
std::span<const double> FlatWidths_mm() { return kWidths_mm; }
std::span<const double> FlatThicknesses_mm() { return kThicknesses_mm; }

std::optional<double> NextRound_mm(double diameter_mm) { return NextOf(kRounds_mm, diameter_mm); }
std::optional<double> NextSquare_mm(double side_mm) { return NextOf(kSquares_mm, side_mm); }

std::optional<FlatSize> NextFlat(double width_mm, double thickness_mm) {
  const double wide = std::max(width_mm, thickness_mm);
  const double thin = std::min(width_mm, thickness_mm);
  std::optional<FlatSize> best;
  const auto offer = [&](FlatSize flat) {
    const double area = flat.width_mm * flat.thickness_mm;
    const double best_area = best ? best->width_mm * best->thickness_mm : 0;
    if (!best || area < best_area || (area == best_area && flat.width_mm < best->width_mm)) {
      best = flat;
    }
  };
  for (const double width : kWidths_mm) {
    const auto thickness = NextOf(kThicknesses_mm, thin);
    if (width >= wide - kSlack_mm && thickness && *thickness < width) offer({width, *thickness});
  }
  if (const auto side = NextSquare_mm(wide)) offer({*side, *side});
  return best;
}

}  // namespace fitwright::trade
