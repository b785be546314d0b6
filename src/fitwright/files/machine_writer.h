// machine.toml as text, as a person would have typed it: only what differs from the defaults, bare
// lengths in the machine's display unit (docs/FORMATS.md).
#pragma once

#include <string>
#include <vector>

#include "fitwright/files/remark.h"
#include "fitwright/model/machine.h"

namespace fitwright::files {

// Parts with quantity and place, bought parts, joints and the stated requirements: what follows
// from joints, fits and geometric limits is left to the reader. remarks as in part_writer.h. A pure
// function.
std::string WriteMachine(const Machine& machine, const std::vector<Remark>& remarks = {});

}  // namespace fitwright::files
