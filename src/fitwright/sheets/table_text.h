// Layout of one table in monospace; used by RenderText.
#pragma once

#include <string>
#include <vector>

#include "fitwright/sheets/sheet_model.h"

namespace fitwright::sheets {

// Lines of at most `width` characters. Columns that wrap give way first; a table that is still too wide
// is set as several, each with its repeated columns.
std::vector<std::string> LayOutTable(const Table& table, std::size_t width);

}  // namespace fitwright::sheets
