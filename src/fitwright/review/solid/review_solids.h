// Design checks that look at the solids themselves.
#pragma once

#include <vector>

#include "fitwright/base/progress.h"
#include "fitwright/base/result.h"
#include "fitwright/review/review.h"

namespace fitwright::review {

// - Every drawn part is one sound piece (not_one_piece).
// - Metal left round each hole's wall and below its bottom, measured by rays against the finished
// part,
//   so that slots, pockets, grooves and odd outsides count (wall_thin).
// - Parts as placed share no space, beyond the interference of press fits (parts_overlap).
// Findings by part in the machine's order, then pairs of parts. Errors: kKernel, kStopped.
// About 50 ms a part and 20 ms a pair whose boxes meet.
Result<std::vector<Finding>> ReviewSolids(const Machine& machine, const ReviewLimits& limits,
                                          const WorkOptions& work);

}  // namespace fitwright::review
