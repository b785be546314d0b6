// Lengths that a cut's zero is set by.
#pragma once

#include <string>

#include "fitwright/model/plan.h"

namespace fitwright::planner {

// Where the step's words set z by the length over `seat`, they do so by the height that its own sum gives.
void SetByTheSum(const std::string& seat, Step& step);

}  // namespace fitwright::planner
