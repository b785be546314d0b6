#include "fitwright/rework/spread_learning.h"

#include <algorithm>
#include <cmath>

#include "fitwright/stats/normal.h"

namespace fitwright::rework {
namespace {

constexpr int kGrid = 801;
constexpr double kEnds = 8;  // the grid's ends, times and parts of the prior's figure
constexpr double kMostReadings = 400;
constexpr double kLeastReadings = 1;

// Of the figure's logarithm, up to a constant: scaled inverse chi-square of its square.
double LogPrior(const SpreadPrior& prior, double figure) {
  const double square = prior.figure * prior.figure / (figure * figure);
  return -0.5 * prior.readings * (square - std::log(square));
}

double LogOf(const Deviation& d, double figure) {
  const double sigma = std::hypot(d.share * figure, d.rest);
  const double z = d.off / sigma;
  const double kept =
      stats::NormalCdf(d.sent_back_above / sigma) - stats::NormalCdf(d.sent_back_below / sigma);
  return -0.5 * z * z - std::log(sigma) - std::log(std::max(kept, 1e-12));
}

struct Grid {
  std::vector<double> figures;
  std::vector<double> weights;  // sum 1

  double Quantile(double p) const {
    double sum = 0;
    for (std::size_t i = 0; i < figures.size(); ++i) {
      if (sum + weights[i] >= p) {
        if (i == 0) return figures[0];
        const double share = (p - sum) / weights[i];
        return figures[i - 1] * std::pow(figures[i] / figures[i - 1], share);
      }
      sum += weights[i];
    }
    return figures.back();
  }
  // Of 1 / figure^2: the square that the conjugate update has.
  double MeanInverseSquare() const {
    double sum = 0;
    for (std::size_t i = 0; i < figures.size(); ++i) sum += weights[i] / (figures[i] * figures[i]);
    return sum;
  }
};

Grid MakeGrid(const SpreadPrior& prior, const std::vector<Deviation>& deviations) {
  Grid grid;
  std::vector<double> logs;
  for (int i = 0; i < kGrid; ++i) {
    const double figure = prior.figure * std::pow(kEnds, 2.0 * i / (kGrid - 1) - 1);
    double log = LogPrior(prior, figure);
    for (const Deviation& d : deviations) log += LogOf(d, figure);
    grid.figures.push_back(figure);
    logs.push_back(log);
  }
  const double most = *std::max_element(logs.begin(), logs.end());
  double sum = 0;
  for (const double log : logs) {
    grid.weights.push_back(std::exp(log - most));
    sum += grid.weights.back();
  }
  for (double& w : grid.weights) w /= sum;
  return grid;
}

}  // namespace

SpreadPrior PriorOf(double figure, double low, double high) {
  const double sigma = low > 0 && high > low ? std::log(high / low) / std::sqrt(12.0) : 0;
  // The logarithm of a figure known by n readings has a sigma of about 1 / sqrt(2 n).
  const double readings = sigma > 0 ? 1 / (2 * sigma * sigma) : kMostReadings;
  return {figure, std::clamp(readings, kLeastReadings, kMostReadings)};
}

LearnedFigure Learn(const SpreadPrior& prior, const std::vector<Deviation>& deviations) {
  LearnedFigure out;
  out.prior = prior;
  out.readings = static_cast<int>(deviations.size());
  const Grid before = MakeGrid(prior, {});
  out.prior_low = before.Quantile(0.025);
  out.prior_high = before.Quantile(0.975);
  const Grid after = MakeGrid(prior, deviations);
  out.figure = 1 / std::sqrt(after.MeanInverseSquare());
  out.low = after.Quantile(0.025);
  out.high = after.Quantile(0.975);
  return out;
}

Drift FindDrift(const std::vector<double>& z) {
  Drift drift;
  const auto n = static_cast<double>(z.size());
  if (z.size() < kLeastForDrift) return drift;
  double mean = 0;
  for (const double v : z) mean += v / n;
  double slope = 0;
  double spread = 0;
  for (std::size_t i = 0; i < z.size(); ++i) {
    const double t = static_cast<double>(i) - 0.5 * (n - 1);
    slope += t * z[i];
    spread += t * t;
  }
  slope /= spread;
  const double by_mean = std::abs(mean) * std::sqrt(n);
  const double by_slope = std::abs(slope) * std::sqrt(spread);
  drift.mean = mean;
  drift.per_reading = slope;
  drift.walks = by_slope > by_mean;
  drift.chance = std::min(1.0, 4 * stats::NormalCdf(-std::max(by_mean, by_slope)));
  return drift;
}

}  // namespace fitwright::rework
