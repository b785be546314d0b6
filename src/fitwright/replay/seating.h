// Rules on how pieces sit in their setup, on solids: overlap, grip, support, capacity, datums.
#pragma once

#include "fitwright/base/result.h"
#include "fitwright/replay/floor.h"
#include "fitwright/replay/setup_view.h"

namespace fitwright::replay {

// All rules of seating, for the pieces present when the setup begins. Errors: kKernel.
Result<std::vector<Finding>> CheckSeating(const SetupView& view, const Floor& floor);

// A part that comes in: whether it runs into the others or the holding, and whether it touches
// them.
Status CheckIncoming(const SetupView& view, const Floor& floor, std::size_t incoming,
                     const StepId& step, Findings& findings);

// ---- the pieces of CheckSeating
// Every gripping solid touches enough and is opposed, as the pieces stand now.
Status CheckGrip(const SetupView& view, const Floor& floor, const StepId& step, Findings& findings);
// Device sizes, overlap, grip, support and what the sheet says of them.
Status CheckHolding(const SetupView& view, const Floor& floor, Findings& findings);
// Whether some piece rests on a holding solid.
Result<bool> Bears(const Floor& floor, const Fixture& fixture);
// V-blocks: one V of 90 degrees of the device's own size, each wall bears, clamps stand over blocks and on a
// round of the size that the sheet says.
Status CheckVeeBlocks(const SetupView& view, const Floor& floor, Findings& findings);
// A fixed steady: the device's own, all round on a band that is turned or supplied round.
Status CheckSteady(const SetupView& view, const Floor& floor, Findings& findings);
// Cones longer than the top slide travels are cut with the tailstock set over, by no more than it goes, and
// then everything that is fed along leans alike.
void CheckSetOver(const SetupView& view, const Floor& floor, Findings& findings);
// Straps, packing and plate of work clamped to the faceplate.
Status CheckFaceplate(const SetupView& view, const Floor& floor, Findings& findings);
// Area over which some piece and a ring or pin touch each other all round, mm2.
Result<double> CalcTouchAllRound_mm2(const Floor& floor, const Fixture& fixture);
// No holding solid stands inside the piece.
Status CheckClearOfHolding(const SetupView& view, const Standing& piece, const StepId& step,
                           Findings& findings);
// Every surface that a contact names is there.
Status CheckDatums(const SetupView& view, const Floor& floor, Findings& findings);
// Parallels apart from each other, drilling thrust between them, and what shows a turn or a centre within
// reach as the piece is held.
Status CheckReach(const SetupView& view, const Floor& floor, Findings& findings);

}  // namespace fitwright::replay
