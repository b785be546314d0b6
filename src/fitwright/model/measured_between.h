// Where a plan measures the distance that something else is made or reckoned from.
#pragma once

#include <optional>
#include <string>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"

namespace fitwright {

// The first step that measures between the two features, as printed: "2.7"; empty where none does.
std::string StepMeasuring(const Plan& plan, const FeatureRef& a, const FeatureRef& b);

// The face of the part `on` that a face of `part` comes against; nothing where none does.
std::optional<FeatureRef> SeatOn(const Machine& machine, const PartId& part, const PartId& on);

}  // namespace fitwright
