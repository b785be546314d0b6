// Measures of solids: mm, mm2, mm3.
#pragma once

#include <optional>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/solid/solid.h"
#include "fitwright/units/geometry.h"

namespace fitwright::solid {

// 0 for the empty solid. Relative accuracy 1e-9, also where bores cross each other.
double CalcVolume_mm3(const Solid& solid);
Vec3 CalcCentroid_mm(const Solid& solid);
double CalcArea_mm2(const Solid& solid);

// Tight box (within 1e-6 mm) in the solid's frame; a zero box at the origin for the empty solid.
Box3 CalcBox(const Solid& solid);
// Tight box seen in another frame: CalcBox(Moved(solid, X_AB)) without moving.
Box3 CalcBoxIn(const Solid& solid, const Pose& X_AB);

// Strictly inside by more than 1e-6 mm.
bool IsInside(const Solid& solid, const Vec3& point_mm);

// Distances from `from` along the unit direction to each crossing of the surface, ascending, >= 0.
Result<std::vector<double>> FindCrossings_mm(const Solid& solid, const Vec3& from_mm,
                                             const Vec3& direction);
// Material met from the point (on or in the solid) until the ray first comes out; nothing when the
// point's forward side is air. Thickness of a floor under a hole bottom.
Result<std::optional<double>> FindThickness_mm(const Solid& solid, const Vec3& from_mm,
                                               const Vec3& direction);

// Shortest distance between the solids; 0 when they touch, overlap or one holds the other.
Result<double> CalcClearance_mm(const Solid& a, const Solid& b);

// Area over which faces of `piece` and `jaw` lie on each other, facing opposite ways: planes on
// planes, and round on round of the same axis and diameter. With `normal` (unit, out of the jaw
// towards the piece) only planes square to it count; with round_only none do. Faces up to gap_mm apart count as touching.
struct ContactOptions {
  std::optional<Vec3> normal;
  double gap_mm = 1e-4;
  bool round_only = false;
};
Result<double> CalcContactArea_mm2(const Solid& piece, const Solid& jaw,
                                   const ContactOptions& options = {});
// As above, and how far the contact reaches along `along` (unit): grip depth. 0 and 0 without
// contact.
struct ContactPatch {
  double area_mm2 = 0;
  double from_mm = 0;  // least and greatest along . p over the contact
  double to_mm = 0;
  Box3 box;
};
Result<ContactPatch> CalcContact(const Solid& piece, const Solid& jaw, const Vec3& along,
                                 const ContactOptions& options = {});

std::size_t CountFaces(const Solid& solid);
std::size_t CountPieces(const Solid& solid);

}  // namespace fitwright::solid
