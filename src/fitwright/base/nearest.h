// The known word that a mistyped one most likely meant.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fitwright/base/words.h"

namespace fitwright {

// Letters to change, add, drop or swap with a neighbour to turn a into b (optimal string alignment).
int EditDistance(std::string_view a, std::string_view b);

// The member of known nearest to word, the earlier of equals; empty when known is empty. A word is
// always given, however far: the caller shows it beside the whole message.
std::string NearestOf(std::string_view word, std::span<const std::string> known);

// "a, b, c"; after `most` members "...".
std::string ListOf(std::span<const std::string> words, std::size_t most = 16);

template <typename E>
std::vector<std::string> WordList() {
  std::vector<std::string> words;
  for (const auto& entry : WordsOf<E>::kAll) words.emplace_back(entry.word);
  return words;
}

}  // namespace fitwright
