// The outside of a plate as discs and straight bars joined, with one radius in the corners between
// them.
#pragma once

#include "fitwright/recognize/draft.h"

namespace fitwright::recognize {

// At least one disc, and bars whose middle line runs through the middle of one. What would take
// metal of the file's solid is left unread.
void ReadOutline(Draft& draft, const TakesOnlyAir& takes_only_air);

}  // namespace fitwright::recognize
