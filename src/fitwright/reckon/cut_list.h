// Pieces cut from bars of one length: the fewest bars, by branch and bound.
#pragma once

#include <cstdint>
#include <vector>

#include "fitwright/base/result.h"

namespace fitwright::reckon {

struct CutListGiven {
  std::vector<double> pieces_mm;
  double bar_mm = 0;
  double kerf_mm = 0;  // lost at every cut
  double grip_mm = 0;  // end of each bar that cannot be used
};
struct CutList {
  std::vector<std::vector<double>> bars_mm;  // pieces of each, longest first
  std::vector<double> rests_mm;              // what is left of each beside the grip
  int fewest = 0;                            // no way of cutting can take fewer than this
  bool proved() const { return static_cast<int>(bars_mm.size()) == fewest; }
};

// Every branch that is looked at counts; when they are used up the best found stands, with the
// bound that was proved.
inline constexpr std::int64_t kCutListBranches = 400'000;

// Each piece takes its length and a kerf, but the last of a bar needs no cut when it comes out
// even. The fewest bars, and of those the ones that first-fit decreasing or the search finds.
// Lengths count to 0.001 mm. Deterministic. Error out_of_range: a piece longer than a bar less its
// grip.
Result<CutList> PlanCuts(const CutListGiven& given, std::int64_t branches = kCutListBranches);

}  // namespace fitwright::reckon
