// Short sums of the bench: points of drills and countersinks, weight, growth, volume swept, an
// indicator held askew. mm, rad, K.
#pragma once

#include <string_view>

#include "fitwright/base/words.h"

namespace fitwright::reckon {

// From one diameter of a cone down to another (0: its point): the length of a drill's point, the
// depth of a countersink below the hole's edge.
double ConeDepth_mm(double large_mm, double small_mm, double included_rad);

enum class Section { kRound, kSquare, kHexagon, kFlat, kTube };
// mm2. Round, square, hexagon: size (diameter, side, across flats). Flat: size by thickness. Tube:
// size outside, thickness its wall (at most half).
double SectionArea_mm2(Section section, double size_mm, double thickness_mm);

// What a length at `from_C` measures at `to_C`, more than before.
double Growth_mm(double length_mm, double expansion_per_K, double from_C, double to_C);

// Volume that a piston sweeps, mm3.
double Swept_mm3(double bore_mm, double stroke_mm);

// True way of the work when an indicator's stylus (or a plunger) stands at this angle to it.
double TrueTravel_mm(double reading_mm, double angle_rad);

}  // namespace fitwright::reckon

namespace fitwright {
template <>
struct WordsOf<reckon::Section> {
  using S = reckon::Section;
  static constexpr auto kAll = std::to_array<Word<S>>({{S::kRound, "round"},
                                                       {S::kSquare, "square"},
                                                       {S::kHexagon, "hexagon"},
                                                       {S::kFlat, "flat"},
                                                       {S::kTube, "tube"}});
};
}  // namespace fitwright
