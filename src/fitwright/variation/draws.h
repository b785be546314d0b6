// From random numbers to the values of sources, a block of builds at a time.
#pragma once

#include <cstdint>

#include "fitwright/variation/builds.h"

namespace fitwright::variation {

// Uniforms or normals of one stream for the builds first .. first + kLanes - 1.
void FillUniforms(std::uint64_t key, std::int64_t first, const BlockOptions& options, double* out, std::uint32_t lane = 0);
void FillNormals(std::uint64_t key, std::int64_t first, const BlockOptions& options, double* out, std::uint32_t lane = 0);

// Values of a source of any law but kWorked and kPlay.
void FillSource(const Source& source, std::int64_t first, const Figures& figures, const BlockOptions& options, double* out);

// What became of one worked size in one build.
struct WorkedOutcome {
  double value = 0;
  int recuts = 0;
  bool spoiled = false;
};
// Cut, measure, cut again. The last cut's own spread is half the one-shot figure, the reading inside it;
// it aims from a reading and is judged by the next.
void FillWorked(const Source& source, const WorkedSize& worked, std::int64_t first, const Figures& figures,
                const BlockOptions& options, WorkedOutcome* out);

// Mean and variance of a source; kWorked from 4096 fixed draws, kPlay 0.
Moments MomentsOf(const SourceTable& sources, SourceIndex index, const Figures& figures);

}  // namespace fitwright::variation
