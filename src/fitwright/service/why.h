// Why the plan is as it is.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "fitwright/planner/planner.h"
#include "fitwright/service/use_cases.h"

namespace fitwright::service {

struct WhyUse {
  std::string subject;
  planner::Wish wish = planner::Wish::kLeastHours;
  double sure = 0;  // the odds asked for, 0..1
  std::uint64_t seed = 1;
  std::int64_t builds = 20000;
  int threads = 0;
  WorkOptions work;
};
// Plans as `plan` does, writes nothing, and answers. Errors as planner::Planner::Choose and planner::TellWhy.
Result<std::vector<planner::Why>> AskWhy(const Opened& opened, const WhyUse& use);
std::string WhyReport(const Opened& opened, const std::vector<planner::Why>& answers, const sheets::ReportOptions& options);

inline constexpr std::string_view kWhySchemaId = "fitwright-why/1";
// {schema, subject, answers: [{about, kind, chosen: {what, odds, minutes, minutes_expected}, runner_up: the same or null,
// fails: [{what, because}], because, note}]}.
std::string WhyToJson(const std::string& subject, const std::vector<planner::Why>& answers);

}  // namespace fitwright::service
