// Another program run to its end with bounded time. What depends on the operating system, as
// system.h.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "fitwright/base/progress.h"
#include "fitwright/base/result.h"

namespace fitwright {

struct ProgramLimits {
  double seconds = 60;                 // by the clock; then it is ended
  const CancelFlag* cancel = nullptr;  // ends it too; not owned, may be null
};

struct ProgramEnd {
  int exit_status = 0;  // 128 + the signal when one ended it
  bool out_of_time = false;
  bool cancelled = false;
  std::string err;  // the first 16 kB that it said on standard error
};

// Runs `program` with the arguments (without its own name), nothing on its standard input, what it
// prints thrown away. It and all that it starts stand in a process group of their own, which is
// ended with it. Safe to call from several threads. Errors: kFileMissing when there is no such
// program, else kInternal.
Result<ProgramEnd> RunProgram(const std::filesystem::path& program,
                              const std::vector<std::string>& arguments,
                              const ProgramLimits& limits);

}  // namespace fitwright
