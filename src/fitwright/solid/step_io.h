// STEP (ISO 10303-214) out, and back in only as far as a round trip needs. One process-wide lock.
#pragma once

#include <string>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/solid/solid.h"
#include "fitwright/units/geometry.h"
#include "fitwright/units/size.h"

namespace fitwright::solid {

// One product and where it stands; equal names are written once and placed several times.
struct NamedSolid {
  std::string name;  // printable ASCII
  Solid solid;       // in its part frame
  Pose X_WP = Pose::Identity();
};

struct StepWriting {
  std::string assembly_name;
  LengthUnit unit = LengthUnit::kMillimetre;
  std::string timestamp = "2000-01-01T00:00:00";  // FILE_NAME's; fixed, so that bytes repeat
};

// Writes to `path` through a neighbour file that replaces it only when complete. The same input
// gives the same bytes. Errors: kFileUnwritable, kKernel, kOutOfRange (an empty solid).
Status WriteStep(const std::vector<NamedSolid>& solids, const std::string& path,
                 const StepWriting& writing);

// Reads a file that WriteStep wrote, mm. Not for foreign files: no time or memory limits.
// Errors: kFileMissing, kFileUnreadable, kKernel.
Result<std::vector<NamedSolid>> ReadStepForTest(const std::string& path);

}  // namespace fitwright::solid
