// The machine tried together on the bench when all its parts are made.
#pragma once

#include <optional>
#include <set>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/planner/strategy.h"

namespace fitwright::planner {

// The last setup of the plan, without number and id: every part washed, the machine put together in the order
// that review found, and each requirement between parts looked at as soon as the last of its parts is on.
// `stays_on`: parts that were left together when they were cut in one go. Nothing where there is no bench or
// nothing to put together.
std::optional<Setup> WholeTrial(const Machine& machine, const Shop& shop, const Subjects& subjects,
                                const std::set<PartId>& stays_on);

}  // namespace fitwright::planner
