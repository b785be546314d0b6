// The A4 page that every drawing of a setup stands on; private to this layer.
#pragma once

#include <string>

#include "fitwright/sheets/solid/picture.h"
#include "fitwright/sheets/solid/svg.h"

namespace fitwright::sheets {

inline constexpr double kPageWidth_mm = 297;
inline constexpr double kPageHeight_mm = 210;
inline constexpr double kPageRim_mm = 8;

// Head (setup, piece, machine, unit large) and foot (project, revision) drawn; `what` is added to the
// head: "holes", or nothing.
Svg BeginPage(const SetupPicture& picture, const std::string& what);

}  // namespace fitwright::sheets
