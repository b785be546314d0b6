// A first step of a compiled plan that fills each source's column with random numbers of its own.
#pragma once

#include <cstdint>
#include <vector>

#include "fitwright/stats/trials.h"
#include "fitwright/variation/analysis.h"
#include "fitwright/variation/draws.h"

namespace fitwright::variation {

struct OwnColumn {
  SourceIndex source = 0;
  std::uint32_t column = 0;
};

// A point of the unit disc for a float (play_rest.h's first try), x and y.
struct OwnDisc {
  std::uint64_t key = 0;
  std::uint32_t column = 0;
};

// The analysis must outlive the step.
stats::TrialStep StepOfOwnDraws(const Analysis& analysis, const Figures& figures,
                                const BlockOptions& draws, std::vector<OwnColumn> columns,
                                std::vector<OwnDisc> discs);

}  // namespace fitwright::variation
