// Where a part goes that no stop settles: how far along, said by ends and faces.
#pragma once

#include <set>
#include <string>

#include "fitwright/model/machine.h"
#include "fitwright/planner/strategy.h"

namespace fitwright::planner {

// "its front flush with front of body, ..." along the one way that neither the flush faces nor the
// joint between the two settles; "its sides where the drawing has them" where no drawn faces tell.
std::string SidewaysWords(const Machine& machine, const FlushPair& pair);

// "until its disc end is flush with pin face" for a piece that goes into a hole along `into_P` (frame of the
// outer's part): the pair of faces across it that stand nearest, a shoulder first; "to where the drawing has it"
// where no drawn faces tell. `on`: parts that are on the outer's already; where one of them, or the outer itself, stands
// out through the face, it cannot lie on a plate.
std::string HomeWords(const Machine& machine, const FeatureRef& inner, const FeatureRef& outer, const Vec3& into_P,
                      const std::set<PartId>& on = {});

}  // namespace fitwright::planner
