// What several parts add up to is reckoned from their own measured sizes before the machine is put together.
#pragma once

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/planner/measure_share.h"

namespace fitwright::planner {

// A step for each requirement of a distance over three made distances or more, but those in `settled`, which are made to
// suit: the sum with a place for each figure, the step of `plan` that measured it, and what to do where it is out.
std::vector<Step> SumsBefore(const Machine& machine, const Shop& shop, const Settled& settled, const Plan& plan);

}  // namespace fitwright::planner
