#include "fitwright/stats/sum_law.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "fitwright/base/check.h"

namespace fitwright::stats {
namespace {

constexpr double kPi = 3.14159265358979323846;
constexpr double kNoLimit = 1e299;
constexpr double kApart = 14;     // sigma between the sum and its images
constexpr double kSmall = 1e-12;  // of the characteristic function: the sum ends
constexpr int kSmallInARow = 4;   // one alone may be a zero of a uniform's
constexpr int kMostTerms = 4096;
constexpr double kSameValue = 1e-12;  // of limits, where nothing varies

double Sinc(double x) { return std::abs(x) < 1e-6 ? 1 - x * x / 6 : std::sin(x) / x; }

std::complex<double> Turn(double angle) { return {std::cos(angle), std::sin(angle)}; }

}  // namespace

// Rybicki's series (Numerical Recipes' chapter 6.10 has its proof): odd places a step of 0.2 apart,
// whose error falls as exp(-(pi / 0.4)^2).
double DawsonIntegral(double x) {
  constexpr double kStep = 0.2;
  constexpr int kTerms = 15;
  static const auto kWeights = [] {
    std::array<double, kTerms> weights{};
    for (int i = 0; i < kTerms; ++i) {
      const double place = (2 * i + 1) * kStep;
      weights[static_cast<std::size_t>(i)] = std::exp(-place * place);
    }
    return weights;
  }();
  const double size = std::abs(x);
  if (size < 0.2) {
    const double square = x * x;
    return x * (1 - 2.0 / 3 * square *
                        (1 - 0.4 * square *
                                 (1 - 2.0 / 7 * square *
                                          (1 - 2.0 / 9 * square * (1 - 2.0 / 11 * square)))));
  }
  const double middle = 2 * std::floor(0.5 * size / kStep + 0.5);
  const double rest = size - middle * kStep;
  double up = std::exp(2 * rest * kStep);
  const double square = up * up;
  double above = middle + 1;
  double below = above - 2;
  double sum = 0;
  for (const double weight : kWeights) {
    sum += weight * (up / above + 1 / (below * up));
    above += 2;
    below -= 2;
    up *= square;
  }
  return std::copysign(std::exp(-rest * rest), x) * sum / std::sqrt(kPi);
}

void SumLaw::AddFixed(double value) {
  mean_ += value;
  fixed_ += value;
}

void SumLaw::AddNormal(double mean, double sigma) {
  AddFixed(mean);
  variance_ += sigma * sigma;
  normal_variance_ += sigma * sigma;
}

void SumLaw::Add(double mean, double variance, Characteristic characteristic) {
  mean_ += mean;
  variance_ += variance;
  laws_.push_back(std::move(characteristic));
}

void SumLaw::AddHalfNormal(double scale) {
  if (scale == 0) return;
  Add(std::sqrt(2 / kPi) * scale, (1 - 2 / kPi) * scale * scale, [scale](double t) {
    const double a = scale * t / std::sqrt(2.0);
    return std::complex<double>(std::exp(-a * a), 2 / std::sqrt(kPi) * DawsonIntegral(a));
  });
}

void SumLaw::AddUniform(double low, double high) {
  const double middle = 0.5 * (low + high);
  const double half = 0.5 * (high - low);
  if (half == 0) return AddFixed(middle);
  Add(middle, half * half / 3, [=](double t) { return Sinc(half * t) * Turn(middle * t); });
}

void SumLaw::AddEvent(double chance, double low, double high) {
  if (chance == 0) return;
  const double middle = 0.5 * (low + high);
  const double half = 0.5 * (high - low);
  const double mean = chance * middle;
  Add(mean, chance * (middle * middle + half * half / 3) - mean * mean,
      [=](double t) { return 1 - chance + chance * Sinc(half * t) * Turn(middle * t); });
}

void SumLaw::AddPoints(std::vector<double> values, std::vector<double> weights) {
  FW_CHECK(values.size() == weights.size() && !values.empty(), values.size(), weights.size());
  double mean = 0;
  double square = 0;
  for (std::size_t i = 0; i < values.size(); ++i) {
    mean += weights[i] * values[i];
    square += weights[i] * values[i] * values[i];
  }
  Add(mean, std::max(0.0, square - mean * mean),
      [values = std::move(values), weights = std::move(weights)](double t) {
        std::complex<double> sum = 0;
        for (std::size_t i = 0; i < values.size(); ++i) sum += weights[i] * Turn(values[i] * t);
        return sum;
      });
}

// Of the sum less its mean.
std::complex<double> SumLaw::At(double t) const {
  std::complex<double> product =
      std::exp(-0.5 * normal_variance_ * t * t) * Turn((fixed_ - mean_) * t);
  for (const Characteristic& law : laws_) {
    if (std::abs(product.real()) + std::abs(product.imag()) < kSmall) return 0;
    product *= law(t);
  }
  return product;
}

double SumLaw::Step(double furthest) const {
  return 2 * kPi / (furthest + kApart * std::sqrt(variance_));
}

SumChance SumLaw::Within(double low, double high) const {
  const bool has_low = low > -kNoLimit;
  const bool has_high = high < kNoLimit;
  if (low > high) return {};
  if (variance_ <= 0) {
    const double slack = kSameValue * std::max(1.0, std::abs(mean_));
    return {mean_ >= low - slack && mean_ <= high + slack ? 1.0 : 0.0, 0};
  }
  low -= mean_;
  high -= mean_;
  const double h = Step(std::max(has_low ? std::abs(low) : 0, has_high ? std::abs(high) : 0));
  // What is left out where terms fall as 1 / t or faster, from the largest of the last.
  std::array<double, kSmallInARow> late{};
  // Sums of P(X <= limit) - 1/2.
  double below_high = 0;
  double below_low = 0;
  for (int j = 0, small = 0; j < kMostTerms && small < kSmallInARow; ++j) {
    const double place = j + 0.5;
    const double t = place * h;
    const std::complex<double> at = At(t);
    late[static_cast<std::size_t>(j % kSmallInARow)] = std::abs(at) / kPi;
    small = std::abs(at) < kSmall ? small + 1 : 0;
    if (has_high) below_high -= (at * Turn(-t * high)).imag() / (kPi * place);
    if (has_low) below_low -= (at * Turn(-t * low)).imag() / (kPi * place);
  }
  const double chance = (has_high ? 0.5 + below_high : 1) - (has_low ? 0.5 + below_low : 0);
  return {std::clamp(chance, 0.0, 1.0), *std::max_element(late.begin(), late.end())};
}

std::vector<double> SumLaw::Densities(std::span<const double> at) const {
  if (variance_ <= 0) return {};
  double furthest = 0;
  for (const double x : at) furthest = std::max(furthest, std::abs(x - mean_));
  const double h = Step(furthest);
  std::vector<double> densities(at.size());
  for (int j = 0, small = 0; j < kMostTerms && small < kSmallInARow; ++j) {
    const double t = (j + 0.5) * h;
    const std::complex<double> value = At(t);
    small = std::abs(value) < kSmall ? small + 1 : 0;
    for (std::size_t i = 0; i < at.size(); ++i)
      densities[i] += (value * Turn(-t * (at[i] - mean_))).real() * h / kPi;
  }
  for (double& d : densities) d = std::max(0.0, d);
  return densities;
}

}  // namespace fitwright::stats
