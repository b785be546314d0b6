// A strategy in lines of text, so that a saved plan says what it was worked out from and what is left
// of it can be planned anew.
#pragma once

#include <string>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/planner/strategy.h"

namespace fitwright::planner {

// A line for each technique, aim and setup; numbers to the last bit. Same strategy, same lines.
std::vector<std::string> LinesOf(const Strategy& strategy);
// The strategy that LinesOf wrote. Errors: kUnknownWord where a line says something else.
Result<Strategy> StrategyFrom(const std::vector<std::string>& lines);

}  // namespace fitwright::planner
