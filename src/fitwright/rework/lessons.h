// What the readings of a build teach about the shop, and whether what was said came true.
#pragma once

#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/rework/spread_learning.h"
#include "fitwright/rework/standing.h"
#include "fitwright/stats/intervals.h"
#include "fitwright/variation/spreads.h"

namespace fitwright::rework {

// A spread with its figure in mm (or rad) as the readings have it.
struct Lesson {
  variation::SpreadId spread = variation::SpreadId::kEdgeFinder;
  LearnedFigure learned;
};

// Sizes of one machine that stand off or walk away.
struct MachineDrift {
  MachineToolId machine;
  variation::SpreadId spread = variation::SpreadId::kEdgeFinder;
  Drift drift;
  int readings = 0;
  double sigma_mm = 0;  // one sigma of such a reading, of the last
};

// Readings or requirements that were given a chance, and how many came true.
struct SaidAndTrue {
  double said = 0;
  int times = 0;
  int came_true = 0;
  stats::Interval interval;  // 95 %, of the share
  bool is_honest() const { return said >= interval.low && said <= interval.high; }
};

struct Lessons {
  std::vector<Lesson> lessons;       // by spread, most readings first
  std::vector<MachineDrift> drifts;  // named ones alone
  // Of ranges that a reading was expected in with such a chance, by what was read before.
  std::vector<SaidAndTrue> readings;
  // Of requirements that the readings have settled since; said: mean of their chances as planned.
  SaidAndTrue requirements;
  int readings_used = 0;
};

// A reading teaches about the one spread that carries at least half of its variance, where that is
// normal or a last cut. Errors: those of variation::Analyse.
Result<Lessons> CalcLessons(const Standing& standing);

}  // namespace fitwright::rework
