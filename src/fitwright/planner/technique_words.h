// What a technique asks for, as one would say it across the bench.
#pragma once

#include <string>

#include "fitwright/planner/strategy.h"

namespace fitwright::planner {

// "bush_screws" -> "bush screws".
std::string Words(std::string name);
std::string SaySpotting(const PatternJoint& pattern, const PatternChoice& choice);
std::string SayShared(const SharedHoles& pair, Technique technique);
std::string SayFlush(const FlushPair& pair, Technique technique);
std::string SaySuit(const SuitPair& pair, Technique technique);

}  // namespace fitwright::planner
