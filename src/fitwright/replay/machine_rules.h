// Rules that need no solids: tools, speeds, dial readings, travel, daylight.
#pragma once

#include <vector>

#include "fitwright/replay/setup_view.h"

namespace fitwright::replay {

// Findings of the setup's steps, in their order.
std::vector<Finding> CheckMachineUse(const SetupView& view);

// A block whose middle turns off the spindle is turned slowly.
void CheckBalance(const SetupView& view, const Floor& floor, Findings& findings);

// ---- the pieces of CheckMachineUse
// The spindle's place for point i: where a rotary table brings it.
Vec3 UnderSpindle(const PathPiece& piece, std::size_t i);
// The rotary table's readings, and straight cuts along one slide at a time.
void CheckTurning(const SetupView& view, const Step& step, Findings& findings);
// A slanting piece stands at the angle that the sheet says, and blocks make the sine bar's stack.
void CheckAngle(const SetupView& view, Findings& findings);
// The rotary table is the shop's own and stands with its middle under the zero.
void CheckRotaryTable(const SetupView& view, Findings& findings);

// The tool of a step; null when it names none or the shop has none of that name.
const Tool* ToolOf(const SetupView& view, const Step& step);
// Face, mill, turn, bore, drill and so on: what must have a tool and a path.
bool IsCutting(Operation operation);

}  // namespace fitwright::replay
