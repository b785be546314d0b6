// Deep groove ball bearings: boundary dimensions (ISO 15), Normal class limits (ISO 492), play (ISO
// 5753-1 group N), and the fits of their seats.
#pragma once

#include <span>
#include <string_view>

#include "fitwright/base/result.h"
#include "fitwright/base/words.h"

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

// ISO 492 Normal class: lower deviation of the mean bore and of the mean outside diameter, mm; the
// upper is 0. Bores over 2.5 to 120, outsides over 6 to 250 mm. Errors: kNotFinite, kNotPositive,
// kOutOfRange.
Result<double> NormalBoreLow_mm(double bore_mm);
Result<double> NormalOutsideLow_mm(double outside_mm);

// What turns against the load decides: that ring needs the tight seat.
enum class ShaftLoad { kStillMustSlide, kStill, kLight, kNormal };
enum class HousingLoad { kStillSlides, kStillUsuallySlides, kUndecided, kTurning };
// Classes of ISO 286 for the seats of ball bearings of Normal class (common practice, from memory).
// Shafts to 100 mm. Errors of ShaftSeat: kNotFinite, kNotPositive, kOutOfRange.
Result<std::string_view> ShaftSeat(double bore_mm, ShaftLoad load);
std::string_view HousingSeat(HousingLoad load);

}  // namespace fitwright::trade

namespace fitwright {
template <>
struct WordsOf<trade::ShaftLoad> {
  using L = trade::ShaftLoad;
  static constexpr auto kAll = std::to_array<Word<L>>({{L::kStillMustSlide, "still_must_slide"},
                                                       {L::kStill, "still"},
                                                       {L::kLight, "light"},
                                                       {L::kNormal, "normal"}});
};
template <>
struct WordsOf<trade::HousingLoad> {
  using L = trade::HousingLoad;
  static constexpr auto kAll =
      std::to_array<Word<L>>({{L::kStillSlides, "still_slides"},
                              {L::kStillUsuallySlides, "still_usually_slides"},
                              {L::kUndecided, "undecided"},
                              {L::kTurning, "turning"}});
};
}  // namespace fitwright
