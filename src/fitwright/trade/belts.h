// Belts: pitches of toothed belts, and round belts.
#pragma once

#include <span>
#include <string_view>

namespace fitwright::trade {

// mm.
struct ToothedBelt {
  std::string_view name;  // "XL"
  std::string_view standard;
  double pitch_mm = 0;
  double under_pitch_line_mm = 0;  // by how much the pulley's outside diameter is under its pitch
                                   // diameter; 0 where it could not be had honestly
};

std::span<const ToothedBelt> ToothedBelts();
// Without regard to case; null when there is none.
const ToothedBelt* FindToothedBelt(std::string_view name);

// z p / pi.
double PitchDiameter_mm(const ToothedBelt& belt, int teeth);

// Round belts of polyurethane or leather as sold (common practice): diameters, mm, and the least
// pulley as a multiple of the belt.
std::span<const double> RoundBelts_mm();
inline constexpr double kLeastRoundPulley = 8;

}  // namespace fitwright::trade
