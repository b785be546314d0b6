// A setup's solids as data for a screen on which they are turned.
#pragma once

#include <string>

#include "fitwright/base/result.h"
#include "fitwright/sheets/solid/picture.h"

namespace fitwright::sheets {

// JSON, one line: {schema: fitwright-solids/1, lathe, bodies: [{role: before | after | holding,
// points: [x, y, z, ...], triangles: [a, b, c, ...], edges: [[x, y, z, ...]]}]}. mm in the setup's
// frame S, to hundredths; triangles by place among the points, counter-clockwise from outside.
// Errors: kKernel. Deterministic.
Result<std::string> SolidsOfSetup(const SetupPicture& picture);

}  // namespace fitwright::sheets
