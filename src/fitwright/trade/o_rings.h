// O-rings of the inch series (AS568, in mm also ISO 3601-1) and the grooves that squeeze them.
#pragma once

#include <span>

#include "fitwright/base/result.h"
#include "fitwright/base/words.h"

namespace fitwright::trade {

// mm: exact conversions of the standard's thousandths of an inch.
struct ORing {
  int dash = 0;  // 12 of "-012"
  double inside_mm = 0;
  double section_mm = 0;
  double section_tolerance_mm = 0;  // plus and minus; that of the inside is left out
};

// Ascending by dash number: -004 to -028, -102 to -128, -201 to -222.
std::span<const ORing> ORings();
// Errors: kOutOfRange.
Result<ORing> FindORing(int dash);
// The ring of this section that is stretched least on a groove of this diameter, without being
// loose on it: the largest inside not above it. Errors: kNotFinite, kNotPositive, kOutOfRange.
Result<ORing> ORingForGroove(double groove_mm, double section_mm);

enum class ORingUse { kFace, kStaticRadial, kMoving };

// Bounds of the squeeze, as shares of the section (common practice).
struct Squeeze {
  double least = 0;
  double most = 0;
};
Squeeze SqueezeFor(ORingUse use);
// The ring may fill this share of the groove (common practice).
inline constexpr double kGrooveFill = 0.80;

// mm. Depth from the middle of the range of squeeze; width so that a ring unstretched fills
// kGrooveFill of depth times width.
struct ORingGroove {
  double depth_mm = 0;  // to the surface that closes it, clearance included
  double width_mm = 0;
};
// Errors: kNotFinite, kNotPositive, kOutOfRange (sections over 10 mm).
Result<ORingGroove> GrooveFor(double section_mm, ORingUse use);

}  // namespace fitwright::trade

namespace fitwright {
template <>
struct WordsOf<trade::ORingUse> {
  using U = trade::ORingUse;
  static constexpr auto kAll = std::to_array<Word<U>>(
      {{U::kFace, "face"}, {U::kStaticRadial, "static"}, {U::kMoving, "moving"}});
};
}  // namespace fitwright
