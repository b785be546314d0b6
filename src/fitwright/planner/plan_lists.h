// The lists of a plan: joints and their techniques, parts, what to buy. Private to planner/.
#pragma once

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/planner/strategy.h"

namespace fitwright::planner {

// Unless it is listed already for the same.
void AddBuy(Plan& plan, const BuyLine& line);
void ListJoints(const Subjects& subjects, const Strategy& strategy, Plan& plan);
// Stock, screws and pins.
void ListPartsAndBuying(const Machine& machine, const Subjects& subjects, Plan& plan);
// What the plan takes to be so, into plan.assumed.
void AddAssumed(const Machine& machine, Plan& plan);

}  // namespace fitwright::planner
