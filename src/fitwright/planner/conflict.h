// Which of the builder's own decisions cannot all hold.
#pragma once

#include <string>
#include <vector>

#include "fitwright/model/plan.h"
#include "fitwright/planner/means.h"
#include "fitwright/planner/planner.h"

namespace fitwright::planner {

struct Conflict {
  std::vector<Pin> pins;  // none where the machine cannot be made even without any
  std::string why;        // of the last of them that was tried
};

// For pins that leave no plan: a smallest set of them that leaves none by itself. Sets are tried by size, so that no
// smaller one exists; beyond three pins they are taken out one by one, and none of what is left can be spared.
Conflict SmallestConflict(const Machine& machine, const Shop& shop, const Choices& choices, const PlannerOptions& options);

// `error` where no pin is to blame; else the set, why, and what would do. `lacks`: of the shop, for a plan that keeps them.
Error SayConflict(const Conflict& conflict, const Error& error, const std::vector<Lack>& lacks = {});

}  // namespace fitwright::planner
