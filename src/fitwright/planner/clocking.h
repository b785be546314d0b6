// How round work is turned about its axis when it is held again: by what is cut across it or beside its
// axis already, where a pin, a square or an indicator still gets at it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/model/plan.h"
#include "fitwright/planner/pieces.h"

namespace fitwright::planner {

struct Clock {
  FeatureId feature;
  Vec3 point_S = Vec3::Zero();   // on its surface
  Vec3 normal_S = Vec3::UnitX();  // out of what touches it, towards the piece
  Vec3 out_S = Vec3::UnitZ();    // the way that a pin, a blade or a stem stands out
  double long_mm = 0;            // of a straight wall, about the point; 0 = a hole, a flat, a keyway
};

// Nothing made so far tells one turn about the axis from another.
bool IsAlikeAllRound(const PieceState& piece);
// Directions in P, square to the axis, in which something that shows the turn is open.
std::vector<Vec3> ClockSides(const PieceState& piece);
// The first made feature that shows the turn and is reached clear of the holding solids, a wall so far down as
// `open_mm` too (behind a jaw: a blade or a parallel goes in over it; a stylus under a level wall needs less);
// nothing when there is none. Walls count where other cuts have left 4 mm of them.
std::optional<Clock> FindClock(const PieceState& piece, const Pose& X_PS, const std::vector<FixtureSolid>& fixtures, double open_mm = 0);
// "Turn it until pin_hole stands level with the middle, by a pin in it or by what already stands in it." `base` is what a square stands on.
std::string ClockWords(const PieceState& piece, const Clock& clock, const Pose& X_PS, const std::string& base);
// What is said when nothing that shows the turn can be reached.
std::string CoveredWords(const PieceState& piece);

}  // namespace fitwright::planner
