// A reading proved against the file's solid, by building it.
#pragma once

#include "fitwright/recognize/witness.h"

namespace fitwright::recognize {

// Builds the draft's part and compares it with the witness'. Where the two differ, features that
// would take metal of the file's solid are left out, and faces that the rebuilt solid does not have
// are taken from their features. What remains goes to `reading` as its unread regions; part and
// faces too.
Status ProveReading(Draft& draft, Witness& witness, PartReading& reading);

}  // namespace fitwright::recognize
