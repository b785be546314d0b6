// A foreign STEP file (ISO 10303-21; AP203, AP214, AP242) as solids in their places. Read by a child
// process with bounded time and memory, for the kernel's reader can die on a bad file.
#pragma once

#include <string>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/solid/solid.h"
#include "fitwright/units/geometry.h"
#include "fitwright/units/size.h"

namespace fitwright::solid {

// One solid where it stands; solids of one product of the file share `shape`.
struct PlacedShape {
  // Of the product, as the file has it; may be empty. Of several bodies in one product each has its own
  // name, if any, and the product's stands last in `path`.
  std::string name;
  std::vector<std::string> path;  // names of the assemblies round it, outermost first
  std::size_t shape = 0;       // place in StepContents::shapes
  Pose X_WF = Pose::Identity();
  bool mirrored = false;       // the file places it by a reflection; the shape is already reflected, X_WF turns only
};

struct StepContents {
  std::vector<Solid> shapes;       // one closed body each, mm, in its own frame F
  std::vector<std::vector<std::string>> face_labels;  // of each shape, for MakeFaceGraphs
  std::vector<PlacedShape> placed;
  LengthUnit written_in = LengthUnit::kMillimetre;
  std::string schema;              // the file's own word for its application protocol
  std::vector<std::string> notes;  // what was mended, left out or looks wrong, a sentence each
};

struct StepReadingLimits {
  double seconds = 120;
  double memory_mb = 4096;
};

// Errors: kFileMissing, kFileUnreadable (not STEP, nothing inside, the reader died or ran out of its
// limits: says which and what would do), kInternal (no process to be had), kKernel. Call it while no
// other thread of the process is at work: it splits off a copy of the process (docs/design/011).
Result<StepContents> ReadStep(const std::string& path, const StepReadingLimits& limits = {});

}  // namespace fitwright::solid
