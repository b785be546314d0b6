// Which land of a turned piece a chuck or a collet grips. Distances run along the way up, up_P . p, in mm.
#pragma once

#include <algorithm>
#include <optional>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/planner/holding.h"

namespace fitwright::planner {

struct Grip {
  Band band;             // in distances along up_P, from < to
  double jaw_end = 0;    // along up_P: where the jaws end
  double jaw_root = 0;   // along up_P: the chuck face
  double seat = 0;       // along up_P: where the piece sits, when seated
  std::optional<FeatureId> seat_face;
  double from = 0;       // along up_P: where material of the band's diameter begins, whatever is cut on it
  double depth_mm() const { return std::min(band.to_mm, jaw_end) - std::max(from, jaw_root); }
};

// Bands as distances along up_P (P frame: up_P . p), ascending.
std::vector<Band> BandsAlong(const PieceState& piece, const Vec3& up_P);

// Lowest place along up_P that a cut of the sketch needs free of jaws on the outside.
double LowestOutsideCut(const SetupSketch& sketch, const PieceState& piece);

// Widest bore about the axis that the setup runs through the piece.
double WidestThroughBore(const SetupSketch& sketch, const PieceState& piece);

// How far the outermost cut along the outside stands out of the jaws, in diameters of what carries it.
double StickOut_diameters(const SetupSketch& sketch, const PieceState& piece, const Grip& grip, const Shop& shop);

// How much of the length in the jaws grooves have taken: all of them, or what they take off its ends; the
// lower one begins above a broken edge.
double GroovesIn(const PieceState& piece, const Vec3& up_P, const Grip& grip, bool at_ends, double edge_mm = 0);

// Grooves leave a narrow land in the jaws, which would mark it.
bool HasThinLand(const PieceState& piece, const Vec3& up_P, const Grip& grip);

// The best land to grip: below every cut, longest grip first, what is not to be gripped last, close sizes before that.
Result<Grip> FindGrip(const SetupSketch& sketch, const PieceState& piece, const MachineTool& machine, const HoldingDevice& chuck);

}  // namespace fitwright::planner
