#include "fitwright/trade/gauge_blocks.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <numeric>

namespace fitwright::trade {
namespace {

constexpr double kSame_mm = 1e-6;

// Up to two different blocks.
struct Pair {
  double sum_mm = 0;
  std::array<int, 2> at = {-1, -1};
  int count() const { return (at[0] >= 0 ? 1 : 0) + (at[1] >= 0 ? 1 : 0); }
};

bool ShareABlock(const Pair& a, const Pair& b) {
  for (const int i : a.at) {
    if (i >= 0 && (i == b.at[0] || i == b.at[1])) return true;
  }
  return false;
}

std::vector<Pair> PairsOf(const std::vector<double>& set) {
  std::vector<Pair> pairs = {Pair{}};
  for (int i = 0; i < static_cast<int>(set.size()); ++i) {
    pairs.push_back({set[static_cast<std::size_t>(i)], {i, -1}});
    for (int j = i + 1; j < static_cast<int>(set.size()); ++j) {
      pairs.push_back(
          {set[static_cast<std::size_t>(i)] + set[static_cast<std::size_t>(j)], {i, j}});
    }
  }
  std::stable_sort(pairs.begin(), pairs.end(),
                   [](const Pair& a, const Pair& b) { return a.sum_mm < b.sum_mm; });
  return pairs;
}

}  // namespace

std::vector<double> ChooseBlocks(double height_mm, const std::vector<double>& set_mm) {
  const std::vector<Pair> pairs = PairsOf(set_mm);
  double best_off = std::abs(height_mm);
  int best_count = 0;
  const Pair* best_a = nullptr;
  const Pair* best_b = nullptr;
  for (const Pair& a : pairs) {
    // The partners whose sums lie about what is wanting, nearest first on either side.
    const double want = height_mm - a.sum_mm;
    if (want < -best_off - kSame_mm) break;
    const auto middle = std::lower_bound(pairs.begin(), pairs.end(), want - best_off - kSame_mm,
                                         [](const Pair& p, double w) { return p.sum_mm < w; });
    for (auto b = middle; b != pairs.end() && b->sum_mm <= want + best_off + kSame_mm; ++b) {
      if (b->sum_mm < a.sum_mm - kSame_mm || ShareABlock(a, *b)) continue;
      const double off = std::abs(want - b->sum_mm);
      const int count = a.count() + b->count();
      const bool nearer = off < best_off - kSame_mm;
      if (!nearer && (off > best_off + kSame_mm || count >= best_count)) continue;
      best_off = std::min(off, best_off);
      best_count = count;
      best_a = &a;
      best_b = &*b;
    }
  }
  std::vector<double> blocks;
  if (best_a == nullptr) return blocks;
  for (const Pair* pair : {best_a, best_b}) {
    for (const int i : pair->at) {
      if (i >= 0) blocks.push_back(set_mm[static_cast<std::size_t>(i)]);
    }
  }
  std::sort(blocks.begin(), blocks.end(), std::greater<>());
  return blocks;
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
