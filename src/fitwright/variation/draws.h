// From random numbers to the values of sources, a block of builds at a time.
#pragma once

#include <cstdint>

#include "fitwright/stats/trials.h"
#include "fitwright/variation/source.h"

namespace fitwright::variation {

inline constexpr int kLanes = stats::kTrialsAtOnce;  // builds that are drawn side by side

// How sources get their random numbers; always a function of (seed, source's key, build) alone.
enum class Draws : std::uint8_t {
  kCounter,    // independent builds
  kStratified  // a fixed set of `set_size` builds: each source takes each of set_size strata once
};

struct BlockOptions {
  std::uint64_t seed = 1;
  Draws draws = Draws::kCounter;
  int set_size = 1024;  // kStratified; a power of two
};

// Uniforms or normals of one stream for the builds first .. first + kLanes - 1.
void FillUniforms(std::uint64_t key, std::int64_t first, const BlockOptions& options, double* out,
                  std::uint32_t lane = 0);
void FillNormals(std::uint64_t key, std::int64_t first, const BlockOptions& options, double* out,
                 std::uint32_t lane = 0);

// The part of a source's value that no figure changes (a standard normal, a uniform, the component
// of a unit vector ...), for one block of builds. Not for kPlay. Worked sizes take 3 * kLanes
// numbers, others kLanes.
void FillStandard(const Source& source, std::int64_t first, const BlockOptions& options,
                  double* out);
// Values of a source of any law but kWorked and kPlay, from its standards.
void ScaleSource(const Source& source, const Figures& figures, const double* standard, double* out);

// What became of one worked size in one build.
struct WorkedOutcome {
  double value = 0;
  int recuts = 0;
  bool spoiled = false;
};
// Cut, measure, cut again. The last cut's own spread is half the one-shot figure, the reading
// inside it; it aims from a reading and is judged by the next.
void FillWorked(const Source& source, const WorkedSize& worked, std::int64_t first,
                const Figures& figures, const BlockOptions& options, const double* standard,
                WorkedOutcome* out);

// Mean and variance of a source; kWorked from 4096 fixed draws, kPlay 0.
Moments MomentsOf(const SourceTable& sources, SourceIndex index, const Figures& figures);

}  // namespace fitwright::variation
