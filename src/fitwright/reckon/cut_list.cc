#include "fitwright/reckon/cut_list.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <optional>
#include <set>
#include <utility>

namespace fitwright::reckon {
namespace {

using Step = std::int64_t;  // thousandths of a mm; pieces with their kerf, bars with one kerf more
using Counts = std::vector<int>;

struct Sizes {
  std::vector<Step> size;  // falling
  Counts count;
  Step room = 0;
};

Sizes SortedSizes(const CutListGiven& given) {
  Sizes sizes;
  sizes.room = std::llround((given.bar_mm - given.grip_mm + given.kerf_mm) * 1000);
  std::vector<Step> all;
  for (const double piece : given.pieces_mm) {
    all.push_back(std::llround((piece + given.kerf_mm) * 1000));
  }
  std::sort(all.begin(), all.end(), std::greater<>());
  for (const Step step : all) {
    if (sizes.size.empty() || sizes.size.back() != step) {
      sizes.size.push_back(step);
      sizes.count.push_back(0);
    }
    ++sizes.count.back();
  }
  return sizes;
}

Step Total(const Sizes& sizes, const Counts& counts) {
  Step total = 0;
  for (std::size_t i = 0; i < counts.size(); ++i) total += sizes.size[i] * counts[i];
  return total;
}

int Bars(Step length, Step room) { return static_cast<int>((length + room - 1) / room); }

// Martello and Toth's second bound: for each least size, pieces that cannot share a bar count
// whole, and what their rests cannot take of the smaller ones needs bars of its own.
int LeastBars(const Sizes& sizes, const Counts& counts) {
  int best = Bars(Total(sizes, counts), sizes.room);
  for (const Step least : sizes.size) {
    if (2 * least > sizes.room) continue;
    int alone = 0;
    int halves = 0;
    Step halves_length = 0;
    Step small = 0;
    for (std::size_t i = 0; i < counts.size(); ++i) {
      const Step size = sizes.size[i];
      if (size > sizes.room - least) {
        alone += counts[i];
      } else if (2 * size > sizes.room) {
        halves += counts[i];
        halves_length += size * counts[i];
      } else if (size >= least) {
        small += size * counts[i];
      }
    }
    const Step left = small - (halves * sizes.room - halves_length);
    best = std::max(best, alone + halves + (left > 0 ? Bars(left, sizes.room) : 0));
  }
  return best;
}

// Fills bar after bar: each gets the largest piece left and then every set of smaller ones that
// nothing more fits beside, fullest first, as long as what is wasted stays within what so many bars
// allow.
class Search {
 public:
  Search(const Sizes& sizes, std::int64_t branches) : sizes_(sizes), branches_(branches) {}

  // Whether all fits in so many bars; nullopt when the branches ran out.
  std::optional<bool> Fits(int bars) {
    bars_.clear();
    failed_.clear();
    left_ = sizes_.count;
    const Step waste = bars * sizes_.room - Total(sizes_, left_);
    const bool fits = waste >= 0 && Next(bars, waste);
    if (!fits && branches_ <= 0) return std::nullopt;
    return fits;
  }
  const std::vector<Counts>& bars() const { return bars_; }

 private:
  bool Next(int bars, Step waste) {
    const auto first = std::find_if(left_.begin(), left_.end(), [](int n) { return n > 0; });
    if (first == left_.end()) return true;
    if (bars == 0 || LeastBars(sizes_, left_) > bars) return false;
    if (failed_.count({bars, left_}) > 0) return false;
    const auto at = static_cast<std::size_t>(first - left_.begin());
    Counts bar(left_.size(), 0);
    bar[at] = 1;
    --left_[at];
    const bool found = Fill(bars, waste, at, sizes_.room - sizes_.size[at], bar);
    ++left_[at];
    if (!found) failed_.insert({bars, left_});
    return found;
  }

