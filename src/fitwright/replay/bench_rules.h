// Bonding, curing and trial assemblies: what must come before what.
#pragma once

#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/replay/rules.h"

namespace fitwright::replay {

// Adds to the list of each setup. Of the machine only its bonded joints are read: which parts, how long
// they cure.
void CheckBench(const Machine& machine, const Plan& plan, std::vector<std::vector<Finding>>& lists);

}  // namespace fitwright::replay
