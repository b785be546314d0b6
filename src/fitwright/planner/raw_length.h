// Where a zero stands on a raw side and the rest of the part counts from the raw side opposite.
#pragma once

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"

namespace fitwright::planner {

// Says in the zero of each such setup in the vise that the raw length is measured, and what it changes in the
// reading that is set: a sawn block is as long as it is, and two sides of it that are each taken for the drawn
// one would put holes and faces apart by what it is over.
void SayRawLengths(const Machine& machine, const Shop& shop, Plan& plan);

}  // namespace fitwright::planner
