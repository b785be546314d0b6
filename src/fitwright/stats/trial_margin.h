// One outcome of a program of trials as a margin of standard normals, for rare failures.
#pragma once

#include <cstddef>
#include <cstdint>

#include "fitwright/stats/rare.h"
#include "fitwright/stats/trials.h"

namespace fitwright::stats {

struct TrialMargin {
  Margin margin;               // below 0 where the outcome does not hold
  std::size_t dimensions = 0;  // 0: nothing that it reads is random
};

// Whether the outcome depends on draws, rows and rests in discs alone, not on steps (TrialStep).
bool HasMargin(const TrialProgram& program, std::uint32_t outcome);

// Of an outcome that has one. Only the draws that the outcome's rows read: one normal each, one
// more for each length of vectors and lognormals, for worked sizes one and two a cut. The margin is
// the least room to a limit in the row's own unit. Same distribution as RunTrials. The program may
// go away afterwards.
TrialMargin MarginOf(const TrialProgram& program, std::uint32_t outcome);

// Whether an interval for the chance of a miss can stand beside so many counted ones: they do not
// exclude each other at 99.9 in 100.
bool Agrees(const Interval& found, std::int64_t missed, std::int64_t trials);

// Chance that the outcome does not hold: sampled, and where fewer than `seldom` of the trials
// failed and it has a margin, by draws where it fails (CalcRareChance) instead, if its interval is
// trusted, the narrower of the two, and not against what was counted.
struct MissOptions {
  std::uint64_t seed = 1;
  std::int64_t trials = 1 << 17;  // a multiple of kTrialsAtOnce
  std::int64_t seldom = 400;      // fewer: sampling is off by more than 10 in 100
  int threads = 0;
};
struct MissChance {
  double chance = 0;
  Interval interval;  // 95 in 100
  bool by_draws = false;
};
MissChance CalcMissChance(const TrialProgram& program, std::uint32_t outcome,
                          const MissOptions& options = {});

}  // namespace fitwright::stats
