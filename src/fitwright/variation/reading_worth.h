// Which reading would be worth making: a size read and its mate made to suit.
#pragma once

#include <vector>

#include "fitwright/variation/lessen.h"

namespace fitwright::variation {

// For each requirement with two limits between two sizes that the plan works each to the drawing:
// one read, the other made to suit it. What is left is the reading and the mate's own cut; the mate
// is then aimed where the quantity lies at the middle of its limits. Odds are of the sizes alone,
// without what tilts and the places along them take, by their exact laws (fast_odds.h). `odds` of
// every requirement as planned: remedies are counted by them. Those that save nothing are left out;
// most hours saved first.
std::vector<ReadingWorth> FindReadings(const Project& project, const Analysis& analysis,
                                       const std::vector<double>& odds, std::size_t most);

}  // namespace fitwright::variation
