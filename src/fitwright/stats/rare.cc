#include "fitwright/stats/rare.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "fitwright/base/check.h"
#include "fitwright/stats/failure_mixture.h"
#include "fitwright/stats/normal.h"
#include "fitwright/stats/random.h"

namespace fitwright::stats {
namespace {

using Eigen::Index;
using Eigen::VectorXd;

constexpr double kFarthest = 8.5;     // sigma: beyond it lies 1e-17
constexpr double kFartherBy = 2.5;    // failures so much further than the nearest need no place
constexpr std::size_t kFewAxes = 24;  // looked along, of so many dimensions at most
constexpr Index kLeastSlopes = 8;
constexpr Index kMostSlopes = 40;
constexpr int kLessons = 3;
constexpr double kSpare = 1.2;  // draws by what the last lesson's scatter asks for
constexpr std::int64_t kLeastDraws = 2000;
constexpr double kLeastHits = 100;   // equal ones that say as much as those that were had
constexpr double kMostOfOne = 0.05;  // of the answer, on one hit
constexpr double kBeside = 0.65;     // cosine: directions that see the same failure

struct Ray {
  VectorXd direction;
  double nearest = std::numeric_limits<double>::infinity();  // failure along it, sigma
};

std::vector<Ray> Fan(std::size_t n) {
  std::vector<Ray> fan;
  if (n == 2) {
    constexpr int kRays = 16;
    for (int k = 0; k < kRays; ++k) {
      const double angle = 2 * std::acos(-1.0) * k / kRays;
      fan.push_back({(VectorXd(2) << std::cos(angle), std::sin(angle)).finished()});
    }
  } else if (n == 3) {
    for (int k = 0; k < 27; ++k) {
      const VectorXd corner = Eigen::Vector3i(k % 3 - 1, k / 3 % 3 - 1, k / 9 - 1).cast<double>();
      if (k != 13) fan.push_back({corner.normalized()});
    }
  } else if (n <= kFewAxes) {
    for (std::size_t i = 0; i < 2 * n; ++i)
      fan.push_back({(i % 2 == 0 ? 1 : -1) *
                     VectorXd::Unit(static_cast<Index>(n), static_cast<Index>(i / 2))});
  }
  return fan;
}

// Those of the fan that meet a failure.
std::vector<Ray> RaysThatFail(CountedMargin& margin, std::size_t n) {
  std::vector<Ray> rays;
  double farthest = kFarthest;
  for (Ray& ray : Fan(n)) {
    ray.nearest = NearestFailure(margin, ray.direction, farthest);
    if (!std::isfinite(ray.nearest)) continue;
    farthest = std::min(farthest, ray.nearest + kFartherBy);
    rays.push_back(std::move(ray));
  }
  std::erase_if(rays, [&](const Ray& ray) { return ray.nearest > farthest; });
  return rays;
}

// Directions nearer to failure than every other less than about 50 degrees from them.
int CountModes(const std::vector<Ray>& rays) {
  int modes = 0;
  for (std::size_t i = 0; i < rays.size(); ++i) {
    bool nearest = true;
    for (std::size_t j = 0; j < rays.size() && nearest; ++j) {
      if (i == j || rays[i].direction.dot(rays[j].direction) < kBeside) continue;
      nearest = rays[i].nearest < rays[j].nearest || (rays[i].nearest == rays[j].nearest && i < j);
    }
    modes += nearest ? 1 : 0;
  }
  return modes;
}

int ModesOf(CountedMargin& margin, const FailureMixture& mixture, std::vector<Ray> rays) {
  double nearest = kFarthest;
  for (std::size_t p = 0; p < mixture.places(); ++p) {
    const VectorXd middle = mixture.Middle(p);
    if (!(middle.norm() > 0)) continue;
    Ray ray{middle.normalized()};
    ray.nearest = NearestFailure(margin, ray.direction, std::min(kFarthest, middle.norm() + 1));
    if (std::isfinite(ray.nearest)) rays.push_back(std::move(ray));
  }
  for (const Ray& ray : rays) nearest = std::min(nearest, ray.nearest);
  std::erase_if(rays, [&](const Ray& ray) { return ray.nearest > nearest + kFartherBy; });
  return CountModes(rays);
}

// In few dimensions slopes are not asked for: all of them are taken as they are.
FailureMixture MixtureFor(CountedMargin& margin, const Eigen::MatrixXd& failing,
                          std::int64_t evaluations) {
  const Index n = failing.rows();
  if (n <= FailureMixture::kAllActive) return FailureMixture(failing, Eigen::MatrixXd(n, 0));
  const Index slopes = std::clamp<Index>(evaluations / (n + 1), kLeastSlopes, kMostSlopes);
  Eigen::MatrixXd some(n, slopes);
  for (Index i = 0; i < slopes; ++i) some.col(i) = failing.col(i * failing.cols() / slopes);
  return FailureMixture(failing, SlopesAt(margin, some));
}

WeighedHits DrawFrom(CountedMargin& margin, const FailureMixture& mixture, std::uint64_t key,
                     std::int64_t count) {
  std::vector<VectorXd> places;
  for (std::int64_t i = 0; i < count; ++i) {
    const VectorXd point = mixture.Draw(key, static_cast<std::uint64_t>(i));
    if (margin(point) < 0) places.push_back(mixture.Active(point));
  }
  WeighedHits hits;
  hits.drawn = count;
  if (places.empty()) return hits;
  hits.places.resize(places.front().size(), static_cast<Index>(places.size()));
  for (std::size_t h = 0; h < places.size(); ++h)
    hits.places.col(static_cast<Index>(h)) = places[h];
  hits.weights = mixture.Weights(hits.places);
  return hits;
}

struct Mean {
  double value = 0;
  double sigma_of_one = 0;
};

Mean MeanOf(const WeighedHits& hits) {
  const auto n = static_cast<double>(hits.drawn);
  const double mean = hits.weights.sum() / n;
  const double squares = hits.weights.squaredNorm() / n - mean * mean;
  return {mean, std::sqrt(std::max(0.0, squares * n / (n - 1)))};
}

std::int64_t DrawsFor(const WeighedHits& seen, double half_width, double z, std::int64_t left) {
  const Mean mean = MeanOf(seen);
  if (!(mean.value > 0)) return left;
  const double each = z * mean.sigma_of_one / (mean.value * half_width);
  const double wanted = kSpare * each * each;
  return wanted < static_cast<double>(left)
             ? std::max(kLeastDraws, static_cast<std::int64_t>(wanted))
             : std::max(kLeastDraws, left);
}

bool IsTrusted(const WeighedHits& hits) {
  const double sum = hits.weights.sum();
  return sum > 0 && sum * sum >= kLeastHits * hits.weights.squaredNorm() &&
         hits.weights.maxCoeff() <= kMostOfOne * sum;
}

}  // namespace

RareChance CalcRareChance(const Margin& margin, std::size_t dimensions,
                          const RareOptions& options) {
  FW_CHECK(dimensions >= 1 && options.evaluations >= 5000 && options.half_width > 0, dimensions,
           options.evaluations);
  CountedMargin counted(margin);
  const std::uint64_t key = StreamKey(options.seed, 0x72617265);
  const std::int64_t level = std::clamp<std::int64_t>(options.evaluations / 1500 * 100, 300, 1000);
  const FailingPoints failing =
      FindFailingPoints(counted, dimensions, StreamKey(key, 1), level, options.evaluations / 2);
  RareChance rare;
  if (failing.points.cols() == 0) {
    constexpr double kNoneOf = 3;  // none in n: under 3 / n at 95 in 100
    rare.evaluations = counted.evaluations();
    rare.interval = {0, kNoneOf / static_cast<double>(failing.plain)};
    return rare;
  }
  FailureMixture mixture = MixtureFor(counted, failing.points, options.evaluations / 8);
  const std::vector<Ray> rays = RaysThatFail(counted, dimensions);
  for (const Ray& ray : rays) mixture.AddIfBare(ray.nearest * ray.direction);
  WeighedHits hits;
  for (int k = 0; k < kLessons; ++k) {
    hits = DrawFrom(counted, mixture, StreamKey(key, 2 + static_cast<std::uint64_t>(k)),
                    options.evaluations / 15);
    mixture.Learn(hits);
  }
  rare.modes = ModesOf(counted, mixture, rays);
  const double z = -InverseNormal(0.5 * (1 - options.confidence));
  hits =
      DrawFrom(counted, mixture, StreamKey(key, 2 + kLessons),
               DrawsFor(hits, options.half_width, z, options.evaluations - counted.evaluations()));
  const Mean mean = MeanOf(hits);
  rare.chance = mean.value;
  rare.evaluations = counted.evaluations();
  rare.trusted = IsTrusted(hits);
  if (!(rare.chance > 0)) {
    rare.interval = {0, 1};
    return rare;
  }
  const double share =
      z * mean.sigma_of_one / (rare.chance * std::sqrt(static_cast<double>(hits.drawn)));
  rare.interval = {rare.chance * std::exp(-share), std::min(1.0, rare.chance * std::exp(share))};
  return rare;
}

}  // namespace fitwright::stats
