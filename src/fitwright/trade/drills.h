// Twist drills and reamers as sold, metric and inch; see drills.cc for the standards.
#pragma once

#include <array>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/base/words.h"

namespace fitwright::trade {

enum class DrillSet { kMetric, kFraction, kNumber, kLetter };

// Which drills lie in the drawer.
struct DrillSets {
  bool metric = false;
  bool fraction = false;
  bool number = false;
  bool letter = false;
  bool Has(DrillSet set) const;
};
inline constexpr DrillSets kMetricDrills{true, false, false, false};
inline constexpr DrillSets kInchDrills{false, true, true, true};
inline constexpr DrillSets kAllDrills{true, true, true, true};

struct Drill {
  DrillSet set;
  std::string name;  // "6.8", "27/64", "#7", "F"
  double diameter_mm = 0;
};

// A centre drill's 60 degree mouth, where its body begins, over its own diameter (ISO 866 type A, from memory).
inline constexpr double kCentreDrillMouth = 2.12;

// All drills of the sets, ascending; of two alike (1/4 and E) the one of the earlier set first.
std::vector<Drill> Drills(DrillSets sets);
// "6.8", "6.8 mm", "27/64", "#7", "no. 7", "F"; null when no set has it.
std::optional<Drill> FindDrill(std::string_view name);
// Of two equally near the smaller. Errors: kOutOfRange outside the least and greatest drill of the
// sets (both named), kNotFinite, kMissingKey when no set is chosen. Under a microsecond.
Result<Drill> NearestDrill(double diameter_mm, DrillSets sets);
Result<Drill> DrillAtOrBelow(double diameter_mm, DrillSets sets);
Result<Drill> DrillAtOrAbove(double diameter_mm, DrillSets sets);

// Hand and machine reamers, ascending: metric H7, and inch by 64ths to 1/2 and by 32nds to 1 in.
std::span<const double> ReamerDiameters_mm();
std::span<const double> InchReamerDiameters_mm();

}  // namespace fitwright::trade

namespace fitwright {
template <>
struct WordsOf<trade::DrillSet> {
  static constexpr auto kAll =
      std::to_array<Word<trade::DrillSet>>({{trade::DrillSet::kMetric, "metric"},
                                            {trade::DrillSet::kFraction, "fraction"},
                                            {trade::DrillSet::kNumber, "number"},
                                            {trade::DrillSet::kLetter, "letter"}});
};
}  // namespace fitwright
