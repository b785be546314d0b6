// Solids looked at by points. Does a cut hold where it was made? The kernel can lose a tool that just
// touches a face and report nothing.
#pragma once

#include <vector>

#include "fitwright/solid/solid.h"

namespace fitwright::solid {

// Takes points a hair inside and outside each face of each tool: inside, nothing may be left of the
// body; outside, the body must still be there unless another tool took it. Points within 1e-6 mm of
// a surface say nothing. Cost: about 2 ms a tool.
bool IsCutSound(const Solid& body, const std::vector<Solid>& tools, const Solid& left);

// True when a point a hair inside some face of b lies inside a: they share more than a touch. False
// proves nothing.
bool SeenToOverlap(const Solid& a, const Solid& b);

}  // namespace fitwright::solid
