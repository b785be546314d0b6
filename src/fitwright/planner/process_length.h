// Lengths that a cut's zero is set by.
#pragma once

#include <cstddef>
#include <string_view>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/planner/strategy.h"

namespace fitwright::planner {

// How the words of a length begin that is measured before the piece is held.
inline constexpr std::string_view kBeforeHolding = "Before it is ";
// And that of measuring done before other pieces are put on it.
inline constexpr std::string_view kBeforeOthers = "before the others are put on";

// A face that is made to a height over its own seat: where the words of the setup's steps from index `from` set z by the
// length over that seat, they do so by the height that the step's own sum gives, not by the drawn one.
void SetHeightByTheSum(const Machine& machine, const Subjects& subjects, const Strategy& strategy, const FeatureRef& ref, std::size_t from, Setup& setup);

}  // namespace fitwright::planner
