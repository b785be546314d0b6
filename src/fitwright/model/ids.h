// Names given by the builder or the planner. Unique within their kind; never reused.
#pragma once

#include <string>

#include "fitwright/base/id.h"

namespace fitwright {

using PartId = Id<struct PartTag>;          // "body"; a copy is "ring#2"
using FeatureId = Id<struct FeatureTag>;    // unique within its part
using JointId = Id<struct JointTag>;
using RequirementId = Id<struct RequirementTag>;
using SetupId = Id<struct SetupTag>;        // "s03"
using StepId = Id<struct StepTag>;          // "s03.2"
using MachineToolId = Id<struct MachineToolTag>;
using HoldingDeviceId = Id<struct HoldingDeviceTag>;
using ToolId = Id<struct ToolTag>;
using InstrumentId = Id<struct InstrumentTag>;

struct FeatureRef {
  PartId part;
  FeatureId feature;
  std::string text() const { return part.text() + "." + feature.text(); }
  friend auto operator<=>(const FeatureRef&, const FeatureRef&) = default;
};

}  // namespace fitwright
