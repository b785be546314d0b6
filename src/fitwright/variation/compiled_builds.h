// The plan compiled for sampling: the smallest linear map that its linear requirements need.
#pragma once

#include <cstdint>
#include <vector>

#include "fitwright/stats/trials.h"
#include "fitwright/variation/analysis.h"

namespace fitwright::variation {

struct CompiledBuilds {
  stats::TrialProgram program;            // one outcome for each of `requirements`: met
  std::vector<std::size_t> requirements;  // places in the analysis
  std::vector<std::size_t> left;          // those that read a float, screws, formulas: not compiled
  // What the map was before: sources read that vary at all, and factors of the forms as they stand.
  std::size_t sources_read = 0;
  std::size_t factors_read = 0;
};

// In a shop with these figures. Requirements of tests kLinear, kMagnitude and kClearance that read
// no float are compiled: rows that are equal, or opposite, are shared, and all normal sources
// (vectors of a length and direction of their own among them) are merged into as few as have the
// same joint distribution over the rows, exact to rounding: by orthogonalising the rows, one after
// the other, so that a later requirement does not change what an earlier one draws. Other sources
// keep their own streams. Same distribution as BuildRunner's, not the same numbers. Deterministic.
CompiledBuilds CompileBuilds(const Analysis& analysis, const Figures& figures);

}  // namespace fitwright::variation
