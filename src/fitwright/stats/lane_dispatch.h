// Picks a kernel of a table by the width asked for. For the kernels' own sources alone.
#pragma once

#include <hwy/highway.h>

#include <cstddef>
#include <iterator>

#include "fitwright/stats/vectors.h"

namespace fitwright::stats {

// The vector library's name for a width on this processor.
std::int64_t TargetsOf(Vectors vectors);

// `table` is what HWY_EXPORT made.
template <typename Kernel, std::size_t N>
Kernel Pick(Kernel const (&table)[N], Vectors vectors) {
  if constexpr (N == 1) {
    return table[0];
  } else {
    hwy::ChosenTarget chosen;
    chosen.Update(TargetsOf(vectors));
    return table[chosen.GetIndex()];
  }
}

}  // namespace fitwright::stats
