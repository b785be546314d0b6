// What hangs on how each part is made, for a search that has read the plan's setups before.
#pragma once

#include <cstddef>
#include <map>
#include <set>

#include "fitwright/base/result.h"
#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/variation/setup_readings.h"

namespace fitwright::variation {

// As FindConcerns in odds.h; what `known` remembers of setups is not read again, and the answer is
// the same.
Result<std::map<PartId, std::set<std::size_t>>> FindConcerns(const Machine& machine,
                                                             const Shop& shop, const Plan& plan,
                                                             const KnownSetups& known);

}  // namespace fitwright::variation
