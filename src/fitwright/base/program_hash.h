// Which program this is, by its bytes. What depends on the operating system, as system.h.
#pragma once

#include <cstdint>
#include <optional>

namespace fitwright {

// StableHash of the running program's own file: another number for every build that differs.
// Nothing when it cannot be read.
std::optional<std::uint64_t> ProgramHash();

}  // namespace fitwright
