// Text as UTF-8 (RFC 3629).
#pragma once

#include <cstddef>
#include <string_view>

namespace fitwright {

// Length of the sequence at the start of text, which is not empty; 0 when it is none.
std::size_t Utf8Length(std::string_view text);
// True for text that is UTF-8 all through and holds no NUL.
bool IsUtf8(std::string_view text);

}  // namespace fitwright
