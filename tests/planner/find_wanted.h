#pragma once

#include <string>
#include <vector>

#include "fitwright/planner/measuring.h"

namespace fitwright::planner {

inline const Wanted* Find(const std::vector<Wanted>& all, const std::string& words) {
  for (const Wanted& w : all) {
    if (w.words.find(words) != std::string::npos) return &w;
  }
  return nullptr;
}

}  // namespace fitwright::planner
