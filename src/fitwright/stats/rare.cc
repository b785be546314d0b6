#include "fitwright/stats/rare.h"

#include <Eigen/Core>
#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <vector>

#include "fitwright/base/check.h"
#include "fitwright/stats/normal.h"
#include "fitwright/stats/random.h"

namespace fitwright::stats {
namespace {

using Eigen::VectorXd;

constexpr double kFarthest = 8.5;       // sigma: beyond it lies 1e-17
constexpr double kStep = 0.35;          // between looks along a line
constexpr double kCrossing = 1e-10;     // of a crossing's place, sigma
constexpr double kLeftOut = 1e-5;       // share of the chance beyond the last look
constexpr int kSteps = 15;              // along the gradient
constexpr double kSameDirection = 0.9;  // cosine
constexpr double kFartherBy = 2.5;  // sigma: failures so much further than the nearest need no cell
constexpr std::size_t kFewAxes = 16;
constexpr std::size_t kChanceStarts = 8;
constexpr std::int64_t kFirstLines = 24;
constexpr std::int64_t kLeastLines = 24;
constexpr double kSureWithin = 2e-3;  // share: what no line happened to show is not known better

struct Direction {
  VectorXd a;
  double nearest = std::numeric_limits<double>::infinity();  // failure along it, sigma
};

class Counted {
 public:
  explicit Counted(const Margin& margin) : margin_(margin) {}
  double operator()(const VectorXd& u) {
    ++evaluations_;
    return margin_({u.data(), static_cast<std::size_t>(u.size())});
  }
  std::int64_t evaluations() const { return evaluations_; }

