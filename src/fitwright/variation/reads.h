// What requirements read of an analysis, however far back.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "fitwright/variation/analysis.h"

namespace fitwright::variation {

// By place, 1 or 0.
struct Wanted {
  std::vector<std::uint8_t> requirements;
  std::vector<std::uint8_t> sources;
  std::vector<std::uint8_t> plays;
};

// These requirements (places in the analysis), and all that they read.
Wanted WantedOf(const Analysis& analysis, const std::vector<std::size_t>& requirements);

// Sources that the rest of a float reads: its limits, targets, residual and where it was before.
void MarkRead(const Play& play, std::vector<std::uint8_t>& sources);

}  // namespace fitwright::variation
