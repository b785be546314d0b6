// Which solids of a file are parts that an earlier project has already. Internal to service/.
#pragma once

#include <filesystem>
#include <vector>

#include "fitwright/service/solid/confirmed_project.h"

namespace fitwright::service {

struct KnownSolid {
  PartId part;  // made, or bought and standing in the machine
  std::size_t shape = 0;
  Pose X_PF = Pose::Identity();
};

// Same volume, box and middle, and a symmetric difference under a millionth of the volume; the part as
// its sheet says it, sizes at the middle of their limits or all at their names (then tapped holes may end flat), or the STEP file beside
// the sheet where it has regions that were not understood. Of several parts alike the one that stood
// there, then the one of that name. Errors: kStopped.
Result<std::vector<KnownSolid>> FindKnownSolids(const Machine& confirmed,
                                                const std::filesystem::path& dir,
                                                const solid::StepContents& contents,
                                                const ShapesRead& shapes, const WorkOptions& work);

// The lesser of the shares that the boxes of the two, each in the part's frame, have of each other.
double SharedBox(const Part& part, const Pose& X_WP, const solid::Solid& solid, const Pose& X_WF);

}  // namespace fitwright::service
