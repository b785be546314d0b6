// What would lift the odds of a plan as it stands: each tried on the same virtual builds.
#pragma once

#include <string>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/planner/planner.h"

namespace fitwright::planner {

enum class BettermentKind { kShop, kLimit };

struct Betterment {
  BettermentKind kind = BettermentKind::kShop;
  std::string where;  // the spread's id, or the requirement
  std::string say;
  double odds_before = 0;
  double odds_after = 0;
};

// Of the plan, whose odds and causes are filled: what each large cause costs (that figure of the shop held as a careful
// shop holds it, or halved where it is), and what wider limits of the weakest requirements would give. Largest gain
// first; none below half a point. Nothing else of the plan changes. Errors as variation::CalcOdds.
Result<std::vector<Betterment>> FindBetterments(const Machine& machine, const Shop& shop, const Plan& plan, const PlannerOptions& options);

}  // namespace fitwright::planner
