// What is said in every setup: the device put up, burrs taken off. Private to build_plan.cc.
#pragma once

#include <string>

#include "fitwright/model/plan.h"

namespace fitwright::planner {

// Said where a device comes onto the machine; empty where there is nothing to say.
std::string MountWords(HoldingKind holding);
bool IsPartedOff(const Setup& setup);
std::string DeburrWords(const Setup& setup);

}  // namespace fitwright::planner