  // Adds pieces of the sizes from `at` on to the bar, with `room` left in it.
  bool Fill(int bars, Step waste, std::size_t at, Step room, Counts& bar) {
    if (--branches_ <= 0) return false;
    while (at < left_.size() && (left_[at] == 0 || sizes_.size[at] > room)) ++at;
    if (at == left_.size()) return Close(bars, waste, room, bar);
    const int most = static_cast<int>(std::min<Step>(left_[at], room / sizes_.size[at]));
    for (int n = most; n >= 0; --n) {
      bar[at] += n;
      left_[at] -= n;
      const bool found = Fill(bars, waste, at + 1, room - n * sizes_.size[at], bar);
      left_[at] += n;
      if (found) return true;
      bar[at] -= n;
    }
    return false;
  }

  bool Close(int bars, Step waste, Step room, const Counts& bar) {
    if (room > waste) return false;
    // A piece left out that still fits would make this bar fuller: that bar is looked at instead.
    for (std::size_t i = 0; i < left_.size(); ++i) {
      if (left_[i] > 0 && sizes_.size[i] <= room) return false;
    }
    bars_.push_back(bar);
    if (Next(bars - 1, waste - room)) return true;
    bars_.pop_back();
    return false;
  }

  const Sizes& sizes_;
  std::int64_t branches_;
  Counts left_;
  std::vector<Counts> bars_;
  std::set<std::pair<int, Counts>> failed_;  // bars left and pieces left with no way on
};

std::vector<Counts> FirstFit(const Sizes& sizes) {
  std::vector<Counts> bars;
  std::vector<Step> rooms;
  for (std::size_t i = 0; i < sizes.size.size(); ++i) {
    for (int n = 0; n < sizes.count[i]; ++n) {
      std::size_t bar = 0;
      while (bar < bars.size() && rooms[bar] < sizes.size[i]) ++bar;
      if (bar == bars.size()) {
        bars.emplace_back(sizes.size.size(), 0);
        rooms.push_back(sizes.room);
      }
      ++bars[bar][i];
      rooms[bar] -= sizes.size[i];
    }
  }
  return bars;
}

CutList ListOf(const CutListGiven& given, const Sizes& sizes, const std::vector<Counts>& bars,
               int fewest) {
  CutList list;
  list.fewest = fewest;
  for (const Counts& bar : bars) {
    std::vector<double> pieces;
    double used = 0;
    for (std::size_t i = 0; i < bar.size(); ++i) {
      const double piece = static_cast<double>(sizes.size[i]) / 1000 - given.kerf_mm;
      pieces.insert(pieces.end(), static_cast<std::size_t>(bar[i]), piece);
      used += bar[i] * (piece + given.kerf_mm);
    }
    list.bars_mm.push_back(std::move(pieces));
    list.rests_mm.push_back(std::max(0.0, given.bar_mm - given.grip_mm - used));
  }
  return list;
}

}  // namespace

Result<CutList> PlanCuts(const CutListGiven& given, std::int64_t branches) {
  const Sizes sizes = SortedSizes(given);
  if (!sizes.size.empty() && sizes.size.front() > sizes.room) {
    return Unexpected(
        Error{ErrorCode::kOutOfRange,
              fmt::format("a piece is longer than a bar less its grip, {:.3f} mm",
                          given.bar_mm - given.grip_mm),
              fmt::format("{:.3f}", static_cast<double>(sizes.size.front()) / 1000 - given.kerf_mm),
              "take longer bars, or leave the piece out",
              {}});
  }
  std::vector<Counts> best = FirstFit(sizes);
  int fewest = LeastBars(sizes, sizes.count);
  Search search(sizes, branches);
  while (fewest < static_cast<int>(best.size())) {
    const auto fits = search.Fits(fewest);
    if (!fits) break;
    if (*fits) {
      best = search.bars();
      break;
    }
    ++fewest;
  }
  return ListOf(given, sizes, best, fewest);
}

}  // namespace fitwright::reckon
