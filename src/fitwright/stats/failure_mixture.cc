#include "fitwright/stats/failure_mixture.h"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <Eigen/SVD>
#include <algorithm>
#include <cmath>
#include <limits>

#include "fitwright/base/check.h"
#include "fitwright/stats/failing_points.h"
#include "fitwright/stats/random.h"

namespace fitwright::stats {
namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr Index kMostActive = 16;
constexpr double kLeastSlope = 0.15;  // of the greatest singular value
constexpr double kChains = 20;        // points of chains say so much less than independent ones
constexpr std::size_t kMostPlaces = 64;
constexpr std::size_t kFirstPlaces = 32;
constexpr Index kGrouped = 500;  // points, about
constexpr int kGroupings = 25;
constexpr double kSamePlace = 0.5;    // sigma
constexpr double kLeastShare = 0.15;  // of the shares is spread evenly
constexpr double kBare = 8;           // times the mean weight
constexpr double kHeavy = 0.02;       // of all weights on one hit
constexpr double kShapeWider = 1.3;  // variance of fitted shapes, so that their rims are not missed
constexpr double kMiddleKeeps = 4;   // hits that the old middle is worth

// Directions along which failing points lie further out than chance takes them: the slopes' own, by
// singular values, and of what is left the greatest moments.
MatrixXd ActiveDirections(const MatrixXd& failing, const MatrixXd& slopes) {
  const Index n = failing.rows();
  if (n <= FailureMixture::kAllActive) return MatrixXd::Identity(n, n);
  MatrixXd basis(n, 0);
  if (slopes.cols() > 0) {
    const Eigen::JacobiSVD<MatrixXd> parts(slopes, Eigen::ComputeThinU);
    const Eigen::ArrayXd sizes = parts.singularValues();
    basis = parts.matrixU().leftCols(
        std::min<Index>((sizes > kLeastSlope * sizes[0]).count(), kMostActive));
  }
  const MatrixXd rest = failing - basis * (basis.transpose() * failing);
  const auto count = static_cast<double>(failing.cols());
  const Eigen::SelfAdjointEigenSolver<MatrixXd> moments(rest * rest.transpose() / count);
  // The largest that plain normals show (Marchenko and Pastur).
  const double edge = std::pow(1 + std::sqrt(static_cast<double>(n) * kChains / count), 2);
  const Index above = (moments.eigenvalues().array() > edge).count();
  const Index more =
      std::clamp<Index>(above, basis.cols() == 0 ? 1 : 0, kMostActive - basis.cols());
  MatrixXd all(n, basis.cols() + more);
  all << basis, moments.eigenvectors().rightCols(more);
  return all;
}

// Columns far from each other, the first the nearest to the middle.
std::vector<Index> FarApart(const MatrixXd& points, std::size_t count) {
  std::vector<Index> chosen(1);
  points.colwise().squaredNorm().minCoeff(&chosen[0]);
  Eigen::RowVectorXd distance = (points.colwise() - points.col(chosen[0])).colwise().squaredNorm();
  while (chosen.size() < count) {
    Index next = 0;
    if (!(distance.maxCoeff(&next) > 1)) break;
    chosen.push_back(next);
    distance = distance.cwiseMin((points.colwise() - points.col(next)).colwise().squaredNorm());
  }
  return chosen;
}

}  // namespace

FailureMixture::FailureMixture(const MatrixXd& failing, const MatrixXd& slopes)
    : basis_(ActiveDirections(failing, slopes)) {
  FW_CHECK(failing.cols() > 0, failing.cols());
  const Index step = std::max<Index>(1, failing.cols() / kGrouped);
  MatrixXd some(failing.rows(), (failing.cols() + step - 1) / step);
  for (Index i = 0; i < some.cols(); ++i) some.col(i) = failing.col(i * step);
  Group(basis_.transpose() * some);
}

FailureMixture::Place FailureMixture::RoundPlace(const VectorXd& middle) const {
  Place place;
  place.middle = middle;
  SetShape(place, MatrixXd::Identity(basis_.cols(), basis_.cols()));
  return place;
}

void FailureMixture::SetShape(Place& place, const MatrixXd& covariance) const {
  place.lower = covariance.llt().matrixL();
  place.log_size = place.lower.diagonal().array().log().sum();
}

// Of each place (a row) by its share, at each column: by the standard density there.
MatrixXd FailureMixture::Densities(const MatrixXd& active) const {
  MatrixXd densities(static_cast<Index>(places_.size()), active.cols());
  const Eigen::RowVectorXd standard = 0.5 * active.colwise().squaredNorm();
  for (std::size_t k = 0; k < places_.size(); ++k) {
    const Place& place = places_[k];
    MatrixXd from = active.colwise() - place.middle;
    const Eigen::RowVectorXd round = standard - 0.5 * from.colwise().squaredNorm();
    place.lower.triangularView<Eigen::Lower>().solveInPlace(from);
    const Eigen::RowVectorXd fitted = standard - 0.5 * from.colwise().squaredNorm();
    densities.row(static_cast<Index>(k)) =
        place.share * (kRoundShare * round.array().exp() +
                       (1 - kRoundShare) * (fitted.array() - place.log_size).exp());
  }
  return densities;
}

VectorXd FailureMixture::Weights(const MatrixXd& active) const {
  return (kPlainShare + (1 - kPlainShare) * Densities(active).colwise().sum().array())
      .inverse()
      .transpose();
}

