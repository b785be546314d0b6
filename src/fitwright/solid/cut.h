// Set operations and placing. Deterministic. Exactly coincident faces are the norm here and are
// handled; points within 1e-7 mm are the same point. Errors: kKernel when no way of cutting gives a
// valid solid. Cost: about 5 ms a plain cut, 0.2 s for 40 tools in one call.
#pragma once

#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/solid/solid.h"
#include "fitwright/units/geometry.h"

namespace fitwright::solid {

// body without every tool; the tools may overlap each other. Tools whose boxes miss the body are
// dropped first. Faces that a cut split needlessly are joined again.
Result<Solid> Cut(const Solid& body, const std::vector<Solid>& tools);

// The same, one tool after the other: slower, for when the solid that Cut gives is not valid.
Result<Solid> CutOneByOne(const Solid& body, const std::vector<Solid>& tools);

// Union and intersection. Empty operands follow the rules of sets.
Result<Solid> Fuse(const std::vector<Solid>& bodies);
Result<Solid> Common(const Solid& a, const Solid& b);

// The solid carried by X_AB from frame B to frame A. A rigid movement: never a mirror.
Solid Moved(const Solid& solid, const Pose& X_AB);

// The separate pieces, largest volume first; equal volumes by centroid x, y, z.
Result<std::vector<Solid>> SplitPieces(const Solid& solid);

// The piece that holds the point or lies nearest to it; empty when `solid` is.
Result<Solid> KeepPieceAt(const Solid& solid, const Vec3& point_mm);

// Volume of a without b plus volume of b without a, from one intersection: does not suffer from the
// cancelling of two large volumes. What the rests hide of the whole volumes is added. Where the
// kernel's approximations of crossing curves leave no clean rests, faces up to 0.001 mm apart are
// taken for one and the volume, first and second moments of both solids say how much that hides (at
// least).
Result<double> CalcSymmetricDifference_mm3(const Solid& a, const Solid& b);

// True when the volumes agree and on each surface lie faces of as much area about the same middle,
// by so much that a share of 1e-6 of the volume is not in doubt. A witness, no proof: areas that
// differ are carried across the whole part, but faces exchanged on one surface with area and middle
// kept are not noticed. False also where a surface is no plane, cylinder, cone, sphere or torus.
// Cost: about 1 ms a face, where crossing two solids with crossing bores takes seconds or fails.
bool HaveSameBoundary(const Solid& a, const Solid& b);

// Volume that a and b share. Boxes that miss each other cost nothing. Touching faces give 0.
Result<double> CalcCommonVolume_mm3(const Solid& a, const Solid& b);

// True when the shared volume exceeds allowed_mm3.
Result<bool> Collides(const Solid& a, const Solid& b, double allowed_mm3 = 1e-3);

// True when every solid is closed, not self-crossing and of positive volume. About 70 ms for 60
// faces.
bool IsValid(const Solid& solid);

}  // namespace fitwright::solid
