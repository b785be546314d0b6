// Random choices from one seed, the same on every machine.
#pragma once

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <initializer_list>
#include <vector>

#include "fitwright/stats/random.h"

namespace fitwright::testing {

class Dice {
 public:
  explicit Dice(std::uint64_t seed) : key_(stats::StreamKey(seed, 0x72616e646f6d7061ULL)) {}
  double Share() { return stats::Uniform(key_, index_++); }
  bool Chance(double share) { return Share() < share; }
  std::size_t Below(std::size_t count) {
    return static_cast<std::size_t>(Share() * static_cast<double>(count));
  }
  int Whole(int least, int most) {
    return least + static_cast<int>(Below(static_cast<std::size_t>(most - least + 1)));
  }
  // From least to most in whole steps; least when there is no room between them.
  double In(double least, double most, double step) {
    const double steps = std::floor((most - least) / step + 1e-9);
    if (steps < 1) return least;
    return least + step * static_cast<double>(Below(static_cast<std::size_t>(steps) + 1));
  }
  template <typename T>
  T Of(std::initializer_list<T> list) {
    return *(list.begin() + static_cast<std::ptrdiff_t>(Below(list.size())));
  }
  template <typename T>
  T Of(const std::vector<T>& list) {
    return list[Below(list.size())];
  }

 private:
  std::uint64_t key_;
  std::uint64_t index_ = 0;
};

}  // namespace fitwright::testing
