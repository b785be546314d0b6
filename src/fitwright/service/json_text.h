// JSON of the small answers that this layer gives itself.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fitwright/base/diagnostics.h"

namespace fitwright::service {

// With quotes; control characters escaped, other bytes as they are (UTF-8 in, UTF-8 out).
std::string JsonString(std::string_view text);
// ["a", "b"].
std::string JsonStrings(const std::vector<std::string>& texts);

// A JSON list, one item a line, each as `one` writes it.
template <typename List, typename One>
std::string JsonLines(const List& list, const One& one) {
  std::string out;
  for (const auto& item : list) {
    out += out.empty() ? "\n    " : ",\n    ";
    out += one(item);
  }
  return "[" + out + (out.empty() ? "]" : "\n  ]");
}

inline constexpr std::string_view kErrorsSchemaId = "fitwright-errors/1";

// {schema, errors:[{code, message, value, remedy, file, line, column, key}], not_shown}.
std::string ErrorsToJson(const std::vector<Error>& errors, std::size_t not_shown);

}  // namespace fitwright::service
