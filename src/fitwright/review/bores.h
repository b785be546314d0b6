// Holes of a part as plain cylinders with a cone, for distances between them. Private to this
// layer.
#pragma once

#include <vector>

#include "fitwright/model/part.h"

namespace fitwright::review {

// One hole of a pattern, frame P.
struct Bore {
  const Feature* feature = nullptr;
  const Hole* hole = nullptr;
  int index = 0;  // in the pattern
  Vec3 entry_mm = Vec3::Zero();
  Vec3 into = -Vec3::UnitZ();
  double radius_mm = 0;
  double depth_mm = 0;  // full diameter
  double cone_mm = 0;   // beyond it; 0 for flat bottoms and through holes
};

std::vector<Bore> BoresOf(const Part& part);

// Signed distance of a point from a bore, cylinder and cone: negative inside.
double DistanceTo(const Bore& bore, const Vec3& point_mm);

// Least metal between two bores, from points on a's surface; negative when they run into each
// other. Within 0.02 mm for small holes.
double CalcWall_mm(const Bore& a, const Bore& b);

bool Coaxial(const Bore& a, const Bore& b);
// Some point of a's axis, between entry and full depth, lies inside b.
bool AxisEnters(const Bore& a, const Bore& b);

// Two unit vectors square to `axis` and to each other.
void MakeSquare(const Vec3& axis, Vec3& u, Vec3& v);

}  // namespace fitwright::review
