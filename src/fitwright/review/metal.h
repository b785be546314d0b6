// What a line meets in a finished part, holes and grooves taken away. Private to this layer.
#pragma once

#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/material.h"

namespace fitwright::review {

// The stretches of the line point + s * direction (unit, frame P) inside the finished part at its
// middle sizes; ascending. As CalcMaterialAlong, less holes with their points, slots, grooves,
// tapers, flats, keyways and round chamfers. Grooves count with a square floor; chamfers on
// straight edges, threads, knurls and letters are not taken away.
std::vector<Stretch> MetalAlong(const Part& part, const Vec3& point_P_mm, const Vec3& direction_P);

bool MetalAt(const Part& part, const Vec3& point_P_mm);

// What stands in the machine: each made part with its copies, then what is bought with a shape.
struct Piece {
  PartId id;
  const Part* part = nullptr;
  Pose X_WP = Pose::Identity();
  const BoughtPart* bought = nullptr;
  Box3 box_W;
};
std::vector<Piece> PiecesOf(const Machine& machine);

// The middle of the ring as placed lies between the walls of one of the holder's grooves, about its
// axis.
bool SitsInGroove(const Piece& ring, const Piece& holder);

}  // namespace fitwright::review
