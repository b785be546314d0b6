// The odds of a plan as the build stands: by what was read so far.
#pragma once

#include <cstdint>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/plan.h"
#include "fitwright/rework/standing.h"
#include "fitwright/rework/weighed_builds.h"
#include "fitwright/variation/odds.h"
#include "fitwright/variation/what_if.h"

namespace fitwright::rework {

struct StandingOdds {
  double all = 0;                       // 0..1
  std::vector<double> per_requirement;  // 0..1, in the machine's order
  std::vector<double> remedies_min;     // expected minutes of remedies, the same order
  double rework_min = 0;                // of extra cuts to bring sizes in and of parts spoiled, as planned
  double effective_builds = 0;          // how many equal builds they are counted on
};

// By build: all that was asked for is met.
std::vector<std::uint8_t> AllMet(const WeighedBuilds& built);

// Builds are rounded up to whole blocks. Random numbers are keyed by source: plans that share a
// source share its draw. Errors: those of variation::Analyse.
Result<StandingOdds> CalcStandingOdds(const Standing& standing, std::int64_t builds,
                                      std::uint64_t seed);

// As variation::CalcOdds, given the readings. The band of what is not known of the shop leaves what
// the readings count as it is. Errors as there.
Result<Odds> CalcOddsGiven(const Standing& standing, const variation::OddsOptions& options);
// The same of a project that came of ProjectOf(standing) and was changed since.
Result<Odds> CalcOddsGiven(const variation::Project& project, const Standing& standing,
                           const variation::OddsOptions& options);

}  // namespace fitwright::rework
