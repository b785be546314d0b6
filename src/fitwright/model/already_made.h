// Parts and features that the builder has made before the plan begins.
#pragma once

#include <string>
#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"

namespace fitwright {

// The feature is a surface of the stock as it is sold: a side of the bar, a sawn end, a tube's hole.
bool IsStockSurface(const Part& part, const Feature& feature);
// Finished as it stands, and no surface of the bar: cut before the plan begins.
bool IsAlreadyMade(const Part& part, const Feature& feature);
// An outermost face, a hole or a chamfer: what may be made already on a piece that still has work to be done on it.
bool CanBeAlreadyMade(const Part& part, const Feature& feature);

// The machine for who has made what the choices say: a part that is made stands among what is ready, a feature that is
// made is as supplied, and the stock ends at a face that is made. `assumed` is told what is taken to be so.
Machine WithAlreadyMade(Machine machine, const Choices& choices, std::vector<std::string>& assumed);

}  // namespace fitwright
