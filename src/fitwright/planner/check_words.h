// Looked at before a last cut, while it can still be put right.
#pragma once

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/planner/holding.h"

namespace fitwright::planner {

// Of what a requirement allows, so much is held to by whoever sets it: the readings have the rest (opinion).
inline constexpr double kHeldShare = 0.5;

// It is set by the indicator, where the shop has one.
bool HasIndicator(const Shop& shop);

// Two bores square to each other come so with the later one. `ref` is cut by the steps of setup from
// index `from`; where the piece has the other bore already, a step of its own before it is bored on (where one cut makes the bore, that
// cut) says how the two are compared, how much they may lean (mm over a length, kHeldShare of the requirement's angle), settles it, and says what
// to move: the packing is where the holding takes that lean from, the fixed jaw or what the piece
// stands on, and what else the piece's new lean undoes; it is read once more when the bore is made. Nothing without an
// indicator.
void SayBoresSquare(const Machine& machine, const Shop& shop, const PieceState& piece, const FeatureRef& ref, std::size_t from, Setup& setup);

}  // namespace fitwright::planner
