// Counts over many builds, the same for any number of threads.
#pragma once

#include <cstdint>
#include <vector>

#include "fitwright/base/progress.h"
#include "fitwright/variation/builds.h"

namespace fitwright::variation {

struct Tally {
  std::int64_t builds = 0;
  std::int64_t all = 0;           // builds with every requirement met
  std::vector<std::int64_t> met;  // per requirement
  std::vector<double> mean;       // of the measured quantity
  std::vector<double> sigma;
  bool stopped = false;
};

struct TallyOptions {
  std::int64_t first = 0;  // number of the first build; a multiple of kLanes
  std::int64_t builds = 20000;
  std::uint64_t seed = 1;
  int threads = 0;
  bool values = false;  // fill mean and sigma
  const CancelFlag* cancel = nullptr;
};

// Runs the builds in each of the shops (one set of figures a shop), on the same random numbers, and
// adds up in the order of the builds.
std::vector<Tally> CountBuilds(const BuildRunner& runner, const std::vector<Figures>& shops,
                               const TallyOptions& options);

}  // namespace fitwright::variation
