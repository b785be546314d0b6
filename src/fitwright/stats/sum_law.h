// The law of a sum of independent terms, exact through its characteristic function.
#pragma once

#include <complex>
#include <functional>
#include <span>
#include <vector>

namespace fitwright::stats {

// E exp(i t X).
using Characteristic = std::function<std::complex<double>(double t)>;

struct SumChance {
  double chance = 0;
  double error = 0;  // what was left out: at most about as much
};

class SumLaw {
 public:
  void AddFixed(double value);
  void AddNormal(double mean, double sigma);
  void AddHalfNormal(double scale);  // scale * |N|; scale may be negative
  void AddUniform(double low, double high);
  void AddEvent(double chance, double low, double high);  // else 0
  // Values with their weights, which sum to 1: a density on a fine even grid, or an average over
  // some other number.
  void AddPoints(std::vector<double> values, std::vector<double> weights);
  // Any term, with its mean and variance.
  void Add(double mean, double variance, Characteristic characteristic);

  double mean() const { return mean_; }
  double variance() const { return variance_; }

  // Chance that the sum lies within low .. high, either of which may be infinite (beyond 1e299).
  // Gil-Pelaez' inversion by Davies' sum (Biometrika 60, 1973): its step puts the sum's images 14
  // sigma and more apart, its end is where the characteristic function is below 1e-12 or after 4096
  // terms. A sum that does not vary is a step. Deterministic; cost: terms times laws added, 20 to
  // 100 terms where a tenth of the variance is normal.
  SumChance Within(double low, double high) const;
  // Density at each of these places, by the same sum; none where nothing varies.
  std::vector<double> Densities(std::span<const double> at) const;

 private:
  std::complex<double> At(double t) const;
  double Step(double furthest) const;

  double mean_ = 0;
  double variance_ = 0;
  double fixed_ = 0;
  double normal_variance_ = 0;
  std::vector<Characteristic> laws_;
};

// Dawson's integral exp(-x^2) * integral of exp(y^2) from 0 to x; absolute error under 1e-12.
double DawsonIntegral(double x);

}  // namespace fitwright::stats
