#include "fitwright/stats/normal.h"

#include <cmath>
#include <limits>

#include "fitwright/stats/lane_math.h"

namespace fitwright::stats {

double NormalDensity(double x) {
  constexpr double kInverseSqrt2Pi = 0.39894228040143267794;
  return kInverseSqrt2Pi * std::exp(-0.5 * x * x);
}

double NormalCdf(double x) {
  constexpr double kInverseSqrt2 = 0.70710678118654752440;
  return 0.5 * std::erfc(-x * kInverseSqrt2);
}

double InverseNormal(double p) {
  constexpr double kLeast = std::numeric_limits<double>::min();
  if (!(p >= 0 && p <= 1)) return std::numeric_limits<double>::quiet_NaN();
  if (p == 0 || p == 1) return std::copysign(std::numeric_limits<double>::infinity(), p - 0.5);
  double x = p < kLeast ? kLeast : p;
  NormalQuantiles({&x, 1}, {&x, 1});
  return x;
}

}  // namespace fitwright::stats
