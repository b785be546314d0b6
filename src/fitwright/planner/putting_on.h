// What goes on what when the machine is put together: which end first, from which side, how it is pressed home and
// what holds it.
#pragma once

#include <string>
#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/review/assembly_order.h"

namespace fitwright::planner {

bool Has(const std::vector<PartId>& list, const PartId& part);

// The step of one group onto what is there. Its joints are those that are closed by it.
Step PutOnStep(const Machine& machine, const Shop& shop, const review::AssemblyStep& way);

// "from the front", the outermost face of `part` that looks against the way; empty where it has none.
std::string FromSideWords(const Machine& machine, const PartId& part, const Vec3& way_W);

// "the screw holes of front housing".
std::string FeatureOfPart(const FeatureRef& ref);

}  // namespace fitwright::planner
