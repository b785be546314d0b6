// Which instrument of the shop a size is measured with.
#pragma once

#include <vector>

#include "fitwright/model/shop.h"

namespace fitwright::planner {

// Share of the width between limits that an instrument may be uncertain by (common practice).
inline constexpr double kInstrumentShare = 0.25;
// How far down a bore the inside jaws of a common caliper reach (from memory).
inline constexpr double kCaliperJaws_mm = 15;
// The inside jaws of a common caliper go into a hole no smaller than this (from memory).
inline constexpr double kCaliperInside_mm = 5;
// The tips of a caliper's outside jaws go into a groove no narrower than this (from memory).
inline constexpr double kCaliperTips_mm = 1;

struct InstrumentChoice {
  const Instrument* instrument = nullptr;  // of the shop, not owned; null: none covers the size
  double spread_mm = 0;
  bool GoodTo(double width_mm) const { return spread_mm <= kInstrumentShare * width_mm + 1e-9; }
};

// The first of these kinds, in this order, that covers the size and is good to a quarter of the width
// between the limits, else the best; finely: the best of all.
InstrumentChoice ChooseInstrument(const Shop& shop, const std::vector<InstrumentKind>& kinds,
                                  double size_mm, double width_mm, bool finely);

}  // namespace fitwright::planner
