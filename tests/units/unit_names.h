#pragma once

#include "fitwright/units/length.h"

namespace fitwright {

inline constexpr LengthUnit kMm = LengthUnit::kMillimetre;
inline constexpr LengthUnit kIn = LengthUnit::kInch;

}  // namespace fitwright
