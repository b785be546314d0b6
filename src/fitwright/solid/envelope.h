// Private to this layer: what stands before anything is taken away.
#pragma once

#include "fitwright/model/part.h"

namespace fitwright::solid {

// Box around block and outer diameters, frame P.
Box3 CalcEnvelopeBox(const Part& part);

// True when the whole envelope lies on the inner side of the plane through the point square to
// `outward` (unit): a cutter may run out there without taking anything more.
bool IsAirBeyond(const Part& part, const Vec3& point_mm, const Vec3& outward);

}  // namespace fitwright::solid
