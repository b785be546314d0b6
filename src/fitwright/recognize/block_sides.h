// A block's six sides, and the breaks of the straight edges between planes.
#pragma once

#include "fitwright/recognize/draft.h"

namespace fitwright::recognize {

// The sides carry the names they have by themselves: top bottom front rear left right.
void ReadBlockSides(Draft& draft);
// Chamfers and rounds along whole edges, of any angle and size. After the sides and the cavities.
void ReadEdgeBreaks(Draft& draft, const TakesOnlyAir& takes_only_air);

}  // namespace fitwright::recognize
