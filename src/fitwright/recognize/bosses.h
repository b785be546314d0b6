// Round bosses that stand out of a block.
#pragma once

#include <vector>

#include "fitwright/recognize/draft.h"

namespace fitwright::recognize {

struct Boss {
  OuterDiameter outer;
  std::vector<std::size_t> faces;
};

// Where all that reaches a side of the box is tops of bosses, the box shrinks to where they stand.
std::vector<Boss> TakeBosses(PlacedGraph& graph);
void AddBosses(Draft& draft, const std::vector<Boss>& bosses);

}  // namespace fitwright::recognize
