#pragma once

#include <cstring>
#include <vector>

namespace fitwright::stats {

inline bool SameBits(const std::vector<double>& a, const std::vector<double>& b) {
  return a.size() == b.size() && std::memcmp(a.data(), b.data(), a.size() * sizeof(double)) == 0;
}

}  // namespace fitwright::stats
