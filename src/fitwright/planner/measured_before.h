// What a plan measures or looks at once more is compared with what it was the first time.
#pragma once

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"

namespace fitwright::planner {

// Names to every measuring step on features that stand finished, or that were looked at before, the step that did it
// first. A size that was made there to suit a mate loses the limits of the sheet: it has the mate's. What is made to suit takes
// its mate's figure from the step that measured it, where one did, and that step says what is made to suit it. The steps have their numbers.
void SayMeasuredBefore(const Machine& machine, Plan& plan);

// Where a step's height is set by a length that is measured before the piece is held, the holding begins with it.
void SayMeasuredFirst(Plan& plan);

}  // namespace fitwright::planner
