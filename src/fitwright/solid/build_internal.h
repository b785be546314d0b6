// Private to this layer: what features take away, by kind. Frame P, mm; errors as MakeDesign's.
#pragma once

#include <string>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/part.h"
#include "fitwright/solid/solid.h"

namespace fitwright::solid {

using Solids = Result<std::vector<Solid>>;

// How far a cutter is run out where only air can be.
inline constexpr double kRunOut_mm = 1.0;

// kRunOut_mm where the whole envelope lies on the inner side of the plane through the point, else
// 0.
double RunOut(const Part& part, const Vec3& point, const Vec3& outward);
Error Misplaced(ErrorCode code, const Part& part, const Feature& feature, std::string what);
Solids One(Result<Solid> solid);

// build_edges.cc
Solids MakeEdgeBreak(const Part& part, const Feature& feature, const EdgeChamfer& chamfer);
Solids MakeRoundBreak(const Part& part, const Feature& feature, const RoundChamfer& chamfer);
// build_round.cc
Solids MakeGroove(const Part& part, const Feature& feature, const Groove& groove);
Solids MakeFlats(const Part& part, const Feature& feature, const Flats& flats);
Solids MakeTaper(const Part& part, const Feature& feature, const Taper& taper);
Solids MakeKeyway(const Part& part, const Feature& feature, const Keyway& keyway);
// build_outline.cc
Solids MakeAroundOutline(const Part& part, const Feature& feature, const Outline& outline);

}  // namespace fitwright::solid
