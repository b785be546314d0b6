// What goes back to who asked, and the words of a query that several addresses know.
#pragma once

#include <map>
#include <optional>
#include <string>

#include "fitwright/base/diagnostics.h"
#include "fitwright/base/result.h"
#include "fitwright/units/size.h"

namespace fitwright::server {

struct Answer {
  int status = 200;
  std::string type;
  std::string body;
};

inline constexpr const char* kJsonType = "application/json";

// fitwright-errors/1 with the code's status.
Answer AnswerOf(const Error& error);
Answer AnswerOf(const Error& error, int status);
// All of them, with the status of the first.
Answer AnswerOf(const Diagnostics& faults);
// The text as JSON, or what stood in its way.
Answer AnswerOf(Result<std::string> json);

// The value of a name, or `without`.
std::string ValueOf(const std::multimap<std::string, std::string>& query, const std::string& name,
                    const std::string& without);
// Empty for no unit; an Error for what is none.
Result<std::optional<LengthUnit>> UnitOf(const std::string& word);

}  // namespace fitwright::server
