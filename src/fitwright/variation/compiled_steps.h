// Steps of a compiled plan that are no sums: floats come to rest, screws enter, formulas and
// measured values.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "fitwright/stats/trials.h"
#include "fitwright/variation/compiled_rows.h"
#include "fitwright/variation/screws.h"

namespace fitwright::variation {

// Columns that a float fills.
struct PlayColumns {
  std::uint32_t x = 0;  // y is the next
  std::optional<std::uint32_t> theta = {};
};

// Whether it rests against the wall that it is pushed to.
bool IsPushed(const Play& play);
// Whether the float rests in one disc wherever its limits are: linear but for one product.
bool RestsInOneDisc(const Play& play);
// Of such a float; `disc` is the first of two columns of a point in the unit disc, none where
// nothing is left to chance.
stats::TrialRest RestInDisc(const Play& play, const PlayRows& rows, const PlayColumns& columns,
                            std::optional<std::uint32_t> disc);
// Of any other float: in vectors where it is left to chance, build by build where not.
stats::TrialStep StepOfPlay(const Play& play, const PlayRows& rows, const PlayColumns& columns,
                            const Figures& figures);

// Whether the requirement takes a step of its own.
bool NeedsStep(const RequirementForms& r);
// Screws and pins: in vectors, the exact solver for what those leave open. Formulas: all builds of
// a block at once; a value that cannot be reckoned is not met. `r` must outlive the program.
stats::TrialStep StepOfRequirement(const RequirementForms& r, const RequirementRows& rows,
                                   std::uint32_t outcome, const Figures& figures);

// The measured quantity of each of a block's builds, every row of which is there. Screws: the
// excess that the worst lacks, exact and slow. A value that cannot be reckoned is 0.
void FillMeasured(const RequirementForms& r, const RequirementRows& rows, const Figures& figures,
                  const stats::TrialBlock& block, double* out);

}  // namespace fitwright::variation
