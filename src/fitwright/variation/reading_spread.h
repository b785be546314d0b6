// Which row of the spreads an instrument's reading error is.
#pragma once

#include "fitwright/model/shop.h"
#include "fitwright/variation/spreads.h"

namespace fitwright::variation {

// A caliper's for what has no row of its own.
SpreadId ReadingSpreadOf(InstrumentKind kind);

}  // namespace fitwright::variation
