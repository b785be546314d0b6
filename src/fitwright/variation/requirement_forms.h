// From a requirement of the machine to the forms that are tested.
#pragma once

#include "fitwright/variation/analysis.h"

namespace fitwright::variation {

// Errors: kUnknownFeature, kWrongFeatureKind, kNoPlan (a feature that the plan never makes).
Result<RequirementForms> MakeRequirementForms(const AssemblyInput& input, const PlacedMap& placed, const Requirement& requirement);

}  // namespace fitwright::variation
