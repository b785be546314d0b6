// What stands as proposed in a sheet, for one that is written anew: the counterpart of remark.h.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fitwright/files/remark.h"

namespace fitwright::files {

// Every "# proposed: words" of a part sheet or a machine.toml that can be read, with the path of the
// value beside it as Remark has it. A pure function.
std::vector<Remark> ReadProposals(std::string_view text);

// The names that a part sheet keeps under [gone]; none where it cannot be read.
std::vector<std::string> ReadGoneNames(std::string_view text);
// The same as text to stand at a sheet's end; empty for none.
std::string WriteGoneNames(const std::vector<std::string>& names);

}  // namespace fitwright::files
