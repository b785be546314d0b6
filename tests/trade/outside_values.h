// Values from outside that may stand beside the source folder; tests that need them skip without.
#pragma once

#include <fstream>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>

namespace fitwright::trade {

inline std::optional<nlohmann::json> OutsideTable(const std::string& name) {
  std::ifstream file(std::string(FITWRIGHT_SOURCE_DIR) + "/../shared/check-values/tables/" + name);
  if (!file) return std::nullopt;
  auto json = nlohmann::json::parse(file, nullptr, false);
  if (json.is_discarded()) return std::nullopt;
  return json;
}

}  // namespace fitwright::trade