 private:
  const Margin& margin_;
  std::int64_t evaluations_ = 0;
};

// Standard normals of one line: lanes by pairs.
VectorXd NormalsOf(std::uint64_t key, std::uint64_t line, std::size_t n) {
  VectorXd x(static_cast<Eigen::Index>(n));
  for (std::size_t k = 0; k < n; k += 2) {
    const Pair pair = NormalPair(key, line, static_cast<std::uint32_t>(k / 2));
    x[static_cast<Eigen::Index>(k)] = pair.first;
    if (k + 1 < n) x[static_cast<Eigen::Index>(k + 1)] = pair.second;
  }
  return x;
}

// Where the margin changes sign between low and high, whose margins are given and do not agree.
double Crossing(Counted& margin, const VectorXd& from, const VectorXd& a, double low, double at_low,
                double high, double at_high) {
  for (int k = 0; k < 60 && high - low > kCrossing; ++k) {
    // False position, every third time the middle.
    double t = k % 3 == 2 ? 0.5 * (low + high) : low + (high - low) * at_low / (at_low - at_high);
    if (!(t > low && t < high)) t = 0.5 * (low + high);
    const double at = margin(from + t * a);
    if (at == 0) return t;
    ((at < 0) == (at_low < 0) ? low : high) = t;
    ((at < 0) == (at_low < 0) ? at_low : at_high) = at;
  }
  return 0.5 * (low + high);
}

// Probability of the part of the line from + t a, t > start, that fails; nothing beyond `end` is
// looked at, what is true there holds on.
double FailingPart(Counted& margin, const VectorXd& from, const VectorXd& a, double start,
                   double end) {
  if (start >= end) return 0;
  double part = 0;
  double t = start;
  double at = margin(from + t * a);
  double entered = t;
  while (t < end) {
    const double next = t + kStep;
    const double at_next = margin(from + next * a);
    if ((at < 0) != (at_next < 0)) {
      const double crossing = Crossing(margin, from, a, t, at, next, at_next);
      if (at < 0) part += NormalCdf(-entered) - NormalCdf(-crossing);
      entered = crossing;
    }
    t = next;
    at = at_next;
  }
  return at < 0 ? part + NormalCdf(-entered) : part;
}

// Failure nearest to the middle along a direction.
double NearestAlong(Counted& margin, const VectorXd& a) {
  const VectorXd middle = VectorXd::Zero(a.size());
  double at = margin(middle);
  for (double t = 0; t < kFarthest; t += kStep) {
    const double next = margin((t + kStep) * a);
    if (next < 0) return at < 0 ? t : Crossing(margin, middle, a, t, at, t + kStep, next);
    at = next;
  }
  return std::numeric_limits<double>::infinity();
}

std::vector<Direction> Fan(std::size_t n) {
  std::vector<Direction> fan;
  if (n == 1) {
    fan = {{VectorXd::Constant(1, 1)}, {VectorXd::Constant(1, -1)}};
  } else if (n == 2) {
    constexpr int kRays = 16;
    for (int k = 0; k < kRays; ++k) {
      const double angle = 2 * std::acos(-1.0) * k / kRays;
      fan.push_back({(VectorXd(2) << std::cos(angle), std::sin(angle)).finished()});
    }
  } else {
    for (int k = 0; k < 27; ++k) {
      const int x = k % 3 - 1, y = k / 3 % 3 - 1, z = k / 9 - 1;
      const VectorXd corner = Eigen::Vector3d(x, y, z);
      if (k != 13) fan.push_back({corner.normalized()});
    }
  }
  return fan;
}

VectorXd Gradient(Counted& margin, const VectorXd& u, double at) {
  constexpr double kDifference = 1e-4;
  VectorXd gradient(u.size());
  VectorXd moved = u;
  for (Eigen::Index i = 0; i < u.size(); ++i) {
    moved[i] = u[i] + kDifference;
    gradient[i] = (margin(moved) - at) / kDifference;
    moved[i] = u[i];
  }
  return gradient;
}

// The direction of the nearest failure that the steps come to (Hasofer and Lind's iteration).
std::optional<Direction> Descend(Counted& margin, VectorXd u) {
  for (int k = 0; k < kSteps; ++k) {
    const double at = margin(u);
    const VectorXd gradient = Gradient(margin, u, at);
    const double square = gradient.squaredNorm();
    if (!(square > 0) || !std::isfinite(square)) break;
    VectorXd next = (gradient.dot(u) - at) / square * gradient;
    if (next.norm() > kFarthest) next *= kFarthest / next.norm();
    const double moved = (next - u).norm();
    u = k < kSteps / 2 ? next : VectorXd(0.5 * (u + next));  // a circle of steps is cut across
    if (moved < 1e-3) break;
  }
  if (u.norm() < 1e-6) return std::nullopt;
  Direction found{u.normalized()};
  found.nearest = NearestAlong(margin, found.a);
  if (!std::isfinite(found.nearest)) return std::nullopt;
  return found;
}

std::vector<VectorXd> Starts(std::size_t n, std::uint64_t key) {
  constexpr double kFrom = 3;
  std::vector<VectorXd> starts = {VectorXd::Zero(static_cast<Eigen::Index>(n))};
  if (n <= kFewAxes) {
    for (std::size_t i = 0; i < 2 * n; ++i)
      starts.push_back(
          (i % 2 == 0 ? kFrom : -kFrom) *
          VectorXd::Unit(static_cast<Eigen::Index>(n), static_cast<Eigen::Index>(i / 2)));
  }
  for (std::size_t k = 0; k < kChanceStarts; ++k)
    starts.push_back(kFrom * NormalsOf(key, k, n).normalized());
  return starts;
}

// Directions of failures, nearest first, each apart from the others; and the opposite of the first,
// so that there are two sides at least.
std::vector<Direction> Found(Counted& margin, std::size_t n, std::uint64_t key,
                             std::int64_t evaluations) {
  std::vector<Direction> all;
  for (const VectorXd& start : Starts(n, key)) {
    if (margin.evaluations() > evaluations && !all.empty()) break;
    if (auto found = Descend(margin, start)) all.push_back(*std::move(found));
  }
  std::stable_sort(all.begin(), all.end(),
                   [](const Direction& x, const Direction& y) { return x.nearest < y.nearest; });
  std::vector<Direction> apart;
  for (const Direction& d : all) {
    if (d.nearest > all.front().nearest + kFartherBy) break;
    const bool known = std::any_of(apart.begin(), apart.end(), [&](const Direction& k) {
      return k.a.dot(d.a) > kSameDirection;
    });
    if (!known) apart.push_back(d);
  }
  if (apart.empty()) apart.push_back({VectorXd::Unit(static_cast<Eigen::Index>(n), 0)});
  const VectorXd back = -apart.front().a;
  const bool has_back = std::any_of(apart.begin(), apart.end(), [&](const Direction& k) {
    return k.a.dot(back) > kSameDirection;
  });
  if (!has_back) apart.push_back({back});
  return apart;
}

struct Sums {
  std::int64_t lines = 0;
  double sum = 0;
  double squares = 0;
  std::int64_t evaluations = 0;
  double Mean() const { return lines > 0 ? sum / static_cast<double>(lines) : 0; }
  double Variance() const {
    const auto n = static_cast<double>(lines);
    return lines > 1 ? std::max(0.0, (squares - sum * sum / n) / (n - 1)) : 0;
  }
};

class Cells {
 public:
  Cells(Counted& margin, std::vector<Direction> directions)
      : margin_(margin), directions_(std::move(directions)) {}

