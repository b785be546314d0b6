// machine.toml. Internal to files/.
#pragma once

#include "fitwright/files/table_reader.h"
#include "fitwright/model/machine.h"

namespace fitwright::files {

inline constexpr std::string_view kMachineFormat = "fitwright-machine/1";

// Everything but the parts themselves.
Machine ReadMachine(const SourceFile& file, ReadLog& log);

// Adds the requirements that follow from joints and fits, see docs/FORMATS.md, and notes them. The
// machine must be sound.
void DeriveRequirements(Machine& machine, ReadLog& log);

}  // namespace fitwright::files
