// Work done in a process of its own with bounded time and memory, so that whatever happens to it there
// happens to nobody else. What depends on the operating system, as system.h.
#pragma once

#include <functional>
#include <string>

#include "fitwright/base/result.h"

namespace fitwright {

struct ChildLimits {
  double seconds = 60;       // by the clock; as many of the processor's
  double memory_mb = 1024;   // beyond what this process holds when it starts
};

enum class ChildEnd {
  kDone,         // `output` is all that the work gave
  kOutOfTime,
  kOutOfMemory,
  kDied,         // ended by a signal, or left before it had given anything
};

struct ChildOutcome {
  ChildEnd end = ChildEnd::kDied;
  std::string output;  // kDone only
  int signal = 0;      // kDied: what ended it; 0 when it left by itself
};

// Runs work() in a copy of this process, and gives what it returned. Nothing that it changes is seen
// here, and nothing that it prints. The copy has one thread: call this while no other thread of the
// process is at work. std::bad_alloc that leaves work() counts as out of memory, any other exception as
// a death. Errors: kInternal when the system grants no further process.
Result<ChildOutcome> RunInChild(const ChildLimits& limits,
                                const std::function<std::string()>& work);

}  // namespace fitwright
