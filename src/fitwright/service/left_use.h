// What is left of a build planned anew by its log: done setups stay, readings stand in the place of
// what was aimed at.
#pragma once

#include <optional>
#include <set>
#include <string>
#include <vector>

#include "fitwright/model/plan_origin.h"
#include "fitwright/planner/planner.h"
#include "fitwright/rework/standing.h"
#include "fitwright/service/build_words.h"
#include "fitwright/sheets/sheet_model.h"

namespace fitwright::service {

// Of the plan that is followed: a step of them is done, or a size read in them.
std::set<SetupId> BegunSetups(const rework::Standing& standing);
// The plan that is followed is underway: a step of it is done in this build, or a size read.
bool IsUnderway(const Workshop& workshop, int build);

inline constexpr int kBuildsByReadings = 2048;  // that a plan of what is left is judged on: they count unequally
// A wish is of a plan from the sheets alone.
Error NoWishUnderway();

struct LeftPlanned {
  Plan plan;  // its odds by what was read
  PlanOrigin origin;
  bool better = false;  // than the plan that is followed
};
// Machine, shop and choices as the workshop's sheets have them now. The workshop must outlive the
// call. Errors: kFileMissing without a plan; kNoPlan where the plan does not say what it was worked
// out from, where a setup that is done would be another by the sheets as they are now, or where
// nothing is left; those of planner::MakePlan.
Result<LeftPlanned> PlanLeft(const Workshop& workshop, int build,
                             const planner::PlannerOptions& options);

// Answers about the plan that is followed, as AskWhy (why.h) gives them, by what is done and was read.
// Errors: as PlanLeft, and kUnknownSubject.
Result<std::vector<planner::Why>> AskWhyOfLeft(const Workshop& workshop, int build,
                                               const planner::PlannerOptions& options,
                                               const std::string& subject);

// How the plan of now came about.
PlanOrigin OriginOf(const Workshop& workshop);

// Of an answer with its next step: whether the plan is one of what was left, whether that changed what
// comes next, and whether readings since make another worth having. `origin`: OriginOf the workshop.
// Nothing where the sheets cannot be read.
PlanNews FindPlanNews(const NextAnswer& answer, const PlanOrigin& origin);

// What was changed and why, as sentences in the unit.
std::vector<std::string> AnewWords(const PlannedAnew& anew, LengthUnit unit);

// The same under a heading of this level.
std::vector<sheets::Piece> AnewPieces(const PlannedAnew& anew, LengthUnit unit, int level);
std::string AnewText(const PlannedAnew& anew, const sheets::ReportOptions& options);

}  // namespace fitwright::service
