// Parallel keys: metric after DIN 6885-1 (ISO/R 773), inch square after ASME B17.1.
#pragma once

#include <span>

#include "fitwright/base/result.h"
#include "fitwright/base/words.h"

namespace fitwright::trade {

// mm. For shafts over over_mm up to and including to_mm.
struct Key {
  double over_mm = 0;
  double to_mm = 0;
  double width_mm = 0;            // of the key: h9
  double height_mm = 0;           // h9 of square keys, h11 of the others
  double shaft_depth_mm = 0;      // t1, least
  double hub_depth_mm = 0;        // t2, least
  double depth_tolerance_mm = 0;  // both depths, upwards
};

std::span<const Key> Keys();
// Errors: kNotFinite, kNotPositive, kOutOfRange (6 mm and less, over 65 mm).
Result<Key> FindKey(double shaft_mm);
// How much deeper than drawn a keyway of this width may be; wider than the table: its last row's.
double KeywayDepthTolerance_mm(double width_mm);

enum class KeyFit { kFree, kNormal, kClose };
// Widths of the keyways: tolerance classes of ISO 286 for the key's width.
struct KeywayFit {
  const char* shaft = "";
  const char* hub = "";
};
KeywayFit KeywayClasses(KeyFit fit);

// Square key of an inch shaft and the two sizes that gauge its keyways: from the bottom of the
// keyway to the far side, of the shaft and of the hub. All in mm.
struct InchKey {
  double side_mm = 0;
  double shaft_gauge_mm = 0;  // S
  double hub_gauge_mm = 0;    // T
  double shaft_depth_mm = 0;  // D - S: from the crown of the shaft
};
// Errors: kNotFinite, kNotPositive, kOutOfRange (5/16 in and less, over 3 1/4 in).
Result<InchKey> FindInchKey(double shaft_mm);

}  // namespace fitwright::trade

namespace fitwright {
template <>
struct WordsOf<trade::KeyFit> {
  using F = trade::KeyFit;
  static constexpr auto kAll =
      std::to_array<Word<F>>({{F::kFree, "free"}, {F::kNormal, "normal"}, {F::kClose, "close"}});
};
}  // namespace fitwright
