// Virtual builds given the readings: which requirements each meets, what it counts, and the values
// of forms that are asked for.
#pragma once

#include <cstdint>
#include <vector>

#include "fitwright/rework/conditioning.h"

namespace fitwright::rework {

struct BuildsAsked {
  std::vector<std::size_t> requirements;  // places in the analysis
  std::vector<variation::Form> forms;     // as planned; values are given the readings
  std::int64_t builds = 4096;             // rounded up to whole blocks
  std::uint64_t seed = 1;
};

// Of the analysis: all its requirements.
std::vector<std::size_t> EveryPlace(const variation::Analysis& analysis);

struct WeighedBuilds {
  std::size_t builds = 0;
  std::vector<double> weights;                 // sum 1
  double effective = 0;                        // how many equal builds they are worth
  std::vector<std::vector<std::uint8_t>> met;  // by requirement asked for, by build
  std::vector<std::vector<double>> values;     // by form asked for, by build

  double Chance(const std::vector<std::uint8_t>& good) const;
};

WeighedBuilds BuildGiven(const variation::Analysis& analysis, const Conditioning& given,
                         const BuildsAsked& asked);

}  // namespace fitwright::rework
