// Twist drill and reamer sizes as sold, metric (selection after ISO 235 and ISO 521; see
// drills.cc).
#pragma once

#include <optional>
#include <span>

namespace fitwright::trade {

// Ascending, 0.5 to 32 mm.
std::span<const double> DrillDiameters_mm();
// Nearest size (the smaller of two equally near); none outside 0.45..32.25 mm.
std::optional<double> NearestDrill_mm(double diameter_mm);
std::optional<double> DrillAtOrBelow_mm(double diameter_mm);
std::optional<double> DrillAtOrAbove_mm(double diameter_mm);

// Hand and machine reamers H7, ascending.
std::span<const double> ReamerDiameters_mm();

}  // namespace fitwright::trade
