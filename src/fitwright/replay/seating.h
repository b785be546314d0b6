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
// No holding solid stands inside the piece.
Status CheckClearOfHolding(const SetupView& view, const Standing& piece, const StepId& step,
                           Findings& findings);
// Every surface that a contact names is there.
Status CheckDatums(const SetupView& view, const Floor& floor, Findings& findings);
// Parallels apart from each other, drilling thrust between them, and what shows a turn or a centre within
// reach as the piece is held.
Status CheckReach(const SetupView& view, const Floor& floor, Findings& findings);

}  // namespace fitwright::replay
