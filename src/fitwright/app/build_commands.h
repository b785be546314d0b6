// The commands of the workshop: next, record, log.
#pragma once

#include "fitwright/app/command_line.h"

namespace fitwright::app {

bool IsAboutTheBuild(const Request& request);
// Returns the exit status: of record 1 where the reading lies outside its limits; it is kept all
// the same.
int RunBuild(const Request& request);

}  // namespace fitwright::app
