// Surfaces that nobody cuts: of bought parts, and of stock where the drawing leaves it as supplied.
#pragma once

#include "fitwright/variation/assembly.h"

namespace fitwright::variation {

// Puts the part's features with finish as_supplied into `features`, made from the start: sizes
// evenly anywhere within their limits (the maker's, or the stock's section), places and directions
// true to the part's frame.
void AddSupplied(const AssemblyInput& input, const PartId& part, FeatureMap& features);

}  // namespace fitwright::variation
