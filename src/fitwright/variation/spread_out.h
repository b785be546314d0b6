// How a requirement's measured quantity is spread, for drawing.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/variation/analysis.h"

namespace fitwright::variation {

// What is on the axis.
enum class Quantity : std::uint8_t {
  kValue,     // the measured quantity itself
  kFurthest,  // of several: the one furthest from the middle of the limits, as a distance
  kGreatest,  // of several: the greatest
  kLeast,     // of several: the least
  kSpare      // of screws: room that the tightest has to spare, below 0 what it lacks
};

struct SpreadOut {
  Quantity quantity = Quantity::kValue;
  bool exact = false;           // by its law; else counted in builds
  std::vector<double> edges;    // mm or rad; one more than shares, even, ascending
  std::vector<double> shares;   // of builds between them; what lies outside is not here
  std::optional<double> lower;  // limits on the same axis
  std::optional<double> upper;
};

// Of the requirement at this place; `odds` are those of the analysis (mean and sigma are read).
// Counted in `builds` where there is no law. Nothing where the quantity does not vary. Errors as
// CalcOddsOf.
Result<std::optional<SpreadOut>> CalcSpreadOut(const Analysis& analysis, const Shop& shop,
                                               std::size_t requirement, const RequirementOdds& odds,
                                               std::uint64_t seed, std::int64_t builds);

}  // namespace fitwright::variation
