// A sheet line by line, and one value of it changed with every other byte left as the person wrote
// it.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/files/page_events_json.h"
#include "fitwright/service/use_cases.h"

namespace fitwright::service {

using files::SheetEdit;
using files::SheetEditFromJson;

// A line "key = value  # remark" that begins and ends its value.
struct SheetLine {
  int line = 0;       // from 1
  std::string table;  // "stock", "feature bore"; empty before the first
  std::string key;
  std::string value;   // as written
  std::string remark;  // without its mark; of a proposal without "proposed: "
  bool proposed = false;
  std::string text;  // all of the line
};
std::vector<SheetLine> ReadSheetLines(std::string_view sheet);

// The sheet with that line changed. Errors: kUsage (the line is another one by now, or holds no
// such value), kBadText (a value of several lines, or with a remark in it).
Result<std::string> SpliceSheet(std::string_view sheet, const SheetEdit& edit);

// Writes it where the project can then still be read, and else leaves it as it was, with the faults
// that it would have. Errors: those of SpliceSheet, kUsage for a file that is no sheet of this
// project, the first of `faults`, kFileUnwritable.
Status EditSheet(const OpenOptions& open, const SheetEdit& edit, Diagnostics& faults);

}  // namespace fitwright::service
