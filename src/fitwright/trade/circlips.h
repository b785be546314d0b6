// Circlips (retaining rings) of the normal type: DIN 471 for shafts, DIN 472 for bores: rings and
// the grooves they sit in.
#pragma once

#include <span>

#include "fitwright/base/result.h"

namespace fitwright::trade {

// mm.
struct Circlip {
  double nominal_mm = 0;     // d1: the shaft or the bore
  double thickness_mm = 0;   // s
  double groove_mm = 0;      // d2, groove diameter
  double groove_low_mm = 0;  // its limits, deviations from d2
  double groove_high_mm = 0;
  double width_mm = 0;       // m, least width of the groove, H13
  double width_high_mm = 0;  // deviation upwards from m; 0 downwards
  double collar_mm = 0;      // n, least metal between groove and end
};

// Ascending by nominal size: shafts 3 to 50 mm, bores 8 to 52 mm (sizes in circlips.cc).
std::span<const Circlip> ShaftCirclips();
std::span<const Circlip> BoreCirclips();

// The ring for exactly this shaft or bore (within 1e-6 mm). Errors: kNotFinite, kNotPositive,
// kOutOfRange (outside the list, or between its sizes: the remedy names the neighbours).
Result<Circlip> FindShaftCirclip(double shaft_mm);
Result<Circlip> FindBoreCirclip(double bore_mm);

}  // namespace fitwright::trade
