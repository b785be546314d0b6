// Regions of a file's solid that no feature explains: shaped by hand when the machines are done.
#pragma once

#include <string>
#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"

namespace fitwright::planner {

// A setup on the bench for each part with such regions, without number and id: marked out from the
// file's own solid, sawn, filed or sent out, and looked at against it, region by region. Nothing where
// there is no bench.
std::vector<Setup> HandShaping(const Machine& machine, const Shop& shop);

// What HandShaping takes for granted, a sentence for each part.
std::vector<std::string> HandShapingAssumed(const Machine& machine);

}  // namespace fitwright::planner