VectorXd FailureMixture::Draw(std::uint64_t key, std::uint64_t index) const {
  VectorXd point = NormalsOf(key, index, dimensions());
  const Pair chosen = UniformPair(StreamKey(key, 1), index);
  if (chosen.first < kPlainShare) return point;
  double left = (chosen.first - kPlainShare) / (1 - kPlainShare);
  std::size_t k = 0;
  while (k + 1 < places_.size() && left >= places_[k].share) left -= places_[k++].share;
  const VectorXd plain = Active(point);
  const VectorXd moved = chosen.second < kRoundShare
                             ? plain
                             : VectorXd(places_[k].lower.triangularView<Eigen::Lower>() * plain);
  point += basis_ * (places_[k].middle + moved - plain);
  return point;
}

// Normals of spread 1 fitted to the points (expectation and maximisation): failures of one place
// spread less than that, so that their middles run together and are then one.
void FailureMixture::Group(const MatrixXd& active) {
  for (const Index start : FarApart(active, kFirstPlaces)) {
    places_.push_back(RoundPlace(active.col(start)));
    places_.back().share = 1;
  }
  for (int k = 0; k < kGroupings; ++k) {
    GroupOnce(active);
    DropSame();
  }
  for (Place& place : places_) place.share = 1 / static_cast<double>(places_.size());
}

void FailureMixture::GroupOnce(const MatrixXd& active) {
  MatrixXd part(static_cast<Index>(places_.size()), active.cols());
  for (Index p = 0; p < part.rows(); ++p) {
    const Place& place = places_[static_cast<std::size_t>(p)];
    part.row(p) = (std::log(place.share) -
                   0.5 * (active.colwise() - place.middle).colwise().squaredNorm().array())
                      .matrix();
  }
  part = (part.rowwise() - part.colwise().maxCoeff().eval()).array().exp().matrix();
  part = (part.array().rowwise() / part.colwise().sum().eval().array()).matrix();
  for (Index p = 0; p < part.rows(); ++p) {
    Place& place = places_[static_cast<std::size_t>(p)];
    const double sum = part.row(p).sum();
    place.share = sum / static_cast<double>(active.cols());
    if (sum > 0) place.middle = active * part.row(p).transpose() / sum;
  }
  const double least = 1 / static_cast<double>(active.cols());
  std::erase_if(places_, [&](const Place& place) { return !(place.share >= least); });
}

// Of places at one spot the first is kept, with the shares of all.
void FailureMixture::DropSame() {
  std::vector<Place> apart;
  for (Place& place : places_) {
    const auto same = std::find_if(apart.begin(), apart.end(), [&](const Place& other) {
      return (other.middle - place.middle).norm() < kSamePlace;
    });
    if (same == apart.end()) {
      apart.push_back(std::move(place));
    } else {
      same->share += place.share;
    }
  }
  places_ = std::move(apart);
}

void FailureMixture::AddIfBare(const VectorXd& failing) {
  if (places_.size() >= kMostPlaces) return;
  const VectorXd active = Active(failing);
  if ((basis_ * active - failing).norm() > 0.5 * failing.norm()) return;
  double typical = 0;
  for (const Place& place : places_) typical += Weights(place.middle)[0] * place.share;
  if (Weights(active)[0] < kBare * typical) return;
  for (Place& place : places_) place.share *= 1 - 1 / static_cast<double>(places_.size() + 1);
  Place place = RoundPlace(active);
  place.share = 1 / static_cast<double>(places_.size() + 1);
  places_.push_back(place);
}

void FailureMixture::LearnPlace(std::size_t k, const WeighedHits& hits, const VectorXd& part) {
  Place& place = places_[k];
  const double sum = part.sum();
  if (!(sum > 0)) return;
  const double worth = sum * sum / part.squaredNorm();  // equal hits that say as much
  const VectorXd mean = hits.places * part / sum;
  place.middle = (worth * mean + kMiddleKeeps * place.middle) / (worth + kMiddleKeeps);
  const MatrixXd from = hits.places.colwise() - place.middle;
  const MatrixXd seen = kShapeWider * (from * part.asDiagonal() * from.transpose()) / sum;
  const auto r = static_cast<double>(basis_.cols());
  const MatrixXd round = MatrixXd::Identity(basis_.cols(), basis_.cols());
  SetShape(place, (worth * seen + (r + 2) * round) / (worth + r + 2));
}

void FailureMixture::Learn(const WeighedHits& hits) {
  const double sum = hits.weights.sum();
  if (!(sum > 0)) return;
  MatrixXd part = Densities(hits.places);  // of each hit's weight that is due to each place
  const Eigen::RowVectorXd all = part.colwise().sum().cwiseMax(std::numeric_limits<double>::min());
  part = part * hits.weights.cwiseQuotient(all.transpose()).asDiagonal();
  const double even = 1 / static_cast<double>(places_.size());
  for (std::size_t k = 0; k < places_.size(); ++k) {
    places_[k].share =
        (1 - kLeastShare) * part.row(static_cast<Index>(k)).sum() / sum + kLeastShare * even;
    LearnPlace(k, hits, part.row(static_cast<Index>(k)).transpose());
  }
  double shares = 0;
  for (const Place& place : places_) shares += place.share;
  for (Place& place : places_) place.share /= shares;
  for (Index h = 0; h < hits.places.cols(); ++h) {
    if (hits.weights[h] > kHeavy * sum) AddIfBare(basis_ * hits.places.col(h));
  }
}

}  // namespace fitwright::stats
