#include "fitwright/trade/gauge_blocks.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <functional>
#include <numeric>
#include <utility>

namespace fitwright::trade {
namespace {

using Nanometres = std::int64_t;
constexpr double kNanometre_mm = 1e-6;
constexpr Nanometres kExact = 500;
constexpr int kMostUneven = 4;

// A run of blocks: count of them, from the first on, each a step above the one before. In
// nanometres, so that both systems are whole numbers.
struct Run {
  Nanometres first;
  Nanometres step;
  int count;
};

// Compositions as sold everywhere (common practice; from memory): each adds up to the number of
// blocks that the set is named for. Two sets of 47 are sold; this is the one with 1 to 24 mm.
constexpr auto kMetric47 = std::to_array<Run>({{1'005'000, 0, 1},
                                               {1'010'000, 10'000, 9},
                                               {1'100'000, 100'000, 9},
                                               {1'000'000, 1'000'000, 24},
                                               {25'000'000, 25'000'000, 4}});
constexpr auto kMetric87 = std::to_array<Run>({{1'001'000, 1'000, 9},
                                               {1'010'000, 10'000, 49},
                                               {500'000, 500'000, 19},
                                               {10'000'000, 10'000'000, 10}});
constexpr auto kMetric88 = std::to_array<Run>({{1'000'500, 0, 1},
                                               {1'001'000, 1'000, 9},
                                               {1'010'000, 10'000, 49},
                                               {500'000, 500'000, 19},
                                               {10'000'000, 10'000'000, 10}});
constexpr auto kMetric103 = std::to_array<Run>({{1'005'000, 0, 1},
                                                {1'010'000, 10'000, 49},
                                                {500'000, 500'000, 49},
                                                {25'000'000, 25'000'000, 4}});
constexpr auto kMetric112 = std::to_array<Run>({{1'000'500, 0, 1},
                                                {1'001'000, 1'000, 9},
                                                {1'010'000, 10'000, 49},
                                                {500'000, 500'000, 49},
                                                {25'000'000, 25'000'000, 4}});
// 0.1001 to 0.1009 by 0.0001, 0.101 to 0.149 by 0.001, 0.050 to 0.950 by 0.050, 1 2 3 4 in.
constexpr auto kInch81 = std::to_array<Run>({{2'542'540, 2'540, 9},
                                             {2'565'400, 25'400, 49},
                                             {1'270'000, 1'270'000, 19},
                                             {25'400'000, 25'400'000, 4}});

template <std::size_t N>
std::vector<double> Heights_mm(const std::array<Run, N>& runs) {
  std::vector<Nanometres> heights;
  for (const Run& run : runs) {
    for (int i = 0; i < run.count; ++i) heights.push_back(run.first + i * run.step);
  }
  std::sort(heights.begin(), heights.end());
  std::vector<double> heights_mm;
  for (const Nanometres h : heights) heights_mm.push_back(static_cast<double>(h) / 1e6);
  return heights_mm;
}

// Looks for the best sum of exactly `count` blocks; blocks stand largest first.
class StackSearch {
 public:
  // least: no sum comes nearer than this, so that the search may stop there.
  StackSearch(std::vector<Nanometres> blocks, Nanometres height, Nanometres least)
      : blocks_(std::move(blocks)), height_(height), least_(least), best_off_(std::abs(height)) {
    before_.push_back(0);
    for (const Nanometres block : blocks_) before_.push_back(before_.back() + block);
  }

  void SearchCount(int count) {
    if (count > static_cast<int>(blocks_.size())) return;
    chosen_.assign(static_cast<std::size_t>(count), 0);
    Search(0, 0, height_);
  }
  Nanometres best_off() const { return best_off_; }
  const std::vector<Nanometres>& best() const { return best_; }

 private:
  bool Done() const { return best_off_ <= least_; }

  void Offer(Nanometres rest) {
    if (std::abs(rest) >= best_off_) return;
    best_off_ = std::abs(rest);
    best_ = chosen_;
  }

  // Two blocks from `from` on that come nearest to the rest, by two fingers moving inwards.
  void SearchPair(std::size_t depth, std::size_t from, Nanometres rest) {
    std::size_t large = from;
    std::size_t small = blocks_.size() - 1;
    while (large < small) {
      chosen_[depth] = blocks_[large];
      chosen_[depth + 1] = blocks_[small];
      const Nanometres left = rest - blocks_[large] - blocks_[small];
      Offer(left);
      if (left > 0) {
        --small;
      } else {
        ++large;
      }
    }
  }

  void Search(std::size_t depth, std::size_t from, Nanometres rest) {
    const std::size_t wanted = chosen_.size() - depth;
    if (wanted == 2) return SearchPair(depth, from, rest);
    const Nanometres smallest = before_.back() - before_[blocks_.size() - (wanted - 1)];
    for (std::size_t i = from; i + wanted <= blocks_.size() && !Done(); ++i) {
      // The largest from here on cannot reach the rest any more; or too much already, with the
      // smallest that could follow.
      if (rest - (before_[i + wanted] - before_[i]) >= best_off_) return;
      const Nanometres left = rest - blocks_[i];
      if (smallest - left >= best_off_) continue;
      chosen_[depth] = blocks_[i];
      if (wanted == 1) {
        Offer(left);
      } else {
        Search(depth + 1, i + 1, left);
      }
    }
  }

  std::vector<Nanometres> blocks_;
  std::vector<Nanometres> before_;  // sum of the blocks before each
  Nanometres height_;
  Nanometres least_;
  Nanometres best_off_;
  std::vector<Nanometres> chosen_;
  std::vector<Nanometres> best_;
};

// How near any sum can come: sums are multiples of the greatest common step.
Nanometres LeastOff(Nanometres height, Nanometres step) {
  const Nanometres over = height % step;
  return std::min(over, step - over);
}

}  // namespace

std::vector<double> BlocksOf(BlockSet set) {
  switch (set) {
    case BlockSet::kMetric47:
      return Heights_mm(kMetric47);
    case BlockSet::kMetric87:
      return Heights_mm(kMetric87);
    case BlockSet::kMetric88:
      return Heights_mm(kMetric88);
    case BlockSet::kMetric103:
      return Heights_mm(kMetric103);
    case BlockSet::kMetric112:
      return Heights_mm(kMetric112);
    case BlockSet::kInch81:
      break;
  }
  return Heights_mm(kInch81);
}

std::vector<double> ChooseBlocks(double height_mm, const std::vector<double>& set_mm) {
  std::vector<std::pair<Nanometres, double>> set;  // with the height as it was given
  Nanometres step = 0;
  for (const double block_mm : set_mm) {
    set.emplace_back(std::llround(block_mm / kNanometre_mm), block_mm);
    step = std::gcd(step, set.back().first);
  }
  if (step == 0 || !(height_mm > 0)) return {};
  std::sort(set.begin(), set.end(), std::greater<>());
  std::vector<Nanometres> blocks;
  for (const auto& block : set) blocks.push_back(block.first);
  const Nanometres height = std::llround(height_mm / kNanometre_mm);
  const Nanometres least = LeastOff(height, step);
  const int most = step >= kExact ? kMostBlocks : kMostUneven;
  StackSearch search(blocks, height, least);
  for (int count = 1; count <= most; ++count) {
    search.SearchCount(count);
    if (search.best_off() <= std::max(kExact, least)) break;
  }
  std::vector<double> chosen_mm;
  auto at = set.begin();
  for (const Nanometres block : search.best()) {
    while (at->first != block) ++at;
    chosen_mm.push_back(at->second);
    ++at;
  }
  return chosen_mm;
}

double SumOf(const std::vector<double>& blocks_mm) {
  return std::accumulate(blocks_mm.begin(), blocks_mm.end(), 0.0);
}

double SineStack_mm(double centres_mm, double angle_rad) {
  return centres_mm * std::sin(angle_rad);
}
double SineAngle_rad(double centres_mm, double stack_mm) {
  return std::asin(stack_mm / centres_mm);
}

}  // namespace fitwright::trade
