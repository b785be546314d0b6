#include "fitwright/stats/distributions.h"

#include <algorithm>
#include <cmath>

#include "fitwright/base/check.h"
#include "fitwright/stats/normal.h"

namespace fitwright::stats {
namespace {

constexpr double kPi = 3.14159265358979323846;
constexpr double kLn2 = 0.69314718055994530942;

double EventQuantile(const Distribution& d, double p) {
  const double below = 1 - d.chance;
  if (p <= below || d.chance <= 0) return 0;
  return d.a + (d.b - d.a) * (p - below) / d.chance;
}

Cumulants EventCumulants(const Distribution& d) {
  const double a = d.a;
  const double b = d.b;
  const double m1 = d.chance * (a + b) / 2;
  const double m2 = d.chance * (a * a + a * b + b * b) / 3;
  const double m3 = d.chance * (a + b) * (a * a + b * b) / 4;
  const double m4 =
      d.chance * (std::pow(a, 4) + a * a * a * b + a * a * b * b + a * b * b * b + std::pow(b, 4)) /
      5;
  Cumulants c;
  c.mean = m1;
  c.variance = m2 - m1 * m1;
  c.third = m3 - 3 * m2 * m1 + 2 * m1 * m1 * m1;
  c.fourth = m4 - 4 * m3 * m1 - 3 * m2 * m2 + 12 * m2 * m1 * m1 - 6 * m1 * m1 * m1 * m1;
  return c;
}

Cumulants LognormalCumulants(double median, double sigma_log) {
  const double w = std::exp(sigma_log * sigma_log);
  const double step = std::expm1(sigma_log * sigma_log);
  Cumulants c;
  c.mean = median * std::sqrt(w);
  c.variance = median * median * w * step;
  c.third = std::pow(median, 3) * std::pow(w, 1.5) * step * step * (w + 2);
  c.fourth = std::pow(median, 4) * w * w * step * step * step * (w * w * w + 3 * w * w + 6 * w + 6);
  return c;
}

Cumulants RayleighCumulants(double sigma) {
  Cumulants c;
  c.mean = sigma * std::sqrt(kPi / 2);
  c.variance = sigma * sigma * (2 - kPi / 2);
  c.third = std::pow(sigma, 3) * std::sqrt(kPi / 2) * (kPi - 3);
  c.fourth = -std::pow(sigma, 4) * (6 * kPi * kPi - 24 * kPi + 16) / 4;
  return c;
}

Cumulants HalfNormalCumulants(double start, double sigma) {
  Cumulants c;
  c.mean = start + sigma * std::sqrt(2 / kPi);
  c.variance = sigma * sigma * (1 - 2 / kPi);
  c.third = std::pow(sigma, 3) * std::sqrt(2.0) * (4 - kPi) / std::pow(kPi, 1.5);
  c.fourth = std::pow(sigma, 4) * 8 * (kPi - 3) / (kPi * kPi);
  return c;
}

// Cumulants of a uniform of half-width h about its middle.
Cumulants UniformCumulants(double middle, double h) {
  return {middle, h * h / 3, 0, -2 * h * h * h * h / 15};
}

}  // namespace

Cumulants operator+(const Cumulants& a, const Cumulants& b) {
  return {a.mean + b.mean, a.variance + b.variance, a.third + b.third, a.fourth + b.fourth};
}

Cumulants Scaled(const Cumulants& c, double factor) {
  const double square = factor * factor;
  return {c.mean * factor, c.variance * square, c.third * square * factor,
          c.fourth * square * square};
}

Cumulants Shifted(const Cumulants& c, double by) {
  return {c.mean + by, c.variance, c.third, c.fourth};
}

Distribution MakeFixed(double value) { return {DistributionKind::kFixed, value, 0, 0}; }
Distribution MakeNormal(double mean, double sigma) {
  return {DistributionKind::kNormal, mean, sigma, 0};
}
Distribution MakeHalfNormal(double start, double sigma) {
  return {DistributionKind::kHalfNormal, start, sigma, 0};
}
Distribution MakeUniform(double middle, double half_width) {
  return {DistributionKind::kUniform, middle, half_width, 0};
}
Distribution MakeOneSidedUniform(double start, double length) {
  return {DistributionKind::kOneSidedUniform, start, length, 0};
}
Distribution MakeLognormal(double median, double sigma_log) {
  return {DistributionKind::kLognormal, median, sigma_log, 0};
}
Distribution MakeRayleigh(double median) { return {DistributionKind::kRayleigh, median, 0, 0}; }
Distribution MakeEvent(double chance, double low, double high) {
  FW_CHECK(chance >= 0 && chance <= 1 && low >= 0 && low <= high, chance, low, high);
  return {DistributionKind::kEvent, low, high, chance};
}

double Quantile(const Distribution& d, double p) {
  switch (d.kind) {
    case DistributionKind::kFixed:
      return d.a;
    case DistributionKind::kNormal:
      return d.a + d.b * InverseNormal(p);
    case DistributionKind::kHalfNormal:
      return d.a - d.b * InverseNormal(0.5 * (1 - p));
    case DistributionKind::kUniform:
      return d.a + d.b * (2 * p - 1);
    case DistributionKind::kOneSidedUniform:
      return d.a + d.b * p;
    case DistributionKind::kLognormal:
      return d.a * std::exp(d.b * InverseNormal(p));
    case DistributionKind::kRayleigh:
      return RayleighSigma(d.a) * std::sqrt(-2 * std::log1p(-p));
    case DistributionKind::kEvent:
      return EventQuantile(d, p);
  }
  FailCheck("known distribution", __FILE__, __LINE__, std::to_string(static_cast<int>(d.kind)));
}

double QuantileOfScore(const Distribution& d, double z) {
  switch (d.kind) {
    case DistributionKind::kNormal:
      return d.a + d.b * z;
    case DistributionKind::kLognormal:
      return d.a * std::exp(d.b * z);
    case DistributionKind::kHalfNormal:
      return d.a - d.b * InverseNormal(0.5 * NormalCdf(-z));
    case DistributionKind::kRayleigh:
      return RayleighSigma(d.a) * std::sqrt(-2 * std::log(NormalCdf(-z)));
    default:
      return Quantile(d, NormalCdf(z));
  }
}

Cumulants CumulantsOf(const Distribution& d) {
  switch (d.kind) {
    case DistributionKind::kFixed:
      return {d.a, 0, 0, 0};
    case DistributionKind::kNormal:
      return {d.a, d.b * d.b, 0, 0};
    case DistributionKind::kHalfNormal:
      return HalfNormalCumulants(d.a, d.b);
    case DistributionKind::kUniform:
      return UniformCumulants(d.a, d.b);
    case DistributionKind::kOneSidedUniform:
      return UniformCumulants(d.a + d.b / 2, d.b / 2);
    case DistributionKind::kLognormal:
      return LognormalCumulants(d.a, d.b);
    case DistributionKind::kRayleigh:
      return RayleighCumulants(RayleighSigma(d.a));
    case DistributionKind::kEvent:
      return EventCumulants(d);
  }
  FailCheck("known distribution", __FILE__, __LINE__, std::to_string(static_cast<int>(d.kind)));
}

double Draw(const Distribution& d, std::uint64_t key, std::uint64_t index, std::uint32_t lane) {
  return Quantile(d, Uniform(key, index, lane));
}

double RayleighSigma(double median) { return median / std::sqrt(2 * kLn2); }

Pair DrawVector(double median, std::uint64_t key, std::uint64_t index, std::uint32_t lane) {
  const Pair normal = NormalPair(key, index, lane);
  const double sigma = RayleighSigma(median);
  return {sigma * normal.first, sigma * normal.second};
}

Pair DrawDirection(std::uint64_t key, std::uint64_t index, std::uint32_t lane) {
  const double angle_rad = 2 * kPi * Uniform(key, index, lane);
  return {std::cos(angle_rad), std::sin(angle_rad)};
}

double CdfFromCumulants(const Cumulants& c, double x) {
  if (!(c.variance > 0)) return x >= c.mean ? 1.0 : 0.0;
  const double sigma = std::sqrt(c.variance);
  const double z = (x - c.mean) / sigma;
  const double skewness = c.third / (c.variance * sigma);
  const double excess = c.fourth / (c.variance * c.variance);
  const double h2 = z * z - 1;
  const double h3 = z * (z * z - 3);
  const double h5 = z * (z * z * z * z - 10 * z * z + 15);
  const double series = skewness / 6 * h2 + excess / 24 * h3 + skewness * skewness / 72 * h5;
  return std::clamp(NormalCdf(z) - NormalDensity(z) * series, 0.0, 1.0);
}

}  // namespace fitwright::stats
