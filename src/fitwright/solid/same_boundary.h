// Two solids compared by their faces, where crossing them costs much or fails.
#pragma once

#include <memory>

#include "fitwright/solid/solid.h"

namespace fitwright::solid {

// One solid's faces summed up by their surfaces, to hold others against.
class KnownBoundary {
 public:
  explicit KnownBoundary(const Solid& solid);

  // As HaveSameBoundary (cut.h); costs next to nothing where the volumes differ.
  bool IsOf(const Solid& other) const;

 private:
  struct Patches;
  double volume_mm3_ = 0;                   // 0: the empty solid
  std::shared_ptr<const Patches> patches_;  // none where a surface has no name
};

}  // namespace fitwright::solid
