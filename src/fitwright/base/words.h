// Closed lists with the word that files and reports use for each member.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>

#include "fitwright/base/check.h"

namespace fitwright {

// Specialise with: static constexpr auto kAll = std::to_array<Word<E>>({{E::kX, "x"}, ...});
template <typename E>
struct Word {
  E value;
  std::string_view word;
};
template <typename E>
struct WordsOf;

template <typename E>
std::string_view WordOf(E value) {
  for (const auto& entry : WordsOf<E>::kAll) {
    if (entry.value == value) return entry.word;
  }
  FailCheck("enumerator has a word", __FILE__, __LINE__, std::to_string(static_cast<int>(value)));
}

template <typename E>
std::optional<E> EnumOf(std::string_view word) {
  for (const auto& entry : WordsOf<E>::kAll) {
    if (entry.word == word) return entry.value;
  }
  return std::nullopt;
}

}  // namespace fitwright
