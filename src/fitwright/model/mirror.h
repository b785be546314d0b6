// A part as seen in a mirror.
#pragma once

#include "fitwright/model/part.h"

namespace fitwright {

// On the plane x, y or z = 0 (axis 0, 1, 2). Named features keep their names; faces of a block that
// carry their side's name take the name of the side they come to. The image carries mirror_of.
Part MirrorPart(const Part& original, const PartId& name, int axis);

}  // namespace fitwright
