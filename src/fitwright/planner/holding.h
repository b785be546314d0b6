// From a setup's outline to the setup itself: pose, contacts, zero, the holding device as solids, words.
#pragma once

#include <map>
#include <string>

#include "fitwright/base/result.h"
#include "fitwright/planner/route.h"

namespace fitwright::planner {

using PieceStates = std::map<PartId, PieceState>;

struct HeldPiece {
  Setup setup;                    // without id, number, steps and time
  double clearance_below_mm = 0;  // room for a drill's run-out
  double seat_min = 0;            // minutes to seat, grip and set zero
};

// Holds the sketch's part (and mates) as the pieces stand now. Errors: kNoPlan with the reason (jaws do
// not open that far, nothing left to grip, ...). Poses are exact; contacts stand at the corners of the
// overlap of piece and locator, by rule.
Result<HeldPiece> MakeHolding(const SetupSketch& sketch, const PieceStates& pieces,
                              const Machine& machine, const Shop& shop);

// What stands on the machine's table when `device` holds the piece: V-blocks stand in the vise that takes
// them.
HoldingDeviceId MountedDevice(const HoldingDeviceId& device, const Shop& shop);

// Box of the material of `piece` in the setup frame of X_PS.
Box3 BoxInSetup(const PieceState& piece, const Pose& X_PS);
// Pose of a mate in the same setup: X_MS from X_PS by the assembled machine's places.
Pose MatePose(const Machine& machine, const PartId& part, const Pose& X_PS, const PartId& mate);

}  // namespace fitwright::planner
