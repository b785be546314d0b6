// What is looked at where parts are joined for good: as long as the adhesive lets them be moved, and after
// the blows of a pin. Lengths in mm.
#pragma once

#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"

namespace fitwright::planner {

// One step for each requirement between two of the parts that an indicator tells. Its features are the two
// that the requirement names; what must be parallel it settles.
std::vector<Step> LooksWhileWet(const Machine& machine, const Shop& shop, const std::vector<PartId>& parts);

// After a hole drilled through parts that stay together, `parts.front()` the one that is held: the pin goes in on
// the bench, and what the joint is to keep is looked at again. `drilled`: the holes, by which the pin is named.
std::vector<Step> PinSteps(const Machine& machine, const Shop& shop, const std::vector<PartId>& parts, const std::vector<FeatureRef>& drilled);

}  // namespace fitwright::planner
