// Normals placed where failure is, to draw from instead of the standard normals themselves.
#pragma once

#include <Eigen/Core>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace fitwright::stats {

// Failing points that were drawn from a mixture, and how much each counts: standard density by the
// mixture's. Sum of `weights` / drawn is the chance of failure.
struct WeighedHits {
  Eigen::MatrixXd places;  // active numbers, a hit a column
  Eigen::VectorXd weights;
  std::int64_t drawn = 0;
};

// A share of plain standard normals, the rest about places in a few active directions; every other
// direction stays standard normal. Each place is a normal fitted to the failures about it and,
// three in ten, a standard one there, so that no failure near it counts for much more than others.
class FailureMixture {
 public:
  // Places for failing points (a column each) spread as in FindFailingPoints. `slopes`: of the
  // margin, of length 1, a column each; may have none.
  FailureMixture(const Eigen::MatrixXd& failing, const Eigen::MatrixXd& slopes);

  // A further place, where failure is known and the mixture has little there; else nothing.
  void AddIfBare(const Eigen::VectorXd& failing);
  // Shares, middles and shapes after what was drawn from it; new places for hits that weigh more
  // than all others together should.
  void Learn(const WeighedHits& hits);

  std::size_t dimensions() const { return static_cast<std::size_t>(basis_.rows()); }
  std::size_t places() const { return places_.size(); }
  Eigen::VectorXd Middle(std::size_t place) const { return basis_ * places_[place].middle; }
  // A point, a function of (key, index) alone.
  Eigen::VectorXd Draw(std::uint64_t key, std::uint64_t index) const;
  Eigen::VectorXd Active(const Eigen::VectorXd& point) const { return basis_.transpose() * point; }
  // Density of standard normals by that of the mixture at each column; at most 1 / kPlainShare.
  Eigen::VectorXd Weights(const Eigen::MatrixXd& active) const;

  static constexpr Eigen::Index kAllActive = 12;  // so many dimensions are all taken as active
  static constexpr double kPlainShare = 0.05;
  static constexpr double kRoundShare = 0.3;

 private:
  struct Place {
    double share = 0;        // of those of all places
    Eigen::VectorXd middle;  // active numbers
    Eigen::MatrixXd lower;   // Cholesky factor of the fitted shape
    double log_size = 0;     // of its determinant
  };
  Place RoundPlace(const Eigen::VectorXd& middle) const;
  void SetShape(Place& place, const Eigen::MatrixXd& covariance) const;
  Eigen::MatrixXd Densities(const Eigen::MatrixXd& active) const;
  void Group(const Eigen::MatrixXd& active);
  void GroupOnce(const Eigen::MatrixXd& active);
  void DropSame();
  void LearnPlace(std::size_t k, const WeighedHits& hits, const Eigen::VectorXd& part);

  Eigen::MatrixXd basis_;  // active directions, columns of length 1 square on each other
  std::vector<Place> places_;
};

}  // namespace fitwright::stats
