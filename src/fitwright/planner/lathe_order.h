// The order of the cuts of one chucking: what takes much away comes before what is brought to size.
#pragma once

#include "fitwright/model/part.h"
#include "fitwright/model/plan.h"

namespace fitwright::planner {

// Lathe: drills and roughing bars that follow an outside go before it, in their own order: they push and heat the piece
// most. Where the bore leaves a thin ring the bars come after the outside, which is turned while the wall is thick; on a
// centre they stay where they are, it stands where the drill would go. A hone comes after every other cut, for each of them
// raises a burr at the bore (common practice).
void OrderInLathe(const Part& part, Setup& setup);

}  // namespace fitwright::planner
