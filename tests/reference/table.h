// Values from outside, transcribed with their sources into the JSON files beside this.
#pragma once

#include <fstream>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <string>

namespace fitwright::reference {

// Throws when the file is missing or broken, so that no test passes without its values.
inline nlohmann::json Table(const std::string& name) {
  std::ifstream file(std::string(FITWRIGHT_SOURCE_DIR) + "/tests/reference/" + name);
  if (!file) throw std::runtime_error("tests/reference/" + name + " is missing");
  return nlohmann::json::parse(file);
}

}  // namespace fitwright::reference
