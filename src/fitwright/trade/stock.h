// Bar as sold, metric: rounds, squares and flats, and the next size up with an allowance.
#pragma once

#include <optional>
#include <span>

namespace fitwright::trade {

struct FlatSize {
  double width_mm = 0;
  double thickness_mm = 0;  // <= width_mm
};

// Ascending. A usual merchant's list; what a builder's own merchant keeps may differ.
std::span<const double> RoundBars_mm();
std::span<const double> SquareBars_mm();
std::span<const double> FlatWidths_mm();
std::span<const double> FlatThicknesses_mm();

// Smallest bar not under the size; none over the longest in the list.
std::optional<double> NextRound_mm(double diameter_mm);
std::optional<double> NextSquare_mm(double side_mm);
// Smallest section (by area, then by width) that holds width x thickness, either way round; a
// square counts when its side does. none when no flat is large enough.
std::optional<FlatSize> NextFlat(double width_mm, double thickness_mm);

// Metal left on for cleaning up, mm (opinion; stated in stock.cc): on each sawn end, on each side
// of drawn bar that is machined, and on the diameter of round bar.
inline constexpr double kSawnEndAllowance_mm = 2.0;
inline constexpr double kSideAllowance_mm = 1.0;
inline constexpr double kRoundAllowance_mm = 2.0;
inline constexpr double kSawKerf_mm = 2.0;

}  // namespace fitwright::trade
