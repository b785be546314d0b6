// A foreign STEP file (ISO 10303-21; AP203, AP214, AP242) as solids in their places. Read by a child
// process with bounded time and memory, for the kernel's reader can die on a bad file.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/part.h"
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

// What the file itself demands of some faces of one shape (AP242's semantic tolerances): a diameter
// with limits, or a limit of form or place. A fit's limits are left at the size: its table is not
// of this layer.
struct StatedLimit {
  std::size_t shape = 0;
  std::vector<std::size_t> faces;  // places among those of the shape's solid
  std::optional<Size> diameter;
  GeometricKind kind = GeometricKind::kFlat;  // where there is no diameter
  double within_mm = 0;
  int datums = 0;                        // that it is counted from
  std::vector<std::size_t> datum_faces;  // of the first of them, of the same shape
  std::string words;                     // "diameter 8.8, from 8.7 to 9"
};

struct StepContents {
  std::vector<Solid> shapes;       // one closed body each, mm, in its own frame F
  std::vector<std::vector<std::string>> face_labels;  // of each shape, for MakeFaceGraphs
  std::vector<PlacedShape> placed;
  std::vector<StatedLimit> limits;
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
