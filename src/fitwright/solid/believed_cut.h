// Designs built for somebody who knows by other means what should come of it.
#pragma once

#include <functional>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/part.h"
#include "fitwright/solid/solid.h"

namespace fitwright::solid {

// Whether a solid is the one that is looked for.
using Believed = std::function<bool(const Solid& left)>;

// As Cut (cut.h), but what the kernel leaves is the answer as it stands where `believed` says so,
// checked and joined no further: a third of the cost.
Result<Solid> Cut(const Solid& body, const std::vector<Solid>& tools, const Believed& believed);
// As MakeDesign (build.h), by such a cut.
Result<Solid> MakeDesign(const Part& part, const Believed& believed);

// As MakeFeatureVolume (build.h) in the pieces that the design is cut with, one for each place of a
// pattern, which may overlap; none for faces and outer diameters.
Result<std::vector<Solid>> MakeFeatureCutters(const Part& part, const Feature& feature);

}  // namespace fitwright::solid
