// The command that shows a project as a page.
#pragma once

#include "fitwright/app/command_line.h"

namespace fitwright::app {

// Serves until it is interrupted or asked to end. Returns the exit status: 0 after a graceful stop.
int RunServe(const Request& request);

}  // namespace fitwright::app
