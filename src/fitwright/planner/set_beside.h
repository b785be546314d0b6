// Where a mate goes that is held flush with a part: how far along, said by their ends.
#pragma once

#include <string>

#include "fitwright/model/machine.h"
#include "fitwright/planner/strategy.h"

namespace fitwright::planner {

// "its front flush with front of body, ..." along the one way that neither the flush faces nor the
// joint between the two settles; "sideways where the drawing has it" where no drawn faces tell.
std::string SidewaysWords(const Machine& machine, const FlushPair& pair);

}  // namespace fitwright::planner
