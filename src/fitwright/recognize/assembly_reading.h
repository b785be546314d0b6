// Placed parts read as a machine: what is alike, what is bought, what is joined.
#pragma once

#include <set>
#include <string>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/recognize/joint_reading.h"
#include "fitwright/recognize/part_reading.h"

namespace fitwright::recognize {

// One solid of the file, read, where its part stands in the assembled machine.
struct PlacedReading {
  PartReading reading;
  Pose X_WP = Pose::Identity();
  std::size_t shape = 0;  // the caller's own number of the solid; comes back in PartSource
};

// Where a made part's sheet comes from: the solid, and the movement from the solid's frame F to the
// sheet's. Of a mirror part's sheet, which is the other's image, that is not its own reading's frame.
struct PartSource {
  std::size_t shape = 0;
  Pose X_PF = Pose::Identity();
};

// What a person has confirmed already. Bought parts that are found again are these; of joints,
// requirements and threads only what touches a feature that is not settled is proposed.
struct AssemblyBase {
  Machine machine;
  std::vector<PartSource> sources;  // of machine.parts
  std::set<FeatureRef> settled;
};

// A part whose sheet is another's, seen in a mirror.
struct MirrorPair {
  PartId part;
  PartId of;
  int axis = 0;  // 0 x, 1 y, 2 z: the plane of `of`'s frame where that coordinate is 0
};

struct AssemblyReading {
  // Parts once each, in the order of their first solid, with quantity and places; bought parts;
  // joints and requirements proposed. The second of a mirror pair carries mirror_of: it is the
  // first one's image, not its own reading.
  Machine machine;
  std::vector<MirrorPair> mirrors;
  std::vector<PartSource> sources;  // of machine.parts
  // Of "uses.PART", "bought.NAME", "joints.NAME", "requirements.NAME"; those of parts' own readings
  // are in `parts`, in the order of machine.parts.
  std::vector<Inference> inferred;
  std::vector<std::vector<Inference>> parts;
};

// Each reading in its place beside what is confirmed; a part's name is the reading's, with a number
// behind it where it is taken. Errors: kOutOfRange (nothing to read).
Result<AssemblyReading> ReadAssembly(const std::vector<PlacedReading>& placed,
                                     const std::string& name, const AssemblyBase& base = {});

}  // namespace fitwright::recognize
