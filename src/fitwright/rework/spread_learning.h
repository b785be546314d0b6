// A spread sharpened by what was measured. The figure's square has a scaled inverse chi-square
// prior, which says as much as some number of readings would; deviations update it. Where nothing
// is held back and nothing else is in the deviations that is the conjugate update:
//   n0 + n readings, square (n0 s0^2 + sum d^2) / (n0 + n).
// A size worked to is sent back while it is outside on the side that can be cut again, and what
// the instrument adds is in it too: then the same by a grid over the figure.
#pragma once

#include <string>
#include <vector>

#include "fitwright/model/shop.h"

namespace fitwright::rework {

// One reading's distance from its aim, in the units of the figure.
struct Deviation {
  double off = 0;    // of the spread's own unit: 1 figure is one sigma
  double share = 1;  // sigma of the deviation for a figure of 1: one half at a last cut
  double rest = 0;   // sigma of what else is in it
  double sent_back_above = 1e300;  // of `off`; readings beyond were cut again
  double sent_back_below = -1e300;
};

struct SpreadPrior {
  double figure = 0;
  double readings = 0;  // it counts as so many
};
// From the figures that the shop's level leaves open: sigma of the figure's logarithm as if evenly
// spread from the low end to the high one.
SpreadPrior PriorOf(double figure, double low, double high);

struct LearnedFigure {
  SpreadPrior prior;
  int readings = 0;
  double figure = 0;  // root of the mean square
  double low = 0;     // 95 %
  double high = 0;
  double prior_low = 0;  // 95 % before
  double prior_high = 0;
};
LearnedFigure Learn(const SpreadPrior& prior, const std::vector<Deviation>& deviations);

// Deviations of one machine in the order of time, in sigmas: named when they stand off on one side
// or walk away.
struct Drift {
  double mean = 0;         // in sigmas
  double per_reading = 0;  // slope
  double chance = 1;       // of as much by luck, both looked for (Bonferroni)
  bool walks = false;      // the slope says more than the mean
};
Drift FindDrift(const std::vector<double>& in_sigmas);
inline constexpr double kDriftChance = 0.01;
inline constexpr std::size_t kLeastForDrift = 5;

}  // namespace fitwright::rework
