// The order of the cuts of one chucking: what takes much away comes before what is brought to size.
#pragma once

#include "fitwright/model/part.h"
#include "fitwright/model/plan.h"

namespace fitwright::planner {

// Lathe: drills and roughing bars that follow an outside go before it, in their own order: they push and heat the piece
// most. Where the bore leaves a thin ring the bars come after the outside, which is turned while the wall is thick; on a
// centre nothing is changed, it stands where the drill would go (common practice).
void RoughInsideFirst(const Part& part, Setup& setup);

}  // namespace fitwright::planner
