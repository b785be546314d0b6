// The last cut of a size worked to its reading.
//
// Cut, measure, cut again: the cut aims from the reading before, whose error r_k it carries; a
// reading on the side that may be cut again sends the piece back, and that reading's error is the
// next r. Which r led to the last cut is not independent of its having been the last but one, so
// the density of the size before its own last reading is summed over the number of cuts.
#include <array>
#include <cmath>
#include <vector>

#include "fitwright/rework/observation.h"
#include "fitwright/stats/normal.h"
#include "fitwright/variation/source_laws.h"

namespace fitwright::rework {
namespace {

constexpr int kMostCuts = 8;
constexpr int kErrors = 61;  // grid of a reading's error, to six sigma
constexpr int kSizes = 161;  // grid of the size
constexpr double kReach = 6;

using Errors = std::array<double, kErrors>;
using Sizes = std::array<double, kSizes>;

double Density(double x, double sigma) { return stats::NormalDensity(x / sigma) / sigma; }

class WorkedGrid {
 public:
  WorkedGrid(const variation::WorkedSize& worked, double cut, double reading)
      : worked_(worked), reading_(reading) {
    const double wide = kReach * std::hypot(cut, reading);
    for (int i = 0; i < kErrors; ++i)
      error_[At(i)] = kReach * reading * (2.0 * i / (kErrors - 1) - 1);
    for (int j = 0; j < kSizes; ++j) size_[At(j)] = wide * (2.0 * j / (kSizes - 1) - 1);
    for (int i = 0; i < kErrors; ++i) {
      for (int j = 0; j < kSizes; ++j)
        from_[At(i)][At(j)] = Density(size_[At(j)] + error_[At(i)], cut);
    }
  }

  // Of the size at its last cut, not normed.
  Sizes DensityOfSize() const {
    Errors carried;
    for (int i = 0; i < kErrors; ++i) carried[At(i)] = Density(error_[At(i)], reading_);
    Sizes sum{};
    for (int cut = 0; cut <= kMostCuts; ++cut) {
      Sizes now{};
      for (int i = 0; i < kErrors; ++i) {
        for (int j = 0; j < kSizes; ++j) now[At(j)] += carried[At(i)] * from_[At(i)][At(j)];
      }
      for (int j = 0; j < kSizes; ++j) sum[At(j)] += now[At(j)];
      carried = SentBack(now);
    }
    return sum;
  }
  double size(int j) const { return size_[At(j)]; }

 private:
  static std::size_t At(int i) { return static_cast<std::size_t>(i); }

  // The errors of readings that send a piece of these sizes back.
  Errors SentBack(const Sizes& sizes) const {
    Errors next{};
    const double step_error = error_[1] - error_[0];
    const double step_size = size_[1] - size_[0];
    for (int i = 0; i < kErrors; ++i) {
      double spare = 0;
      for (int j = 0; j < kSizes; ++j) {
        const double seen = size_[At(j)] + error_[At(i)];
        const bool back = worked_.safe_sign > 0 ? seen > worked_.high : seen < worked_.low;
        if (back) spare += sizes[At(j)];
      }
      next[At(i)] = Density(error_[At(i)], reading_) * spare * step_error * step_size;
    }
    return next;
  }

  const variation::WorkedSize& worked_;
  double reading_;
  Errors error_{};
  Sizes size_{};
  std::array<Sizes, kErrors> from_{};
};

}  // namespace

WorkedPrior PriorOfWorked(const variation::WorkedSize& worked, double unit,
                          const variation::Figures& figures, double seen) {
  const double reading = figures[variation::Place(worked.reading)].spread;
  const double last = variation::kLastCutShare * unit * figures[variation::Place(worked.cut)].spread;
  const double cut = std::sqrt(std::max(0.0, last * last - reading * reading));
  const WorkedPrior plain{0, cut * cut + reading * reading};
  if (cut < 0.05 * reading || reading <= 0) return plain;
  const WorkedGrid grid(worked, cut, reading);
  const Sizes density = grid.DensityOfSize();
  double weight = 0;
  double sum = 0;
  double squares = 0;
  for (int j = 0; j < kSizes; ++j) {
    const double w = density[static_cast<std::size_t>(j)] * Density(seen - grid.size(j), reading);
    weight += w;
    sum += w * grid.size(j);
    squares += w * grid.size(j) * grid.size(j);
  }
  if (weight < 1e-200) return plain;  // further out than the grid
  const double mean = sum / weight;
  const double variance = squares / weight - mean * mean;
  const double own = 1 / variance - 1 / (reading * reading);
  if (!(own > 1e-6 / (reading * reading))) return plain;
  return {(mean / variance - seen / (reading * reading)) / own, 1 / own};
}

}  // namespace fitwright::rework
