// [dimensions]: named numbers with arithmetic between them. Internal to files/.
#pragma once

#include "fitwright/files/table_reader.h"

namespace fitwright::files {

// Every dimension of the sheet in its unit, whatever their order; faulty ones are reported and NaN.
Dimensions ReadDimensions(TableReader& sheet);

}  // namespace fitwright::files
