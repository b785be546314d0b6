// Hollow round faces on one axis: holes, what opens their mouths, tapers and grooves inside them.
#pragma once

#include "fitwright/recognize/draft.h"

namespace fitwright::recognize {

// Faces about one axis make one stack, from all walls that it goes through. Equal holes of several
// stacks become one feature with many places, on a circle where they stand evenly on one.
// Axes that do not lie along one of P are left alone: a sheet has no words for them.
void ReadRoundStacks(Draft& draft, const IsAirBetween& is_air);

}  // namespace fitwright::recognize
