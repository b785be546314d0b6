// How many builds meet their requirements, together and one by one.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "fitwright/base/progress.h"
#include "fitwright/variation/compiled_builds.h"

namespace fitwright::variation {

struct MetWanted {
  std::int64_t builds = 20000;
  std::uint64_t seed = 1;
  std::vector<std::size_t> only;  // places in the compiler's requirements; all if empty
  int threads = 0;
  const CancelFlag* cancel = nullptr;  // not owned
};

struct MetCounts {
  std::int64_t builds = 0;
  std::int64_t all = 0;           // meet all that was asked for
  std::vector<std::int64_t> met;  // by place in the compiler's requirements; 0 if not asked for
};

// The same builds for any number of threads and whatever else is asked for; in another shop the
// same random numbers. Nothing when cancelled.
std::optional<MetCounts> CountMet(const BuildCompiler& compiler, const Figures& figures,
                                  const MetWanted& wanted);

}  // namespace fitwright::variation
