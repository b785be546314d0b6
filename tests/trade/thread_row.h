// A thread's row by its trade name, as the tests of threads look it up.
#pragma once

#include <string_view>

#include "fitwright/base/check.h"
#include "fitwright/trade/threads.h"

namespace fitwright::trade {

inline constexpr double kMmPerIn = 25.4;

inline const ThreadRow& Row(std::string_view name) {
  const ThreadRow* row = FindThread(name);
  FW_CHECK(row != nullptr, name);
  return *row;
}

}  // namespace fitwright::trade
