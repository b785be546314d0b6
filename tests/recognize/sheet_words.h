// Words of a part's sheet.
#pragma once

#include <fmt/format.h>

#include <string>

namespace fitwright::recognize_test {

inline constexpr const char* kTurned = "turned = { axis = \"+z\", through = [0, 0, 0] }";
inline constexpr const char* kBlock = "block = { x = [-30, 30], y = [-20, 20], z = [0, 20] }";

inline std::string Say(const std::string& name, const std::string& kind, const std::string& keys) {
  return fmt::format("\n[[feature]]\nname = \"{}\"\nkind = \"{}\"\n{}\n", name, kind, keys);
}

}  // namespace fitwright::recognize_test
