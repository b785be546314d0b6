// Faces that a later setup seats on and is indicated over must be parallel before the piece leaves its lathe.
#pragma once

#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"

namespace fitwright::planner {

// "Measure from a over to b".
std::string OverWords(const FeatureId& a, const FeatureId& b);

// Where a chuck seats a piece on one face and the other is looked at with the indicator, the last measuring step over
// both before it asks for four places alike, by the finest instrument: no tapping down takes a wedge out of the piece.
// Where none is over both a look on the plate is added when the second of them is made.
void AskForLevelFaces(const Shop& shop, Plan& plan);

}  // namespace fitwright::planner
