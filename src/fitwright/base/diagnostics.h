// A sink that keeps every fault found in one pass over the files.
#pragma once

#include <vector>

#include "fitwright/base/error.h"

namespace fitwright {

class Diagnostics {
 public:
  static constexpr std::size_t kShown = 50;

  void Add(Error error) {
    ++count_;
    if (errors_.size() < kShown) errors_.push_back(std::move(error));
  }
  bool empty() const { return count_ == 0; }
  // The first kShown faults, in the order found.
  const std::vector<Error>& errors() const { return errors_; }
  std::size_t count() const { return count_; }
  std::size_t count_not_shown() const { return count_ - errors_.size(); }

 private:
  std::vector<Error> errors_;
  std::size_t count_ = 0;
};

}  // namespace fitwright
