// Points at which a margin fails, spread as independent standard normals fall there.
#pragma once

#include <Eigen/Core>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>

namespace fitwright::stats {

// Of independent standard normals; below 0 is a failure. Finite for every argument up to 9 sigma.
using Margin = std::function<double(std::span<const double>)>;

// A margin that counts how often it was asked.
class CountedMargin {
 public:
  explicit CountedMargin(const Margin& margin) : margin_(margin) {}
  double operator()(const Eigen::VectorXd& u) {
    ++evaluations_;
    return margin_({u.data(), static_cast<std::size_t>(u.size())});
  }
  std::int64_t evaluations() const { return evaluations_; }

 private:
  const Margin& margin_;
  std::int64_t evaluations_ = 0;
};

// n independent standard normals, a function of (key, index) alone.
Eigen::VectorXd NormalsOf(std::uint64_t key, std::uint64_t index, std::size_t n);

struct FailingPoints {
  Eigen::MatrixXd points;  // a point a column; none where the levels end before failure
  double chance = 0;       // of failure, rough: within a factor of two as a rule
  std::int64_t plain = 0;  // points that were drawn plainly, at first
};

// By levels: of `count` points the tenth with the least margins are kept, and chains from them fill
// the next level, until a tenth fails (subset simulation: Au and Beck, Probabilistic Engineering
// Mechanics 16, 2001; steps: Papaioannou, Betz, Zwirglmaier, Straub, the same 41, 2015). `count` is
// a multiple of 100. Ends, without points, where margins no longer fall or `evaluations` are used.
FailingPoints FindFailingPoints(CountedMargin& margin, std::size_t dimensions, std::uint64_t key,
                                std::int64_t count, std::int64_t evaluations);

// Slopes of the margin at columns, by differences, of length 1; flat places are left out.
Eigen::MatrixXd SlopesAt(CountedMargin& margin, const Eigen::MatrixXd& points);

// How far along a direction of length 1 the failure nearest to the middle is, sigma; infinity where
// none is met by `farthest`. Looked for every 0.35 sigma.
double NearestFailure(CountedMargin& margin, const Eigen::VectorXd& direction, double farthest);

}  // namespace fitwright::stats
