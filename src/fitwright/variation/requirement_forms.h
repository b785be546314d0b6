// From a requirement of the machine to the forms that are tested.
#pragma once

#include "fitwright/variation/analysis.h"

namespace fitwright::variation {

// plays: the floats so far; a search over all moves of a part need not know where its own came to
// rest. Errors: kUnknownFeature, kWrongFeatureKind, kNoPlan (a feature that the plan never makes).
Result<RequirementForms> MakeRequirementForms(const AssemblyInput& input, const PlacedMap& placed,
                                              const std::vector<Play>& plays,
                                              const Requirement& requirement);

}  // namespace fitwright::variation
