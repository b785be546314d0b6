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
  OpenOptions open = {};  // for the build log
  int build = 1;          // of several machines made to this plan, whose log counts
  bool afresh = false;    // of a plan from the sheets alone, whatever is done
  int tries = 0;  // as many as the plan was searched with
};
struct WhyAnswer {
  std::vector<planner::Why> answers;
  bool underway = false;  // of the saved plan, by what is done and was read of the build
  int readings = 0;       // then: that count
};
// Where work was begun, about what is left of the saved plan; else plans as `plan` does. Writes nothing. Errors as
// planner::Planner::Choose, planner::TellWhy and AskWhyOfLeft; kUsage for a wish where work was begun.
Result<WhyAnswer> AskWhy(const Opened& opened, const WhyUse& use);
std::string WhyReport(const Opened& opened, const WhyAnswer& answer, const sheets::ReportOptions& options);

inline constexpr std::string_view kWhySchemaId = "fitwright-why/1";
// {schema, subject, by_readings: how many count; null: of a plan from the sheets alone, answers: [{about, kind, chosen: {what, odds, minutes, minutes_expected}, runner_up: the same or null,
// fails: [{what, because}], because, note}]}.
std::string WhyToJson(const std::string& subject, const WhyAnswer& answer);

}  // namespace fitwright::service
