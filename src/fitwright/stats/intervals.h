// Intervals for chances that were counted, and for values that were sampled.
#pragma once

#include <cstdint>
#include <span>

namespace fitwright::stats {

struct Interval {
  double low = 0;
  double high = 0;
};

// Wilson score interval for a chance seen `good` times in `trials` (Wilson 1927), two-sided.
// Requires 0 <= good <= trials, trials >= 1, 0 < confidence < 1. Ends are exactly 0 or 1 at good =
// 0 or trials.
Interval WilsonInterval(std::int64_t good, std::int64_t trials, double confidence = 0.95);

// Clopper-Pearson (exact, conservative) interval. Requirements as above.
Interval ClopperPearsonInterval(std::int64_t good, std::int64_t trials, double confidence = 0.95);

// For counted builds: Wilson's, and the exact one where fewer than ten are good or fewer than ten
// are not. Wilson's alone holds a chance of which 0.16 events are expected 85 times in 100; this
// one holds every chance at least 93 times in 100, and at most 97 where ten events and more are
// expected.
Interval CountedInterval(std::int64_t good, std::int64_t trials, double confidence = 0.95);

// Regularised incomplete beta I_x(a, b), a, b > 0, 0 <= x <= 1; absolute error under 1e-12 for a, b
// up to 1e6.
double IncompleteBeta(double a, double b, double x);

// p-quantile of ascending values, linear between order statistics at (n - 1) p. Requires a value.
double QuantileOfSorted(std::span<const double> ascending, double p);
// Ends at (1 - coverage) / 2 from both sides.
Interval SymmetricInterval(std::span<const double> ascending, double coverage);
// Shortest of the intervals from the r-th to the (r + q)-th value, q = coverage * n rounded (JCGM
// 101:2008, 7.7.4); the first when tied. Requires 1 <= q < n.
Interval ShortestInterval(std::span<const double> ascending, double coverage);

// Mean and (n - 1) standard deviation by a compensated two-pass sum.
struct MeanSigma {
  double mean = 0;
  double sigma = 0;
};
MeanSigma MeanAndSigma(std::span<const double> values);

}  // namespace fitwright::stats
