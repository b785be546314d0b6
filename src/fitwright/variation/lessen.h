// What would lessen the misses: each spread halved, each clearance wider, each aim moved, each
// limit wider, and which reading would be worth making.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "fitwright/base/progress.h"
#include "fitwright/variation/what_if.h"

namespace fitwright::variation {

// What one change does to one requirement; places in the machine's list.
struct LessMissed {
  std::size_t requirement = 0;
  double before = 0;  // odds, 0..1
  double after = 0;
  bool exact = false;  // by the law of its one quantity; else the same builds drawn again
};

struct Lessening {
  Change change;
  std::vector<LessMissed> effects;  // those that rise by a thousandth or more, the largest first
  double fewer_misses = 0;      // requirements missed a machine, on average
  double minutes_saved = 0;     // of remedies, on average
};

// A size read and its mate made to suit, which the plan makes to the drawing.
struct ReadingWorth {
  RequirementId requirement;
  FeatureRef read;
  FeatureRef suited;
  double before = 0;  // odds of the sizes alone
  double after = 0;
  double hours_saved = 0;  // of remedies, less the reading; on average
};

struct LessenOptions {
  std::int64_t builds = 4096;  // where no law is at hand; at least 100
  std::uint64_t seed = 1;
  int threads = 0;
  std::size_t most = 8;                // of each list
  const CancelFlag* cancel = nullptr;  // not owned
};

struct Lessenings {
  std::vector<Lessening> ranked;  // spreads, clearances and aims; most minutes saved first
  std::vector<Lessening> limits;  // each a tenth wider, in the machine's order; those that matter
  std::vector<ReadingWorth> readings;  // most hours saved first
  std::vector<double> odds;            // of every requirement as planned, exact where it can be
  double misses = 0;                   // requirements missed a machine, on average
};

// Errors as CalcOdds. The same for any number of threads.
Result<Lessenings> FindLessenings(const Project& project, const LessenOptions& options);

}  // namespace fitwright::variation
