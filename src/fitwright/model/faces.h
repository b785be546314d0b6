// Plane faces of a part, by the way they look.
#pragma once

#include "fitwright/model/part.h"

namespace fitwright {

// The planar face farthest out along normal_P (unit, frame of the part) among those that look that
// way within 1e-6 of the cosine; null when there is none.
const Feature* OutermostFace(const Part& part, const Vec3& normal_P);

}  // namespace fitwright
