// Rules on the plan as a list: names, order, and devices that must keep a part meanwhile.
#pragma once

#include <vector>

#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/replay/rules.h"

namespace fitwright::replay {

// One list for each setup, in the plan's order. Reads no geometry but the setups' poses.
std::vector<std::vector<Finding>> CheckPlanList(const Plan& plan, const Shop& shop);

}  // namespace fitwright::replay
