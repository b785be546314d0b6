// The builder's decisions about tools: a feature is cut with one, a part or a feature without one.
#pragma once

#include <string>
#include <vector>

#include "fitwright/planner/process.h"

namespace fitwright::planner {

// Those of the kind tool that are about one of the features or its part.
std::vector<Pin> ToolPinsOf(const std::vector<Pin>& pins, const std::vector<FeatureRef>& features);
// Those about the part or any feature of it, as a key of what is cut of it.
std::string ToolPinsKey(const std::vector<Pin>& pins, const PartId& part);

// MakeCut with the shop's tools less those that the pins forbid, and so that a step is done with each tool that they
// name: tools that do its work instead are put away one after the other. Errors as MakeCut; kNoPlan where a named tool
// has no part in the work, with what is used in its place.
Result<CutResult> MakeCutAsPinned(const CutContext& context, const CutRequest& request, const std::vector<Pin>& pins);
// The same for parting off.
Result<CutResult> MakePartOffAsPinned(const CutContext& context, const PartId& part, double z_S_mm, const std::vector<Pin>& pins);

}  // namespace fitwright::planner
