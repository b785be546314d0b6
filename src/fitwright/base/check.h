// FW_CHECK: broken invariants stop the program with the place and the values; always on.
#pragma once

#include <fmt/format.h>

#include <string>

namespace fitwright {

[[noreturn]] void FailCheck(const char* condition, const char* file, int line,
                            const std::string& values);

template <typename... Values>
std::string JoinCheckValues(const Values&... values) {
  std::string joined;
  ((joined += fmt::format("{} ", values)), ...);
  return joined;
}

}  // namespace fitwright

#define FW_CHECK(condition, ...)                                                      \
  do {                                                                                \
    if (!(condition)) [[unlikely]]                                                    \
      ::fitwright::FailCheck(#condition, __FILE__, __LINE__,                          \
                             ::fitwright::JoinCheckValues(__VA_ARGS__));              \
  } while (false)
