// Numbers as the book prints them: lengths in the reader's unit, chances in words, times.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fitwright/model/plan.h"
#include "fitwright/units/length.h"
#include "fitwright/units/size.h"

namespace fitwright::sheets {

// A coordinate, limit or aim: 3 decimals in mm, 4 in inch. No unit; never "-0.000".
std::string FineLength(double mm, LengthUnit unit);
// A depth or other length read on a stop: 2 decimals in mm, 4 in inch (a hundredth of a mm is 0.0004 in).
std::string PlainLength(double mm, LengthUnit unit);
// As PlainLength without trailing zeros and with the unit: "20 mm", "0.7874 in".
std::string NamedLength(double mm, LengthUnit unit);
// "39.975 to 39.991", in FineLength.
std::string LimitsText(double lower_mm, double upper_mm, LengthUnit unit);

// "96 in 100 (94-97)". Steps of 5 where the interval is wider than ten in a hundred; "over 99 in 100" and
// "under 1 in 100" at the ends.
std::string ChanceText(const Chance& chance);
// "96 in 100" for a chance without an interval.
std::string ChanceText(double odds);
// "missed in 2.1 of 100,000 builds (2.0-2.2)" where it is missed in fewer than one of 1,000 and that is known
// better than by counting: an interval no wider than half the chance. Else empty.
std::string SeldomText(const Chance& chance);
// "88-99 with what is not known of this shop"; empty when the band says no more than the interval.
std::string ShopBandText(const Chance& chance);
// Standing strokes out of a hundred.
int TallyOf(double odds);

// "12 h 30 min", "45 min"; whole minutes, fives above two hours.
std::string TimeText(double minutes);
// "+20 min", "20 min less", "no longer".
std::string TimeChangeText(double minutes);

// A planner's sentence in the reader's unit. In such sentences a length carries its unit ("20 mm",
// "0.3-0.5 mm", "60 x 55 x 92 mm") and dial readings follow X, Y or Z; in inch both are converted.
// Names in `kept` (of tools, which are what they are) stay as written.
std::string SentenceInUnit(std::string_view sentence, LengthUnit unit,
                           const std::vector<std::string>& kept);

// As SentenceInUnit for sentences about holding, zero and measuring, where a number with a decimal
// point is a length even without its unit ("take off its radius 5.0"), unless degrees, bar, hours
// or per cent follow.
std::string ShopSentenceInUnit(std::string_view sentence, LengthUnit unit,
                               const std::vector<std::string>& kept);

// A length with its unit ("0.3-0.5 mm") or a reading of a dial ("X -28.000") that begins at `at` of a sentence, in inches; `length`
// is what it takes up there, 0 where there is none.
struct UnitNumber {
  std::string in_inches;
  std::size_t length = 0;
};
UnitNumber NumberWithUnit(std::string_view sentence, std::size_t at);

// Without what stands in brackets: "drill start after spotting (add 0.002 x diameter)".
std::string WithoutBrackets(std::string_view sentence);

// "120 deg 30 min".
std::string DegreesAndMinutes(double angle_deg);

}  // namespace fitwright::sheets
