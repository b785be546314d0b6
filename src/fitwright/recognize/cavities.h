// Slots, pockets and steps: planes square to each other that bend inward, with equal rounds in the corners
// that stand one way.
#pragma once

#include "fitwright/recognize/draft.h"

namespace fitwright::recognize {

// What is read takes no metal of the file's solid; what would is left unread.
void ReadCavities(Draft& draft, const TakesOnlyAir& takes_only_air);

}  // namespace fitwright::recognize
