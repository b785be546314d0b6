// What one closed line of straight stretches and arcs says: cutouts through or to a depth, open at the
// part's sides or not, and outlines that no discs and bars make.
#pragma once

#include "fitwright/recognize/draft.h"

namespace fitwright::recognize {

// Hollows with slanting walls, all their walls at once; before the cavities, which would take some of
// their walls for a box's.
void ReadSlantingHollows(Draft& draft, const TakesOnlyAir& takes_only_air);
// What is left of walls that stand along an axis of P, when all else has been read.
void ReadLines(Draft& draft, const TakesOnlyAir& takes_only_air);

}  // namespace fitwright::recognize
