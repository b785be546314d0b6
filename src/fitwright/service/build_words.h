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

std::string NextText(const NextAnswer& answer, const sheets::ReportOptions& options);
std::string RecordText(const RecordAnswer& answer, const sheets::ReportOptions& options);
// Of one build, or of all. Times are this place's own.
std::string LogText(const Workshop& workshop, std::optional<int> build,
                    const sheets::ReportOptions& options);

// See schemas/next.schema.json and record.schema.json.
std::string NextToJson(const NextAnswer& answer);
// `changes`: what a reading changed (rework_use.h), or null.
std::string RecordToJson(const RecordAnswer& answer, const std::string& changes = "null");

}  // namespace fitwright::service
