// Sheets begun and tables added to them, as the page's forms say them.
#pragma once

#include <vector>

#include "fitwright/files/page_asked_json.h"
#include "fitwright/service/use_cases.h"

namespace fitwright::service {

using files::AdditionFromJson;

// Each table goes behind what its sheet holds, every byte of which stays; a sheet that is not there
// begins with the keys of its table without a name. All of them are tried together and written only
// where the project can then be read, machine.toml last. Errors: kUsage (no sheet's name, keys of
// the whole file for one that stands already, nothing to add), the first of `faults`, and
// kFileUnwritable.
Status AddToSheets(const OpenOptions& open, const std::vector<files::SheetTable>& tables,
                   Diagnostics& faults);

}  // namespace fitwright::service
