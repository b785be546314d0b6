#include "fitwright/trade/nearest.h"

#include <algorithm>
#include <utility>

namespace fitwright::trade {
namespace {

char Lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

}  // namespace

std::size_t EditDistance(std::string_view a, std::string_view b) {
  const std::size_t columns = b.size() + 1;
  std::vector<std::size_t> table((a.size() + 1) * columns);
  const auto at = [&](std::size_t i, std::size_t j) -> std::size_t& {
    return table[i * columns + j];
  };
  for (std::size_t i = 0; i <= a.size(); ++i) at(i, 0) = i;
  for (std::size_t j = 0; j <= b.size(); ++j) at(0, j) = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const char x = Lower(a[i - 1]);
      const char y = Lower(b[j - 1]);
      std::size_t best = at(i - 1, j - 1) + (x == y ? 0 : 1);
      best = std::min({best, at(i - 1, j) + 1, at(i, j - 1) + 1});
      const bool swapped = i > 1 && j > 1 && x == Lower(b[j - 2]) && y == Lower(a[i - 2]);
      if (swapped) best = std::min(best, at(i - 2, j - 2) + 1);
      at(i, j) = best;
    }
  }
  return at(a.size(), b.size());
}

std::vector<std::string_view> NearestWords(std::string_view word,
                                           const std::vector<std::string_view>& known,
                                           std::size_t count) {
  std::vector<std::pair<std::size_t, std::string_view>> ranked;
  ranked.reserve(known.size());
  for (const std::string_view candidate : known) {
    ranked.emplace_back(EditDistance(word, candidate), candidate);
  }
  std::stable_sort(ranked.begin(), ranked.end(),
                   [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<std::string_view> nearest;
  for (std::size_t i = 0; i < ranked.size() && i < count; ++i) nearest.push_back(ranked[i].second);
  return nearest;
}

}  // namespace fitwright::trade
