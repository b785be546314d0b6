// Deep groove ball bearings: boundary dimensions (ISO 15), Normal class limits (ISO 492) and play
// (ISO 5753-1 group N).
#pragma once

#include <span>

namespace fitwright::trade {

// mm. Deviations of bore, outside and width run from the value given (negative) to 0.
struct Bearing {
  double bore_mm;
  double outside_mm;
  double width_mm;
  double bore_low_mm;
  double outside_low_mm;
  double width_low_mm;
  double radial_play_mm;  // greatest, before fitting
};

std::span<const Bearing> Bearings();
// By its three sizes (within 1e-6 mm); null when there is none.
const Bearing* FindBearing(double bore_mm, double outside_mm, double width_mm);

}  // namespace fitwright::trade
