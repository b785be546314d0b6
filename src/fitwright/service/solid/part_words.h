// A part as a foreman reads it off a drawing. Internal to service/.
#pragma once

#include <string>
#include <vector>

#include "fitwright/model/part.h"

namespace fitwright::service {

// "flat bar 64 x 64 x 85", "round bar 50, 52 long", in the unit.
std::string StockText(const Stock& stock, LengthUnit unit);

// "4 holes 3.3, 12 deep, from +z, M4 (8 of full thread), on a circle of 46": what is on the part in the
// sheet's order, alike ones counted together; the sides of a block and the ends of turned work that
// carry nothing are left out.
std::vector<std::string> FeatureTexts(const Part& part, LengthUnit unit);

}  // namespace fitwright::service
