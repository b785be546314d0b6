// Figures of the laws that sources follow, for whoever draws them, compiles them or reckons their exact law.
#pragma once

#include "fitwright/variation/source.h"

namespace fitwright::variation {

inline constexpr double kMedianToSigma = 1.1774100225154747;  // of a Rayleigh length: sqrt(2 ln 2)
// A chip under the work lifts it by this much, evenly spread (opinion, as data/spreads.csv has it).
inline constexpr double kChipLow_mm = 0.02;
inline constexpr double kChipHigh_mm = 0.10;
inline constexpr double kToolShare = 0.6;     // of the log-variance of a drill's oversize: the drill's own
inline constexpr double kLastCutShare = 0.5;  // of the one-shot spread

// Mean and spread of a source in a shop with these figures, in the source's own unit.
struct FigureInForce {
  double mean = 0;
  double spread = 0;
};
inline FigureInForce InForce(const Source& source, const Figures& figures) {
  const SpreadFigure& f = figures[Place(source.spread)];
  return {source.unit * f.mean, f.spread == 0 ? 0 : source.unit * f.spread + source.extra};
}

}  // namespace fitwright::variation
