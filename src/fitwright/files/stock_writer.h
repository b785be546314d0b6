// [stock] as text. Internal to files/.
#pragma once

#include "fitwright/files/sheet_text.h"
#include "fitwright/model/part.h"

namespace fitwright::files {

// Nothing where the stock is the one that the reader proposes for the part.
void WriteStock(const Part& part, SheetText& text);

}  // namespace fitwright::files
