// What comes next, what was kept, and the log: as text for who stands at the machine, and as JSON.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/service/build_use.h"
#include "fitwright/sheets/report.h"

namespace fitwright::service {

inline constexpr std::string_view kNextSchemaId = "fitwright-next/1";
inline constexpr std::string_view kRecordSchemaId = "fitwright-record/1";

// What was kept and what it means, in sentences; lengths in the workshop's unit.
std::vector<std::string> RecordWords(const RecordAnswer& answer);

// What was said: "bore 24.010 mm (typed 24.01), bore gauge".
std::string EventWords(const Workshop& workshop, const LogEvent& event);
// "7.3" of the plan that was followed; the id where that plan cannot be read.
std::string StepWords(const Workshop& workshop, const LogEvent& event);
// What a step waits for, in a sentence.
std::string WaitWords(const Plan& plan, const Wait& wait);

// What stands of a plan that was made anew by readings, and what they say of making it anew.
struct PlanNews {
  bool anew = false;               // the plan is one of what was left
  bool next_changed = false;       // what comes next is not as it was before, or something else came next
  std::vector<std::string> about;  // that it is so, and what is otherwise where work goes on
  int readings_since = 0;          // that the plan does not go by
  std::vector<std::string> worth;  // what planning what is left by them would change; the last says how
};

// `plan`: left_use.h, FindPlanNews.
std::string NextText(const NextAnswer& answer, const PlanNews& plan,
                     const sheets::ReportOptions& options);
std::string RecordText(const RecordAnswer& answer, const sheets::ReportOptions& options);
// Of one build, or of all. Times are this place's own.
std::string LogText(const Workshop& workshop, std::optional<int> build,
                    const sheets::ReportOptions& options);

// See schemas/next.schema.json and record.schema.json.
std::string NextToJson(const NextAnswer& answer, const PlanNews& plan);
// `changes`: what a reading changed (rework_use.h), or null.
std::string RecordToJson(const RecordAnswer& answer, const std::string& changes = "null");

}  // namespace fitwright::service
