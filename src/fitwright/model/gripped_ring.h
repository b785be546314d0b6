// The ring that three jaws press when a bore is cut inside the length they hold. Frame P, mm.
#pragma once

#include <optional>

#include "fitwright/model/part.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"

namespace fitwright {

struct GrippedRing {
  double outer_mm = 0;
  double inner_mm = 0;
  double length_mm = 0;  // as the jaws hold over it
};

// None unless the setup's first piece stands in a three-jaw chuck and the hole runs about the axis of the grip,
// 2 mm or more of it between the jaws. X_PS: pose of that piece. What the ring's ends stiffen is left out.
std::optional<GrippedRing> FindGrippedRing(const Shop& shop, const Setup& setup, const Hole& hole, const Pose& X_PS);

}  // namespace fitwright
