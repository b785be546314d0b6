// What is said in every setup: the device put up, burrs taken off. Private to build_plan.cc.
#pragma once

#include <string>

#include "fitwright/model/plan.h"

namespace fitwright::planner {

// Said where a device comes onto the machine; empty where there is nothing to say.
std::string MountWords(HoldingKind holding);
bool IsPartedOff(const Setup& setup);
std::string DeburrWords(const Setup& setup);
// After a hole drilled through two parts that stay together: the pin goes in on the bench.
Step PinStep(const Part& held);

}  // namespace fitwright::planner
