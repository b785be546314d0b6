#include "fitwright/base/nearest.h"

#include <algorithm>

namespace fitwright {

int EditDistance(std::string_view a, std::string_view b) {
  // Three rows of the table: row i needs i - 1, and i - 2 for a swap.
  std::vector<int> before(b.size() + 1);
  std::vector<int> last(b.size() + 1);
  std::vector<int> now(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) last[j] = static_cast<int>(j);
  for (std::size_t i = 1; i <= a.size(); ++i) {
    now[0] = static_cast<int>(i);
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const int change = last[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      now[j] = std::min({change, last[j] + 1, now[j - 1] + 1});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
        now[j] = std::min(now[j], before[j - 2] + 1);
      }
    }
    std::swap(before, last);
    std::swap(last, now);
  }
  return last[b.size()];
}

std::string NearestOf(std::string_view word, std::span<const std::string> known) {
  constexpr std::size_t kLongest = 200;  // bounds the work on a hostile key
  const std::string_view shortened = word.substr(0, kLongest);
  const std::string* best = nullptr;
  int best_distance = 0;
  for (const std::string& candidate : known) {
    const int distance = EditDistance(shortened, candidate);
    if (best == nullptr || distance < best_distance) {
      best = &candidate;
      best_distance = distance;
    }
  }
  return best == nullptr ? std::string() : *best;
}

std::string ListOf(std::span<const std::string> words, std::size_t most) {
  std::string list;
  for (std::size_t i = 0; i < words.size() && i < most; ++i) {
    if (i > 0) list += ", ";
    list += words[i];
  }
  if (words.size() > most) list += ", ...";
  return list;
}

}  // namespace fitwright
