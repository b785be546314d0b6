// What speaks for a choice of the plan: what else could be done there, and what it would cost.
#pragma once

#include <string>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/planner/search.h"

namespace fitwright::planner {

struct WhyInput {
  const Machine* machine = nullptr;
  const Shop* shop = nullptr;
  const Choices* choices = nullptr;
  const Strategy* chosen = nullptr;
  const Plan* plan = nullptr;  // of chosen
  PlannerOptions options;
};

// Answers about `subject`: a joint or requirement (its technique), a part (its setups, their order, and its place among
// the parts), a part and the side that is up ("block.+z") or a setup by its number (holding, datum, zero), "order" (of
// all parts). Each other way is judged with everything else as chosen, by the evaluator of the search. Errors:
// kUnknownSubject with what can be asked.
Result<std::vector<Why>> TellWhy(const WhyInput& in, const std::string& subject);

}  // namespace fitwright::planner
