// A reading proved against the file's solid, by building it.
#pragma once

#include "fitwright/recognize/draft.h"

namespace fitwright::recognize {

// Builds the draft's part and compares. Where the two differ, features that would take metal of the file's
// solid are left out, and faces that the rebuilt solid does not have are taken from their features. What
// remains goes to `reading` as its unread regions; part and faces too. solid_P: the file's, in frame P.
Status ProveReading(Draft& draft, const solid::Solid& solid_P, const TakesOnlyAir& takes_only_air,
                    PartReading& reading);

}  // namespace fitwright::recognize
