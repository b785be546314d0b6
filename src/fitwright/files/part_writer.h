// A part as the text of its sheet, as a person would have typed it: patterns as patterns, only what
// differs from the defaults, bare lengths in the part's sheet unit (docs/FORMATS.md).
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/files/remark.h"
#include "fitwright/model/part.h"

namespace fitwright::files {

// The sheet of a part with features of its own; the part is complete, as the reader gives it. Read
// again it is the same part, lengths within kGeometryNoise_mm, but for what the format cannot say:
// a hole that runs out elsewhere than through the last material or into another hole is written by
// its depth, with a flat bottom. remarks: each stands as "# proposed: words" on the line it is
// about. A pure function. Errors: kNotSquare (value = the feature: a direction that is not along x,
// y or z, or turned work about another axis than its own).
Result<std::string> WritePart(const Part& part, const std::vector<Remark>& remarks = {});

// The sheet of a mirror part; axis: 0 x, 1 y, 2 z, the plane where that coordinate is 0.
std::string WriteMirror(const PartId& of, int axis);

// The plane that mirrors the original into `mirrored`, features, stock and all; nothing when none
// does.
std::optional<int> FindMirrorAxis(const Part& original, const Part& mirrored);

}  // namespace fitwright::files
