// Preferred numbers: ISO 3 (R5 R10 R20 R40) and the rounded series of ISO 497 (R'10 R'20 R'40).
#pragma once

#include <span>

#include "fitwright/base/result.h"
#include "fitwright/base/words.h"

namespace fitwright::trade {

enum class PreferredSeries { kR5, kR10, kR20, kR40, kRounded10, kRounded20, kRounded40 };

// One decade, ascending, from 1 (included) to 10 (left out).
std::span<const double> PreferredNumbers(PreferredSeries series);

// Members at or below, at or above, and nearest by ratio (of two equally near the smaller), in any
// decade from 1e-9 to 1e9; a value within one part in 1e9 of a member is that member. Errors:
// kNotFinite, kNotPositive, kOutOfRange.
Result<double> PreferredAtOrBelow(PreferredSeries series, double value);
Result<double> PreferredAtOrAbove(PreferredSeries series, double value);
Result<double> NearestPreferred(PreferredSeries series, double value);

}  // namespace fitwright::trade

namespace fitwright {
template <>
struct WordsOf<trade::PreferredSeries> {
  using S = trade::PreferredSeries;
  static constexpr auto kAll = std::to_array<Word<S>>({{S::kR5, "R5"},
                                                       {S::kR10, "R10"},
                                                       {S::kR20, "R20"},
                                                       {S::kR40, "R40"},
                                                       {S::kRounded10, "R'10"},
                                                       {S::kRounded20, "R'20"},
                                                       {S::kRounded40, "R'40"}});
};
}  // namespace fitwright
