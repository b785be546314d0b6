// A pattern that is asked of many lines is compiled once.
#pragma once

#include <map>
#include <regex>
#include <string>

namespace fitwright::testing {

inline const std::regex& KeptRegex(const std::string& pattern) {
  static std::map<std::string, std::regex> kept;
  const auto at = kept.find(pattern);
  return at != kept.end() ? at->second : kept.emplace(pattern, std::regex(pattern)).first->second;
}

}  // namespace fitwright::testing
