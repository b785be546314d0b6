// Faces of a part, and where a plan sets it down.
#pragma once

#include "fitwright/model/part.h"
#include "fitwright/model/plan.h"

namespace fitwright {

// The planar face farthest out along normal_P (unit, frame of the part) among those that look that
// way within 1e-6 of the cosine; null when there is none.
const Feature* OutermostFace(const Part& part, const Vec3& normal_P);

// The plan says that no feature is made there yet.
bool IsOnRaw(const Contact& contact);

}  // namespace fitwright
