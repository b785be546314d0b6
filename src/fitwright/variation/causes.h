// What spoils a requirement, group by group.
#pragma once

#include <vector>

#include "fitwright/base/progress.h"
#include "fitwright/model/plan.h"
#include "fitwright/variation/analysis.h"

namespace fitwright::variation {

struct CauseOptions {
  std::int64_t builds = 4096;
  std::uint64_t seed = 1;
  int threads = 0;
  std::size_t most = 6;  // named causes; what is left is "rest"
  const CancelFlag* cancel = nullptr;
};

// One list a requirement, largest first, shares summing to 1, the last entry "rest". A requirement
// of one linear quantity: each group's share of variance plus squared mean shift. Others: how much
// the odds rise when the group's spread is taken away, on the same random numbers; where no group
// alone raises them, everything is rest. Empty when cancelled.
std::vector<std::vector<CauseShare>> CalcCauses(const Shop& shop, const Analysis& analysis,
                                                const CauseOptions& options);

}  // namespace fitwright::variation
