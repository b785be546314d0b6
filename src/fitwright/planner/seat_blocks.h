// What stands under a piece that is seated in a chuck on the mill, where the jaws' own steps do not serve.
#pragma once

#include <string>

#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"

namespace fitwright::planner {

// " Blocks under it: at least 12 mm high, ..." for a setup whose cuts stand, so that neither what hangs below the seat nor
// a drill comes down on anything; empty where the setup is not seated so. piece_S: the piece's box.
std::string SeatBlockWords(const Shop& shop, const Setup& setup, const Box3& piece_S);

}  // namespace fitwright::planner
