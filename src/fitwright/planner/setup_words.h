// What is said in every setup: the device put up, burrs taken off. Private to build_plan.cc.
#pragma once

#include <string>

#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"

namespace fitwright::planner {

// Said where a device comes onto the machine; empty where there is nothing to say.
std::string MountWords(HoldingKind holding);
bool IsPartedOff(const Setup& setup);
// drilled_through: drills come out of the piece on the side that is held.
std::string DeburrWords(const Setup& setup, bool drilled_through);
// How the figures are set by hand dials; with a blank before it, empty where a readout shows them or nothing is set.
// first: on this machine, said at length.
std::string DialWords(const MachineTool& machine, const Setup& setup, bool first);

}  // namespace fitwright::planner
