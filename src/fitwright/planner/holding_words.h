// What is said of a holding beside the device and what bears on it: from the setup's own solids and contacts.
#pragma once

#include <string>

#include "fitwright/model/plan.h"
#include "fitwright/planner/pieces.h"

namespace fitwright::planner {

// Where the parallels lie, and what keeps the jaws from marking finished faces; with a blank before each
// sentence, empty when there is nothing to say.
std::string ViseAdditions(const Setup& setup, const PieceState& piece, const Vec3& jaw_P);

// How far a raw bar goes back into the chuck and stands out of it; likewise. raw: it is gripped on its own skin.
std::string BarAdditions(const Setup& setup, const PieceState& piece, bool raw);

// Check of a round piece that lies in the vise across x: what the finder reads on both sides of it.
// box_S: of the piece, zero in its middle; finder_mm: diameter.
std::string RoundWitness(const Box3& box_S, double finder_mm);

}  // namespace fitwright::planner
