// What a sheet can say at all.
#pragma once

#include "fitwright/recognize/draft.h"

namespace fitwright::recognize {

// Takes features back that no sheet could say as they were read: a hole about an axis that stands
// beside the part, sizes that contradict the part. Their faces are free again, with the reason.
void DropWhatNoSheetSays(Draft& draft);

}  // namespace fitwright::recognize