  // Lines first .. first + count - 1 of a cell.
  Sums Draw(std::size_t cell, std::uint64_t key, std::int64_t count, double end) {
    Sums sums;
    const VectorXd& a = directions_[cell].a;
    const std::int64_t before = margin_.evaluations();
    for (std::int64_t line = 0; line < count; ++line) {
      VectorXd x = NormalsOf(StreamKey(key, cell), static_cast<std::uint64_t>(line),
                             static_cast<std::size_t>(a.size()));
      x -= x.dot(a) * a;
      const double part = FailingPart(margin_, x, a, Start(cell, x), end);
      sums.sum += part;
      sums.squares += part * part;
    }
    sums.lines = count;
    sums.evaluations = margin_.evaluations() - before;
    return sums;
  }

  std::size_t size() const { return directions_.size(); }

  // Directions nearer to failure than every other less than about 50 degrees from them.
  int Modes() {
    for (Direction& d : directions_) {
      if (!std::isfinite(d.nearest)) d.nearest = NearestAlong(margin_, d.a);
    }
    constexpr double kBeside = 0.65;
    int modes = 0;
    for (std::size_t i = 0; i < directions_.size(); ++i) {
      bool nearest = std::isfinite(directions_[i].nearest);
      for (std::size_t j = 0; j < directions_.size() && nearest; ++j) {
        if (i == j || directions_[i].a.dot(directions_[j].a) < kBeside) continue;
        const double other = directions_[j].nearest;
        nearest = directions_[i].nearest < other || (directions_[i].nearest == other && i < j);
      }
      modes += nearest ? 1 : 0;
    }
    return modes;
  }

 private:
  // From where on along the line its points belong to the cell.
  double Start(std::size_t cell, const VectorXd& x) const {
    double start = -kFarthest;
    for (std::size_t j = 0; j < directions_.size(); ++j) {
      if (j == cell) continue;
      const double cosine = directions_[j].a.dot(directions_[cell].a);
      start = std::max(start, directions_[j].a.dot(x) / (1 - cosine));
    }
    return start;
  }

