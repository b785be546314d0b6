// "What if" asked of a machine that is being made: every changed plan is read by what was read so
// far.
#pragma once

#include <set>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/plan.h"
#include "fitwright/rework/conditioning.h"
#include "fitwright/rework/standing.h"
#include "fitwright/variation/met_counts.h"
#include "fitwright/variation/what_if.h"

namespace fitwright::rework {

// Steps of the plan that are done on as many pieces as are wanted.
std::set<StepId> DoneOnEveryPiece(const Standing& standing);

// The standing's machine, shop and plan with what there is of it already. In analyses of it, builds
// all count the same: sources that are not normal and carry much of a reading stay there as
// planned. CountStanding weighs them.
variation::Project ProjectOf(const Standing& standing);

// The project's plan, which came of ProjectOf(standing) and was changed since, as planned, and what
// the standing's readings say of it. Errors as variation::AnalyseProject.
struct PlanKnown {
  variation::Analysis analysis;
  Conditioning given;
};
Result<PlanKnown> KnowPlan(const variation::Project& project, const Standing& standing);

struct StandingCounts {
  double builds = 0;  // how many equal ones they are counted on
  Chance all;         // 95 % intervals, without the band of what is not known of the shop
  std::vector<Chance> requirements;  // in the machine's order
};

// Of an analysis that says all that is known.
StandingCounts CountEvenly(const variation::Analysis& analysis, const variation::MetWanted& wanted);
// Builds of the project by the standing's readings: the same builds whatever was changed. Errors as
// KnowPlan.
Result<StandingCounts> CountStanding(const variation::Project& project, const Standing& standing,
                                     const variation::MetWanted& wanted);

}  // namespace fitwright::rework
