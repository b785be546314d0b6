// Lengths made to what a trial assembly of the rest showed.
//
// The requirement's value is c * length + rest, c = 1 or -1 for a face that looks along the stack. The trial
// gives the rest with the errors of its reading; what was there to be measured then drops out of the
// finished value, whatever it was. What is left: the readings, the last cut, the length's own reading, burrs
// and dirt of the trial against those of the final assembly, and what is made or put together only later.
// Where a joint's float comes to rest (kPlay) is not known beforehand: it stays in the finished value, and
// the trial is taken to have had it in its middle.
#pragma once

#include "fitwright/variation/analysis.h"

namespace fitwright::variation {

// Puts in every form that reads a fitted length what it is made to. Errors: kNoPlan when the requirement
// has no one value that moves with the length.
Status ResolveStacks(Analysis& analysis);

}  // namespace fitwright::variation
