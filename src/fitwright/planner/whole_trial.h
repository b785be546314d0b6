// The machine tried together on the bench when all its parts are made.
#pragma once

#include <optional>
#include <set>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/planner/strategy.h"

namespace fitwright::planner {

// What is together before: parts that were left on each other when they were cut in one go, and joints whose pins
// were driven where they were drilled.
struct AssembledBefore {
  std::set<PartId> stays_on;
  std::set<JointId> pinned;
};

// The last setup of the plan, without number and id: every part washed, the machine put together in the order that
// review found. Each step says what goes onto what, which end first, and what holds it; what is bought is fitted as
// soon as its places are there; each requirement between parts is looked at as soon as it shows. Nothing where there
// is no bench or nothing to put together.
std::optional<Setup> WholeTrial(const Machine& machine, const Shop& shop, const Subjects& subjects, const AssembledBefore& before);

}  // namespace fitwright::planner
