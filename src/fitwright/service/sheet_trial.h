// Sheets as they would be, tried in a folder of their own before anything is written. Private to
// this layer.
#pragma once

#include <filesystem>
#include <map>
#include <string>

#include "fitwright/service/use_cases.h"

namespace fitwright::service {

inline constexpr std::size_t kMostSheetBytes = 4 << 20;

// "machine.toml", "parts/NAME.toml".
bool IsSheetName(const std::string& file);
// Errors: kFileUnreadable (also where it is longer than a sheet may be).
Result<std::string> ReadSheetText(const std::filesystem::path& file);
// Reads the project with these sheets in the place of its own, or beside them. Faults as Open; the
// Error is the first of them, or kFileUnwritable.
Status TrySheets(const OpenOptions& open, const std::map<std::string, std::string>& sheets,
                 Diagnostics& faults);

}  // namespace fitwright::service
