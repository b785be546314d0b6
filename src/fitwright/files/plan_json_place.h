// Where a key stands in a JSON text. Internal to files/.
#pragma once

#include <string>
#include <string_view>

#include "fitwright/base/error.h"

namespace fitwright::files {

// Line and column of the byte at `offset` (0 = first); past the end: the end.
Where PlaceOfByte(std::string_view text, std::size_t offset);

// Where the value at `path` ends on its first line ("setups[2].zero.routine", lists counted from 1;
// empty = the whole text). Line 0 when the text has no such value. text must be valid JSON.
Where PlaceOfJsonKey(std::string_view text, const std::string& path);

}  // namespace fitwright::files
