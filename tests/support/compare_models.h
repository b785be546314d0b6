// Two models field by field: all that describe.h writes of them, numbers within a tolerance.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <sstream>
#include <string>
#include <vector>

#include "tests/files/describe.h"

namespace fitwright::testing {

// Lengths are written to kGeometryNoise_mm; what is reckoned from two of them may be off by their
// sum.
inline constexpr double kWrittenAlike = 5e-7;

inline bool SameToken(const std::string& a, const std::string& b) {
  if (a == b) return true;
  char* end_a = nullptr;
  char* end_b = nullptr;
  const double value_a = std::strtod(a.c_str(), &end_a);
  const double value_b = std::strtod(b.c_str(), &end_b);
  const bool numbers = end_a != a.c_str() && *end_a == 0 && end_b != b.c_str() && *end_b == 0;
  return numbers && std::abs(value_a - value_b) <= kWrittenAlike * std::max(1.0, std::abs(value_a));
}

inline bool SameLine(const std::string& a, const std::string& b) {
  std::istringstream tokens_a(a);
  std::istringstream tokens_b(b);
  std::string one;
  std::string other;
  while (true) {
    const bool more_a = static_cast<bool>(tokens_a >> one);
    const bool more_b = static_cast<bool>(tokens_b >> other);
    if (more_a != more_b) return false;
    if (!more_a) return true;
    if (!SameToken(one, other)) return false;
  }
}

// "line of a | line of b", the first `most`; what is missing from one stands as nothing.
inline std::vector<std::string> DifferentLines(const std::string& a, const std::string& b,
                                               std::size_t most = 10) {
  std::vector<std::string> different;
  std::istringstream lines_a(a);
  std::istringstream lines_b(b);
  std::string under;  // the last line without indent that both have: what the difference belongs to
  while (different.size() < most) {
    std::string one;
    std::string other;
    const bool more_a = static_cast<bool>(std::getline(lines_a, one));
    const bool more_b = static_cast<bool>(std::getline(lines_b, other));
    if (!more_a && !more_b) break;
    if (!SameLine(one, other)) different.push_back(under + ": " + one + " | " + other);
    if (one.starts_with("feature ") || one.starts_with("part ") || one.starts_with("joint "))
      under = one;
  }
  return different;
}

inline std::vector<std::string> Differences(const Part& a, const Part& b) {
  files_test::Writer of_a;
  files_test::Writer of_b;
  of_a.Of(a);
  of_b.Of(b);
  return DifferentLines(of_a.text, of_b.text);
}

inline std::vector<std::string> Differences(const Machine& a, const Machine& b) {
  files_test::Writer of_a;
  files_test::Writer of_b;
  of_a.Of(a);
  of_b.Of(b);
  return DifferentLines(of_a.text, of_b.text);
}

}  // namespace fitwright::testing
