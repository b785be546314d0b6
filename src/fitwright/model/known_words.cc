#include "fitwright/model/known_words.h"

#include "fitwright/trade/nearest.h"

namespace fitwright {

std::string NearestOf(std::string_view word, std::span<const std::string> known) {
  constexpr std::size_t kLongest = 200;  // bounds the work on a hostile key
  const std::vector<std::string_view> views(known.begin(), known.end());
  const auto nearest = trade::NearestWords(word.substr(0, kLongest), views, 1);
  return nearest.empty() ? std::string() : std::string(nearest.front());
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
