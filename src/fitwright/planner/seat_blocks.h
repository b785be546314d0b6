// What stands under a piece that is seated in a chuck on its jaws' steps, or on blocks or a ring where these do not serve.
#pragma once

#include <string>

#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/planner/process.h"

namespace fitwright::planner {

// " Blocks under it: at least 12 mm high, ..." for a setup whose cuts stand, so that neither what hangs below the seat nor
// a drill comes down on anything; in the lathe only how far steps or a ring may reach under what hangs. Empty where the setup
// is not seated so.
std::string SeatBlockWords(const Shop& shop, const Setup& setup, const PieceInSetup& piece);

}  // namespace fitwright::planner
