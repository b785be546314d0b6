#include "fitwright/stats/intervals.h"

#include <algorithm>
#include <cmath>

#include "fitwright/base/check.h"
#include "fitwright/stats/normal.h"

namespace fitwright::stats {
namespace {

// ln Gamma(x) - ((x - 1/2) ln x - x + ln(2 pi) / 2): asymptotic series from 16 up, recurrence
// below.
double StirlingRest(double x) {
  double sum = 0;
  while (x < 16) {
    sum += (x + 0.5) * std::log1p(1 / x) - 1;
    x += 1;
  }
  const double r = 1 / (x * x);
  const double series =
      (1.0 / 12 - r * (1.0 / 360 - r * (1.0 / 1260 - r * (1.0 / 1680 - r / 1188)))) / x;
  return sum + series;
}

// x^a (1-x)^b / B(a, b), about the mode so that large a and b lose no digits.
double BetaFront(double a, double b, double x) {
  constexpr double kTwoPi = 6.28318530717958647692;
  const double n = a + b;
  const double shift = x - a / n;
  const double exponent = a * std::log1p(shift * n / a) + b * std::log1p(-shift * n / b) +
                          StirlingRest(n) - StirlingRest(a) - StirlingRest(b);
  return std::sqrt(a * b / (kTwoPi * n)) * std::exp(exponent);
}

// Continued fraction of I_x(a, b) (DLMF 8.17.22) by the modified Lentz method; converges fast for
// x < (a + 1) / (a + b + 2).
double BetaFraction(double a, double b, double x) {
  constexpr double kTiny = 1e-300;
  constexpr double kEnough = 1e-16;
  constexpr int kMost = 100000;
  double c = 1;
  double d = 1 - (a + b) * x / (a + 1);
  d = 1 / (std::fabs(d) < kTiny ? kTiny : d);
  double fraction = d;
  for (int m = 1; m <= kMost; ++m) {
    const double even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
    const double odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
    double change = 1;
    for (const double term : {even, odd}) {
      d = 1 + term * d;
      c = 1 + term / c;
      d = 1 / (std::fabs(d) < kTiny ? kTiny : d);
      if (std::fabs(c) < kTiny) c = kTiny;
      change = c * d;
      fraction *= change;
    }
    if (std::fabs(change - 1) < kEnough) break;
  }
  return fraction;
}

// x with I_x(a, b) = p.
double InverseBeta(double a, double b, double p) {
  double low = 0;
  double high = 1;
  while (true) {
    const double middle = 0.5 * (low + high);
    if (middle <= low || middle >= high) return middle;
    (IncompleteBeta(a, b, middle) < p ? low : high) = middle;
    if (high - low < 1e-16) return 0.5 * (low + high);
  }
}

void CheckCount(std::int64_t good, std::int64_t trials, double confidence) {
  FW_CHECK(trials >= 1 && good >= 0 && good <= trials && confidence > 0 && confidence < 1, good,
           trials, confidence);
}

}  // namespace

Interval WilsonInterval(std::int64_t good, std::int64_t trials, double confidence) {
  CheckCount(good, trials, confidence);
  const double n = static_cast<double>(trials);
  const double p = static_cast<double>(good) / n;
  const double z = InverseNormal(0.5 * (1 + confidence));
  const double scale = 1 + z * z / n;
  const double centre = (p + z * z / (2 * n)) / scale;
  const double half = z / scale * std::sqrt(p * (1 - p) / n + z * z / (4 * n * n));
  return {good == 0 ? 0.0 : std::max(0.0, centre - half),
          good == trials ? 1.0 : std::min(1.0, centre + half)};
}

Interval ClopperPearsonInterval(std::int64_t good, std::int64_t trials, double confidence) {
  CheckCount(good, trials, confidence);
  const double tail = 0.5 * (1 - confidence);
  const double k = static_cast<double>(good);
  const double rest = static_cast<double>(trials - good);
  return {good == 0 ? 0.0 : InverseBeta(k, rest + 1, tail),
          good == trials ? 1.0 : InverseBeta(k + 1, rest, 1 - tail)};
}

Interval CountedInterval(std::int64_t good, std::int64_t trials, double confidence) {
  constexpr std::int64_t kFew = 10;
  return std::min(good, trials - good) < kFew ? ClopperPearsonInterval(good, trials, confidence)
                                              : WilsonInterval(good, trials, confidence);
}

double IncompleteBeta(double a, double b, double x) {
  FW_CHECK(a > 0 && b > 0 && x >= 0 && x <= 1, a, b, x);
  if (x == 0 || x == 1) return x;
  if (x <= (a + 1) / (a + b + 2)) return BetaFront(a, b, x) * BetaFraction(a, b, x) / a;
  return 1 - BetaFront(b, a, 1 - x) * BetaFraction(b, a, 1 - x) / b;
}

double QuantileOfSorted(std::span<const double> ascending, double p) {
  FW_CHECK(!ascending.empty() && p >= 0 && p <= 1, ascending.size(), p);
  const double place = p * static_cast<double>(ascending.size() - 1);
  const auto below = static_cast<std::size_t>(place);
  if (below + 1 >= ascending.size()) return ascending.back();
  const double share = place - static_cast<double>(below);
  return ascending[below] + share * (ascending[below + 1] - ascending[below]);
}

Interval SymmetricInterval(std::span<const double> ascending, double coverage) {
  const double tail = 0.5 * (1 - coverage);
  return {QuantileOfSorted(ascending, tail), QuantileOfSorted(ascending, 1 - tail)};
}

Interval ShortestInterval(std::span<const double> ascending, double coverage) {
  const std::size_t n = ascending.size();
  const auto q = static_cast<std::size_t>(std::lround(coverage * static_cast<double>(n)));
  FW_CHECK(q >= 1 && q < n, q, n);
  std::size_t best = 0;
  for (std::size_t r = 1; r + q < n; ++r) {
    if (ascending[r + q] - ascending[r] < ascending[best + q] - ascending[best]) best = r;
  }
  return {ascending[best], ascending[best + q]};
}

MeanSigma MeanAndSigma(std::span<const double> values) {
  if (values.empty()) return {};
  const double n = static_cast<double>(values.size());
  double sum = 0;
  for (const double v : values) sum += v;
  const double mean = sum / n;
  double squares = 0;
  double rest = 0;
  for (const double v : values) {
    squares += (v - mean) * (v - mean);
    rest += v - mean;
  }
  const double variance = values.size() > 1 ? (squares - rest * rest / n) / (n - 1) : 0;
  return {mean + rest / n, std::sqrt(std::max(0.0, variance))};
}

}  // namespace fitwright::stats
