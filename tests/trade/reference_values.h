// Values from outside, transcribed with their sources into tests/reference.
#pragma once

#include <fstream>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <string>

namespace fitwright::trade {

// Throws when the file is missing or broken, so that no test passes without its values.
inline nlohmann::json ReferenceTable(const std::string& name) {
  std::ifstream file(std::string(FITWRIGHT_SOURCE_DIR) + "/tests/reference/" + name);
  if (!file) throw std::runtime_error("tests/reference/" + name + " is missing");
  return nlohmann::json::parse(file);
}

}  // namespace fitwright::trade
