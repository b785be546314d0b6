#include "fitwright/reckon/bench_sums.h"

#include <cmath>

#include "fitwright/units/geometry.h"

namespace fitwright::reckon {

double ConeDepth_mm(double large_mm, double small_mm, double included_rad) {
  return 0.5 * (large_mm - small_mm) / std::tan(0.5 * included_rad);
}

double SectionArea_mm2(Section section, double size_mm, double thickness_mm) {
  switch (section) {
    case Section::kRound:
      return 0.25 * kPi * size_mm * size_mm;
    case Section::kSquare:
      return size_mm * size_mm;
    case Section::kHexagon:
      return 0.5 * std::sqrt(3.0) * size_mm * size_mm;
    case Section::kFlat:
      return size_mm * thickness_mm;
    case Section::kTube:
      return kPi * thickness_mm * (size_mm - thickness_mm);
  }
  return 0;
}

double Growth_mm(double length_mm, double expansion_per_K, double from_C, double to_C) {
  return length_mm * expansion_per_K * (to_C - from_C);
}

double Swept_mm3(double bore_mm, double stroke_mm) {
  return 0.25 * kPi * bore_mm * bore_mm * stroke_mm;
}

double TrueTravel_mm(double reading_mm, double angle_rad) {
  return reading_mm * std::cos(angle_rad);
}

}  // namespace fitwright::reckon
