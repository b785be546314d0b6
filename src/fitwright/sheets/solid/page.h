// The A4 page that every drawing of a setup stands on; private to this layer.
#pragma once

#include <string>

#include "fitwright/sheets/solid/picture.h"
#include "fitwright/sheets/svg.h"

namespace fitwright::sheets {

inline constexpr double kPageWidth_mm = 297;
inline constexpr double kPageHeight_mm = 210;
inline constexpr double kPageRim_mm = 8;
inline constexpr double kPageHead_mm = 25;   // rule under the head
inline constexpr double kPageFoot_mm = 192;  // rule over the foot; nothing else of the page below it

// Head (setup, piece, machine, unit large) and foot (safety line, project, revision, date to be written in)
// drawn; `what` is added to the head: "holes", or nothing.
Svg BeginPage(const SetupPicture& picture, const std::string& what);

}  // namespace fitwright::sheets
