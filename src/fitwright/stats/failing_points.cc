#include "fitwright/stats/failing_points.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <vector>

#include "fitwright/base/check.h"
#include "fitwright/stats/random.h"

namespace fitwright::stats {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr std::int64_t kOneOf = 10;   // points of a level are kept
constexpr double kFirstStep = 0.6;    // of a chain, sigma
constexpr double kAccepted = 0.44;    // share of steps: steps are as long as that asks
constexpr double kLook = 0.35;        // along a direction, sigma
constexpr double kNearEnough = 1e-3;  // of a crossing, sigma

struct Level {
  MatrixXd points;
  VectorXd margins;
};

Level DrawPlainly(CountedMargin& margin, std::size_t n, std::uint64_t key, std::int64_t count) {
  Level level{MatrixXd(static_cast<Eigen::Index>(n), count), VectorXd(count)};
  for (Eigen::Index i = 0; i < count; ++i) {
    level.points.col(i) = NormalsOf(key, static_cast<std::uint64_t>(i), n);
    level.margins[i] = margin(level.points.col(i));
  }
  return level;
}

// Places of the points with the least margins, least first.
std::vector<Eigen::Index> Least(const VectorXd& margins, std::int64_t count) {
  std::vector<Eigen::Index> places(static_cast<std::size_t>(margins.size()));
  std::iota(places.begin(), places.end(), Eigen::Index{0});
  std::stable_sort(places.begin(), places.end(),
                   [&](Eigen::Index a, Eigen::Index b) { return margins[a] < margins[b]; });
  places.resize(static_cast<std::size_t>(count));
  return places;
}

// Chains of equal length (or one more) from the kept points, all below the bound, as many points as
// the level had. Groups of a tenth of the chains take steps of one length.
Level Walk(CountedMargin& margin, const Level& from, const std::vector<Eigen::Index>& kept,
           double bound, std::uint64_t key) {
  const Eigen::Index count = from.points.cols();
  const auto chains = static_cast<Eigen::Index>(kept.size());
  const Eigen::Index group = std::max<Eigen::Index>(1, chains / 10);
  Level level{MatrixXd(from.points.rows(), count), VectorXd(count)};
  double log_step = std::log(kFirstStep);
  Eigen::Index filled = 0;
  double taken = 0, tried = 0;
  for (Eigen::Index c = 0; c < chains; ++c) {
    VectorXd at = from.points.col(kept[static_cast<std::size_t>(c)]);
    double at_margin = from.margins[kept[static_cast<std::size_t>(c)]];
    const Eigen::Index length = count / chains + (c < count % chains ? 1 : 0);
    for (Eigen::Index k = 0; k < length; ++k) {
      const double step = std::min(1.0, std::exp(log_step));
      const VectorXd next = std::sqrt(1 - step * step) * at +
                            step * NormalsOf(key, static_cast<std::uint64_t>(filled),
                                             static_cast<std::size_t>(at.size()));
      const double next_margin = margin(next);
      tried += 1;
      if (next_margin < bound) {
        at = next;
        at_margin = next_margin;
        taken += 1;
      }
      level.points.col(filled) = at;
      level.margins[filled++] = at_margin;
    }
    if ((c + 1) % group != 0) continue;
    const auto groups = (c + 1) / group;
    log_step += (taken / tried - kAccepted) / std::sqrt(static_cast<double>(groups));
    taken = tried = 0;
  }
  return level;
}

}  // namespace

VectorXd NormalsOf(std::uint64_t key, std::uint64_t index, std::size_t n) {
  VectorXd x(static_cast<Eigen::Index>(n));
  FillNormal(key, index * n, {x.data(), n});
  return x;
}

FailingPoints FindFailingPoints(CountedMargin& margin, std::size_t dimensions, std::uint64_t key,
                                std::int64_t count, std::int64_t evaluations) {
  FW_CHECK(dimensions >= 1 && count >= 100 && count % 100 == 0, dimensions, count);
  const std::int64_t last = margin.evaluations() + evaluations;
  FailingPoints found;
  found.plain = count;
  Level level = DrawPlainly(margin, dimensions, StreamKey(key, 0), count);
  double before = std::numeric_limits<double>::infinity();
  double chance = 1;
  for (std::uint64_t number = 1;; ++number) {
    const std::int64_t failed = (level.margins.array() < 0).count();
    const bool fails = failed * kOneOf >= count;
    const std::vector<Eigen::Index> kept = Least(level.margins, fails ? failed : count / kOneOf);
    const double highest = level.margins[kept.back()];
    if (!fails && (highest >= before || margin.evaluations() + count > last)) return found;
    const double bound =
        fails ? 0 : std::nextafter(highest, std::numeric_limits<double>::infinity());
    chance *= static_cast<double>(kept.size()) / static_cast<double>(count);
    level = Walk(margin, level, kept, bound, StreamKey(key, number));
    before = highest;
    if (!fails) continue;
    found.points = std::move(level.points);
    found.chance = chance;
    return found;
  }
}

MatrixXd SlopesAt(CountedMargin& margin, const MatrixXd& points) {
  constexpr double kDifference = 1e-4;
  MatrixXd slopes(points.rows(), points.cols());
  Eigen::Index filled = 0;
  for (Eigen::Index p = 0; p < points.cols(); ++p) {
    VectorXd moved = points.col(p);
    const double at = margin(moved);
    VectorXd slope(points.rows());
    for (Eigen::Index i = 0; i < points.rows(); ++i) {
      moved[i] += kDifference;
      slope[i] = (margin(moved) - at) / kDifference;
      moved[i] = points(i, p);
    }
    if (slope.norm() > 0 && slope.allFinite()) slopes.col(filled++) = slope.normalized();
  }
  return slopes.leftCols(filled);
}

double NearestFailure(CountedMargin& margin, const VectorXd& direction, double farthest) {
  for (double t = kLook; t <= farthest; t += kLook) {
    if (!(margin(t * direction) < 0)) continue;
    double low = t - kLook;
    double high = t;
    while (high - low > kNearEnough) {
      const double middle = 0.5 * (low + high);
      (margin(middle * direction) < 0 ? high : low) = middle;
    }
    return high;
  }
  return std::numeric_limits<double>::infinity();
}

}  // namespace fitwright::stats
