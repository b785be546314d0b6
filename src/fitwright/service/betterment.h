// What would lift the odds of the saved plan.
#pragma once

#include <string>
#include <vector>

#include "fitwright/planner/betterment.h"
#include "fitwright/service/use_cases.h"

namespace fitwright::service {

// `saved` as CalcOddsOfPlan gives it. Errors as planner::FindBetterments.
Result<std::vector<planner::Betterment>> Better(const Opened& opened, const SavedPlan& saved, const OddsUse& use);
std::string BetterReport(const SavedPlan& saved, const std::vector<planner::Betterment>& found, const sheets::ReportOptions& options);

inline constexpr std::string_view kBetterSchemaId = "fitwright-better/1";
// {schema, odds, betterments: [{kind, where, say, odds_before, odds_after}]}.
std::string BetterToJson(const SavedPlan& saved, const std::vector<planner::Betterment>& found);

}  // namespace fitwright::service
