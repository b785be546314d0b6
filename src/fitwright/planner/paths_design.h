// Whether a point, or a cutter on its path, lies inside the finished part: closed form from the
// features, so that a cut which would spoil the part is refused before any solid is made.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/model/part.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"

namespace fitwright::planner {

// True when p_P_mm lies inside the design of the part (sizes at the middle of their limits).
bool DesignHolds(const Part& part, const Vec3& p_P_mm);
// The same for the point and the corners of a cube about it of half side margin_mm.
bool DesignHoldsDeep(const Part& part, const Vec3& p_P_mm, double margin_mm);
// Volume that the feature takes away (PlanarFace and OuterDiameter: nothing).
bool FeatureTakes(const Part& part, const Feature& feature, const Vec3& p_P_mm);

// The plane of a chamfer between two planar faces, all in P: normal . p = at; the edge it replaces.
struct ChamferPlane {
  Vec3 normal_P = Vec3::UnitZ();
  double at_mm = 0;
  Vec3 edge_P_mm = Vec3::Zero();    // a point on the edge
  Vec3 along_P = Vec3::UnitX();     // the edge's direction
  Vec3 foot_a_P_mm = Vec3::Zero();  // where the plane meets face a, and face b
  Vec3 foot_b_P_mm = Vec3::Zero();
};
// None when the faces do not exist, are not planar or are parallel.
std::optional<ChamferPlane> FindChamferPlane(const Part& part, const EdgeChamfer& chamfer);

// A place where the swept cutter takes design material away, sampled every 1.5 mm or so on its rim;
// none when the path is clean. top_S_mm: up to where the cutter and its shank are looked at.
std::optional<Vec3> FindGouge(const Part& part, const Pose& X_PS, const Tool& tool,
                              const PathPiece& piece, double top_S_mm);

}  // namespace fitwright::planner
