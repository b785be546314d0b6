// Letters and digits as files have them, whatever the locale.
#pragma once

namespace fitwright {

inline bool IsDigit(char c) { return c >= '0' && c <= '9'; }
inline bool IsSpace(char c) { return c == ' ' || c == '\t'; }

}  // namespace fitwright
