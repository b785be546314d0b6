// The normal distribution.
#pragma once

namespace fitwright::stats {

double NormalDensity(double x);
// P(X <= x), relative accuracy near 1e-15 in the lower tail too.
double NormalCdf(double x);
// x with NormalCdf(x) = p, 0 < p < 1: Wichura, Algorithm AS 241 (PPND16), Applied Statistics 37
// (1988); relative accuracy about 1e-16; the same bits as NormalQuantiles (lane_math.h). -inf at 0,
// +inf at 1, NaN outside; below the least normal number as there.
double InverseNormal(double p);

}  // namespace fitwright::stats
