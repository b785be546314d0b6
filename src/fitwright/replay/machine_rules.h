// Rules that need no solids: tools, speeds, dial readings, travel, daylight.
#pragma once

#include <vector>

#include "fitwright/replay/setup_view.h"

namespace fitwright::replay {

// Findings of the setup's steps, in their order.
std::vector<Finding> CheckMachineUse(const SetupView& view);

// A block whose middle turns off the spindle is turned slowly.
void CheckBalance(const SetupView& view, const Floor& floor, Findings& findings);

// The tool of a step; null when it names none or the shop has none of that name.
const Tool* ToolOf(const SetupView& view, const Step& step);
// Face, mill, turn, bore, drill and so on: what must have a tool and a path.
bool IsCutting(Operation operation);

}  // namespace fitwright::replay
