// Design checks that look at the solids themselves.
#pragma once

#include <vector>

#include "fitwright/base/progress.h"
#include "fitwright/base/result.h"
#include "fitwright/review/review.h"

namespace fitwright::review {

// - Every drawn part is one sound piece (not_one_piece).
// - Metal behind some sixty points on the walls of each hole, slot, pocket and groove and below
//   every blind one, measured by rays against the finished part (wall_thin).
// - Parts, copies and bought parts as placed share no space, beyond press fits, bearing fits and
//   what is clamped under gasket sheet (parts_overlap).
// Findings by part in the machine's order, then pairs of parts. Errors: kKernel, kStopped.
// About 7 s for a machine of thirty pieces.
Result<std::vector<Finding>> ReviewSolids(const Machine& machine, const ReviewLimits& limits,
                                          const WorkOptions& work);

}  // namespace fitwright::review