  Counted& margin_;
  std::vector<Direction> directions_;
};

// Lines of each cell, so that the interval is as wide as is aimed at, inside the evaluations left:
// by their scatter and what a line costs.
std::vector<std::int64_t> LinesOf(const std::vector<Sums>& first, double aim, double left) {
  double spread = 0;
  double least = 0;
  const auto cost = [](const Sums& s) {
    return 1 + static_cast<double>(s.evaluations) / static_cast<double>(s.lines);
  };
  for (const Sums& s : first) {
    spread += std::sqrt(s.Variance() * cost(s));
    least += cost(s) * static_cast<double>(kLeastLines);
  }
  double chance = 0;
  for (const Sums& s : first) chance += s.Mean();
  if (spread == 0) {  // nothing seen, or every line the same: as many lines as there are
    const double each = chance > 0 ? 1 : left / least;
    return std::vector<std::int64_t>(
        first.size(),
        std::max(kLeastLines, static_cast<std::int64_t>(static_cast<double>(kLeastLines) * each)));
  }
  const double sigma = chance * aim / 1.96;
  // n_i = sqrt(V_i / c_i) k: variance sum = spread / k, cost = spread k.
  const double k = std::min(spread / (sigma * sigma), std::max(0.0, left - least) / spread);
  std::vector<std::int64_t> lines;
  for (const Sums& s : first)
    lines.push_back(kLeastLines + static_cast<std::int64_t>(std::sqrt(s.Variance() / cost(s)) * k));
  return lines;
}

// Quantile of Student's t from the normal one's, of so many degrees (Abramowitz and Stegun, 26.7.5).
double StudentQuantile(double z, double degrees) {
  if (!(degrees > 0)) return z;
  const double square = z * z;
  return z * (1 + (square + 1) / (4 * degrees) +
              ((5 * square + 16) * square + 3) / (96 * degrees * degrees));
}

}  // namespace

RareChance CalcRareChance(const Margin& margin, std::size_t dimensions,
                          const RareOptions& options) {
  FW_CHECK(dimensions >= 1 && options.evaluations >= 5000 && options.half_width > 0, dimensions,
           options.evaluations);
  Counted counted(margin);
  const std::uint64_t key = StreamKey(options.seed, 0x72617265);
  Cells cells(counted, dimensions <= 3 ? Fan(dimensions)
                                       : Found(counted, dimensions, StreamKey(key, 1),
                                               options.evaluations / 4));
  std::vector<Sums> first;
  double chance = 0;
  for (std::size_t c = 0; c < cells.size(); ++c) {
    first.push_back(cells.Draw(c, StreamKey(key, 2), kFirstLines, kFarthest));
    chance += first.back().Mean();
  }
  const double end = chance > 0
                         ? std::min(kFarthest, -InverseNormal(kLeftOut * std::min(1.0, chance)))
                         : kFarthest;
  RareChance rare;
  rare.modes = cells.Modes();
  const auto left = static_cast<double>(options.evaluations - counted.evaluations());
  const std::vector<std::int64_t> lines = LinesOf(first, options.half_width, left);
  double variance = 0;
  double doubt = 0;  // of the variance itself: few lines know their scatter badly (Welch and Satterthwaite)
  for (std::size_t c = 0; c < cells.size(); ++c) {
    const Sums sums = cells.Draw(c, StreamKey(key, 3), lines[c], end);
    rare.chance += sums.Mean();
    const double of_mean = sums.Variance() / static_cast<double>(lines[c]);
    variance += of_mean;
    doubt += of_mean * of_mean / static_cast<double>(lines[c] - 1);
  }
  rare.evaluations = counted.evaluations();
  if (rare.chance <= 0) {
    constexpr double kNoneOf = 3;  // none in n: under 3 / n at 95 in 100
    rare.interval = {0,
                     kNoneOf / static_cast<double>(*std::min_element(lines.begin(), lines.end()))};
    return rare;
  }
  const double z = StudentQuantile(-InverseNormal(0.5 * (1 - options.confidence)),
                                   doubt > 0 ? variance * variance / doubt : 0);
  const double share = std::hypot(z * std::sqrt(variance) / rare.chance, kSureWithin);
  rare.interval = {rare.chance * std::exp(-share), std::min(1.0, rare.chance * std::exp(share))};
  return rare;
}

}  // namespace fitwright::stats
