// The way by which a circlip that springs into a groove inside a bore comes to it.
#pragma once

#include <optional>

#include "fitwright/model/machine.h"

namespace fitwright::planner {

// In W, from the bore's open end that is nearer to the groove towards it. The groove is the one that the ring stands
// in, by place; nothing where there is none, or no bore about it.
std::optional<Vec3> SprungWay_W(const Machine& machine, const PartId& ring);

}  // namespace fitwright::planner
