// `fitwright odds`.
#pragma once

#include "fitwright/app/command_line.h"
#include "fitwright/service/use_cases.h"

namespace fitwright::app {

// Returns the exit status.
int RunOdds(const Request& request, const service::Opened& opened);

}  // namespace fitwright::app
