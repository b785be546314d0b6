// What a line through a part meets, from the plain data alone.
#pragma once

#include <vector>

#include "fitwright/model/part.h"

namespace fitwright {

struct Stretch {
  double from_mm = 0;
  double to_mm = 0;
};

// The stretches of the line point + s * direction (unit, frame P) inside the block and the outer
// diameters at their middle sizes, less steps, pockets and what an outline takes; ascending in s, apart by more than
// kGeometryNoise_mm. Holes, slots, grooves, chamfers, flats, tapers and keyways are not taken away.
std::vector<Stretch> CalcMaterialAlong(const Part& part, const Vec3& point_P_mm,
                                       const Vec3& direction_P);

// Box around block and outer diameters, frame P; for diameters about an axis that is not along x, y
// or z, around the box of their ends. Needs a block or at least one outer diameter.
Box3 CalcEnvelope(const Part& part);

// Least and greatest coordinate of a turned part's outer diameters along its turning axis.
Stretch CalcTurnedLength(const Part& part);

}  // namespace fitwright
