// Chances of missing that are too small to be counted in builds.
#pragma once

#include "fitwright/model/plan.h"
#include "fitwright/variation/analysis.h"

namespace fitwright::variation {

inline constexpr double kSeldom =
    1e-3;  // missed more seldom than this: counted builds say too little

// Puts in the chance of every requirement that was missed in fewer than kSeldom of the builds: by
// the law of its one quantity (fast_odds.h), else, where it is compiled (compiled_builds.h), by
// draws where it is missed (stats/rare.h). Where that gives no narrower interval, is not to be
// trusted or is against what was counted, the counted chance stays. `odds` are those of the
// analysis, not yet handed over. Deterministic for their seed.
void HandOverSeldom(const Analysis& analysis, Odds& odds);

}  // namespace fitwright::variation
