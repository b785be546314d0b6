// Errors as values. An Error says what is wrong, where, with which value, and what would do.
#pragma once

#include <string>
#include <string_view>

namespace fitwright {

// Closed list; the table in error.cc gives each its name, exit status and HTTP status.
enum class ErrorCode {
#define FW_ERROR(name, text, exit_status, http_status) name,
#include "fitwright/base/error_codes.inc"
#undef FW_ERROR
};

// Position in a text file. line and column count from 1; 0 means "not known".
struct Where {
  std::string file;
  int line = 0;
  int column = 0;
  std::string key;  // dotted field path, e.g. "feature[3].diameter"
};

struct Error {
  ErrorCode code{};
  std::string message;  // one sentence: what, which value, which limit
  std::string value;    // the offending value as written, empty when there is none
  std::string remedy;   // what would do
  Where where;
};

// Stable snake_case name, e.g. "unknown_key".
std::string_view NameOf(ErrorCode code);
// Process exit status for the code: 1 honest no, 2 unreadable project, 3 kernel or internal, 130 stopped.
int ExitStatusOf(ErrorCode code);
int HttpStatusOf(ErrorCode code);
// "file:line: key = value: message. remedy [name]" with absent pieces left out.
std::string Format(const Error& error);

}  // namespace fitwright
