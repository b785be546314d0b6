// Lists of the words known at a place, for messages that say what would do.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fitwright/base/words.h"

namespace fitwright {

// The member of known nearest to word, the earlier of equals; empty when known is empty. A word is
// always given, however far: it is shown beside the whole message.
std::string NearestOf(std::string_view word, std::span<const std::string> known);

// "a, b, c"; after `most` members "...".
std::string ListOf(std::span<const std::string> words, std::size_t most = 24);

template <typename E>
std::vector<std::string> WordList() {
  std::vector<std::string> words;
  for (const auto& entry : WordsOf<E>::kAll) words.emplace_back(entry.word);
  return words;
}

}  // namespace fitwright
