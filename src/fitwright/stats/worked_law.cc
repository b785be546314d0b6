#include "fitwright/stats/worked_law.h"

#include <algorithm>
#include <cmath>

#include "fitwright/stats/normal.h"

namespace fitwright::stats {
namespace {

constexpr double kReach = 7;  // sigma to each side
constexpr double kStepsToASpread = 3;
constexpr double kFewestPoints = 181;
constexpr double kMostPoints = 1201;
constexpr double kNoMore = 1e-9;      // chance that it is still to be cut again
constexpr double kLeastShare = 0.03;  // of the other spread: narrower ones are taken as wide

struct Grid {
  double first = 0;
  double step = 0;
  std::vector<double> weights;
  double At(std::size_t i) const { return first + step * static_cast<double>(i); }
};

Grid EvenGrid(double sigma, double narrowest) {
  const double points = std::clamp(std::ceil(2 * kReach * sigma / (narrowest / kStepsToASpread)),
                                   kFewestPoints, kMostPoints);
  Grid grid;
  grid.step = 2 * kReach * sigma / (points - 1);
  grid.first = -kReach * sigma;
  grid.weights.resize(static_cast<std::size_t>(points));
  return grid;
}

// Makes the weights' sum 1 and returns what it was.
double Normalise(std::vector<double>& weights) {
  double sum = 0;
  for (const double w : weights) sum += w;
  if (sum > 0) {
    for (double& w : weights) w /= sum;
  }
  return sum;
}

// The size cut by aiming from a reading whose error is of `before`.
void Cut(const Grid& before, double cut, Grid& size) {
  for (std::size_t i = 0; i < size.weights.size(); ++i) {
    double sum = 0;
    for (std::size_t k = 0; k < before.weights.size(); ++k)
      sum += before.weights[k] * NormalDensity((size.At(i) + before.At(k)) / cut);
    size.weights[i] = sum;
  }
  Normalise(size.weights);
}

// Chance that the size lies above x, between its points linear.
class Above {
 public:
  explicit Above(const Grid& size) : size_(size), above_(size.weights.size() + 1) {
    for (std::size_t i = size.weights.size(); i-- > 0;) above_[i] = above_[i + 1] + size.weights[i];
  }
  double operator()(double x) const {
    const double place = (x - size_.first) / size_.step + 0.5;
    if (place <= 0) return 1;
    const auto i = static_cast<std::size_t>(place);
    if (i + 1 >= above_.size()) return 0;
    const double share = place - static_cast<double>(i);
    return (1 - share) * above_[i] + share * above_[i + 1];
  }

 private:
  const Grid& size_;
  std::vector<double> above_;
};

}  // namespace

LawPoints LawOfWorked(const WorkedDraw& worked) {
  if (worked.cut == 0 && worked.reading == 0) return {{0}, {1}};
  // Seen from the side that can be cut again being the upper one.
  const double sign = worked.safe_sign > 0 ? 1 : -1;
  const double high = sign > 0 ? worked.high : -worked.low;
  const double cut = std::max(worked.cut, kLeastShare * worked.reading);
  const double reading = std::max(worked.reading, kLeastShare * worked.cut);
  Grid error = EvenGrid(reading, cut);
  std::vector<double> plain(error.weights.size());
  for (std::size_t k = 0; k < plain.size(); ++k) plain[k] = NormalDensity(error.At(k) / reading);
  error.weights = plain;
  Normalise(error.weights);
  Grid size = EvenGrid(std::hypot(cut, reading), std::min(cut, reading));
  std::vector<double> kept(size.weights.size());
  double left = 1;
  for (int again = 0; left > kNoMore; ++again) {
    Cut(error, cut, size);
    const bool last = again == kMostRecuts;
    for (std::size_t i = 0; i < kept.size(); ++i)
      kept[i] += left * size.weights[i] * (last ? 1 : NormalCdf((high - size.At(i)) / reading));
    if (last) break;
    const Above above(size);
    double all = 0;
    for (std::size_t k = 0; k < plain.size(); ++k) {
      all += plain[k];
      error.weights[k] = plain[k] * above(high - error.At(k));
    }
    left *= Normalise(error.weights) / all;
  }
  Normalise(kept);
  LawPoints law;
  law.weights = std::move(kept);
  for (std::size_t i = 0; i < law.weights.size(); ++i) law.values.push_back(sign * size.At(i));
  return law;
}

}  // namespace fitwright::stats
