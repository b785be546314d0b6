// A chuck on a finished size: how gently the piece is cut while it is held so, and what is gauged again
// when it is out. Lengths in mm.
#pragma once

#include <string_view>

#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/planner/holding.h"

namespace fitwright::planner {

// Greatest depth of one cut on a piece that is held short on a finished size (opinion).
inline constexpr double kLightCut_mm = 0.5;

// How a gauging once more begins.
inline constexpr std::string_view kOutOfTheChuck = "Out of the chuck: measure ";
inline constexpr std::string_view kOutOfTheVise = "Out of the vise: measure ";

// An outside that is made to limits of its own, no wider than 0.06 mm (opinion): jaws mark it, so another land is gripped
// where there is one (common practice).
bool IsCloseOutside(const Feature& feature);

// Jaws close on a finished size over less than half its diameter, and nothing else carries the piece.
bool IsHeldShortOnFinished(const Setup& setup);
// " Held over less than half ..." for the page, empty where it is not so.
std::string HeldShortWords(const Setup& setup);

// What a bore that the setup cuts in a ring under the jaws springs to when they let go, where that is more than a
// fifth of its limits; else empty. `pieces`: any state, for the parts' sheets.
std::string ThinRingWords(const Shop& shop, const PieceStates& pieces, const Setup& setup);

// Adds steps at the end, out of the machine: each close size that the jaws press on or that lies in the
// ring under them is gauged once more; so is a bore that a vise presses oval. `pieces`: as they are after the cuts.
void GaugeAgain(const Shop& shop, const PieceStates& pieces, Setup& setup);

}  // namespace fitwright::planner
