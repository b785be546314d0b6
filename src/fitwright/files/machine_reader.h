// machine.toml. Internal to files/.
#pragma once

#include "fitwright/files/table_reader.h"
#include "fitwright/model/machine.h"

namespace fitwright::files {

inline constexpr std::string_view kMachineFormat = "fitwright-machine/1";

// Everything but the parts themselves.
Machine ReadMachine(const SourceFile& file, ReadLog& log);

// Adds the requirements that follow from joints, fits and geometric limits, see docs/FORMATS.md, and notes them. The
// machine must be sound.
void DeriveRequirements(Machine& machine, ReadLog& log);
// Of those, what follows from geometric limits in part sheets; notes what no requirement stands for.
void DeriveGeometric(Machine& machine, ReadLog& log);
// `wanted`, or with the first number behind it that makes it a name not given yet.
RequirementId FreeRequirementName(const Machine& machine, const std::string& wanted);

}  // namespace fitwright::files
