// A reckoning on paper: terminal text, and its drawing as SVG.
#pragma once

#include <string>

#include "fitwright/reckon/catalogue.h"
#include "fitwright/sheets/text.h"

namespace fitwright::sheets {

// What was given, what was found, tables, notes, and the formula's source.
std::string ReckonedText(const reckon::Reckoning& reckoning, const reckon::Given& given,
                         const reckon::Reckoned& reckoned, const TextOptions& options);
// All reckonings with a line each.
std::string ReckoningsText(const TextOptions& options);
// What one of them takes, with an example.
std::string ReckoningText(const reckon::Reckoning& reckoning, LengthUnit unit,
                          const TextOptions& options);

// One page, the drawing as large as it allows. The drawing must not be empty.
std::string ReckonedSvg(const reckon::Reckoning& reckoning, const reckon::Reckoned& reckoned);

}  // namespace fitwright::sheets
