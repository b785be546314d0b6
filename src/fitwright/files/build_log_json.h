// The build log as one JSON file (schema id fitwright-log/1): the copy to keep elsewhere, and the
// way back.
#pragma once

#include <string>
#include <string_view>

#include "fitwright/base/result.h"
#include "fitwright/model/build_log.h"

namespace fitwright::files {

inline constexpr std::string_view kLogSchemaId = "fitwright-log/1";

// kWithout leaves out the plans that were followed, which are most of the file; it cannot be read
// back.
enum class Plans { kWith, kWithout };

// Text must be UTF-8, as FindFault() has it. The same log gives the same bytes.
std::string BuildLogToJson(const BuildLog& log, Plans plans);

// The log that BuildLogToJson wrote with its plans, equal in every field. Errors, with key:
// kJsonSyntax, kSchemaVersion, kMissingKey, kUnknownKey, kWrongType, kUnknownWord, kWrongCount
// (numbers are not 1, 2, 3 ...), kOutOfRange, and those of FindFault().
Result<BuildLog> BuildLogFromJson(std::string_view text, const std::string& file_name);

}  // namespace fitwright::files
