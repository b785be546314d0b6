// One-dimensional distributions of error sources, with quantiles and cumulants.
#pragma once

#include <cstdint>

#include "fitwright/stats/random.h"

namespace fitwright::stats {

// First four cumulants; for a sum of independent terms they add, for a*X they scale by a, a^2, a^3,
// a^4.
struct Cumulants {
  double mean = 0;
  double variance = 0;
  double third = 0;
  double fourth = 0;
};
Cumulants operator+(const Cumulants& a, const Cumulants& b);
Cumulants Scaled(const Cumulants& c, double factor);
Cumulants Shifted(const Cumulants& c, double by);

enum class DistributionKind {
  kFixed,            // a
  kNormal,           // mean a, sigma b
  kHalfNormal,       // a + |N(0, b)|
  kUniform,          // a - b .. a + b
  kOneSidedUniform,  // a .. a + b
  kLognormal,        // median a > 0, sigma of the logarithm b
  kRayleigh,         // median a >= 0
  kEvent             // 0 with chance 1 - chance, else uniform a .. b; 0 <= a <= b
};

struct Distribution {
  DistributionKind kind = DistributionKind::kFixed;
  double a = 0;
  double b = 0;
  double chance = 0;  // kEvent, 0..1
};

Distribution MakeFixed(double value);
Distribution MakeNormal(double mean, double sigma);
Distribution MakeHalfNormal(double start, double sigma);
Distribution MakeUniform(double middle, double half_width);
Distribution MakeOneSidedUniform(double start, double length);
Distribution MakeLognormal(double median, double sigma_log);
Distribution MakeRayleigh(double median);
Distribution MakeEvent(double chance, double low, double high);

// x with P(X <= x) = p for 0 < p < 1; monotone in p.
double Quantile(const Distribution& d, double p);
// Same, of a standard normal score z: Quantile(d, NormalCdf(z)), but exact and cheap for normal
// kinds.
double QuantileOfScore(const Distribution& d, double z);
Cumulants CumulantsOf(const Distribution& d);
// Quantile(d, Uniform(key, index, lane)).
double Draw(const Distribution& d, std::uint64_t key, std::uint64_t index, std::uint32_t lane = 0);

// A vector in the plane whose length is Rayleigh with the given median and whose direction is
// uniform: both components are independent normals of sigma RayleighSigma(median).
double RayleighSigma(double median);
Pair DrawVector(double median, std::uint64_t key, std::uint64_t index, std::uint32_t lane = 0);
// Unit vector of uniform direction.
Pair DrawDirection(std::uint64_t key, std::uint64_t index, std::uint32_t lane = 0);

// P(X <= x) of a variable known by its cumulants: Edgeworth series to the fourth cumulant, held to
// 0..1. Good to a few 1e-3 for |skewness| < 0.5 and |excess kurtosis| < 1; a degenerate variance
// gives a step.
double CdfFromCumulants(const Cumulants& c, double x);

}  // namespace fitwright::stats
