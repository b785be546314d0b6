// Shared by the exact and the quick tests of screws; not for other units.
#pragma once

#include "fitwright/variation/screws.h"

namespace fitwright::variation {

// Where a plane's condition stands at a move, its screw not rocked.
Vec2 At(const ScrewPlane& p, const PlanarMove& move);
// Least-squares move of the screws' planes, then pulled into the spigots.
PlanarMove LeastSquares(const ScrewProblem& problem);
// An upper bound of the excess: each screw unrocked, or rocked by clipped least squares.
double QuickExcess(const ScrewProblem& problem, const PlanarMove& move);

}  // namespace fitwright::variation
