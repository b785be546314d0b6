// What the error model needs of a feature's shape: which of its six freedoms it fixes, where it
// lies, and where two faces touch.
#pragma once

#include <optional>
#include <vector>

#include "fitwright/model/machine.h"

namespace fitwright::variation {

// The sheet's part of a copy: "ring#2" is made by the sheet "ring".
const Part* FindSheet(const Machine& machine, const PartId& part);
const Feature* FindFeature(const Machine& machine, const FeatureRef& ref);
// Where the part or the copy stands; a copy without a place of its own where its sheet's part
// stands.
std::optional<Pose> FindPlace(const Machine& machine, const PartId& part);
// "ring" for 1, "ring#2" for 2.
PartId CopyOf(const PartId& sheet, std::size_t number);
// Hash of "part.feature".
std::uint64_t KeyOf(const FeatureRef& ref);

inline constexpr double kAlong = 0.9;  // a direction goes along an axis whose cosine to it is above this

enum class DatumKind { kPlane, kAxis, kOther };

// A feature as a datum, in P. Plane: a point of it and the outward normal. Axis: hole (its first),
// outer diameter, groove, flats: a point on the axis and its direction (into a hole, along the axis
// of an outer diameter), from..to along it from the point.
struct Datum {
  DatumKind kind = DatumKind::kOther;
  Vec3 point_P_mm = Vec3::Zero();
  Vec3 direction_P = Vec3::UnitZ();
  double from_mm = 0;
  double to_mm = 0;
  bool inside = false;     // a hole's wall
  double diameter_mm = 0;  // middle of its limits, 0 for planes
  Vec3 middle_P_mm() const { return point_P_mm + 0.5 * (from_mm + to_mm) * direction_P; }
};
Datum DatumOf(const Feature& feature);
// Drawn size that a cut works to, if the feature has one.
const Size* SizeOf(const Feature& feature);
double NominalSize_mm(const Feature& feature);

// Where a planar face is, in P: a disc or a rectangle of the whole envelope, a shoulder's ring or
// the floor of a hole or step where it is one. Cut-outs are not taken off.
struct Region {
  bool round = false;
  Vec3 centre = Vec3::Zero();
  Vec3 normal = Vec3::UnitZ();
  Vec3 u = Vec3::UnitX();  // rectangle: sides along u and normal x u
  double half_u = 0;       // disc: radius in both
  double half_v = 0;
};
Region RegionOf(const Part& part, const Feature& face);
Region Moved(const Region& region, const Pose& X_AB);

// Three points, on the plane of a, at the corners of what a and b share (disc: on its rim, 120
// degrees apart): where the faces touch. Empty when they share nothing.
std::vector<Vec3> TouchPoints(const Region& a, const Region& b);
// Where a height is read when nobody says where: near the rim of a round face (its middle is dished
// or open), in the middle of another. The mean of the readings counts.
std::vector<Vec3> ReadingPoints(const Region& region);
// Corners of what two faces in about one plane share; the ends of the common edge where they lie
// side by side; the middle of the gap where they do not meet.
std::vector<Vec3> SharedCorners(const Region& a, const Region& b);

// Whether the cutting of `by` leaves the face as its floor or shoulder: the bottom of a hole,
// pocket or step, a wall of a step, the shoulder that an outer diameter is turned down to.
bool IsFloorOf(const Feature& face, const Feature& by);

}  // namespace fitwright::variation
