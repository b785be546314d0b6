#include "fitwright/sheets/step_words.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <cstdlib>

#include "fitwright/sheets/numbers.h"

namespace fitwright::sheets {
namespace {

constexpr std::array<std::string_view, 11> kOtherUnits = {" degree", " deg", " rpm", " %", "%", " bar", " L/", " min", " h ", " times", " N"};
constexpr std::array<std::string_view, 12> kCounted = {" cuts",  " levels", " passes", " screws", " holes", " slots",
                                                       " places", " strokes", " off:",  " teeth",  " turns", " jaws"};
// Behind a whole number that is a length.
constexpr std::array<std::string_view, 24> kLengthBefore = {
    " off",      " deep",     " long",      " wide",        " across",      " high",    " thick", " by ",  " x ",    " down to", " and face", " in diameter",
    " in radius", " on the",   " of full",   " bore",        " counterbore", " out bet", " apart", " left", " over ", " of the",  " with ",    " from "};

bool IsDigit(char c) { return std::isdigit(static_cast<unsigned char>(c)) != 0; }
bool IsLetter(char c) { return std::isalpha(static_cast<unsigned char>(c)) != 0; }

bool BeginsAny(std::string_view text, const auto& list) {
  return std::any_of(list.begin(), list.end(), [&](std::string_view one) { return text.starts_with(one); });
}

std::size_t NumberLength(std::string_view text) {
  std::size_t end = 0;
  while (end < text.size() && IsDigit(text[end])) ++end;
  if (end == 0) return 0;
  if (end + 1 < text.size() && text[end] == '.' && IsDigit(text[end + 1])) {
    ++end;
    while (end < text.size() && IsDigit(text[end])) ++end;
  }
  return end;
}

// " H7", " g6": the fit of the size before it.
bool IsFitCode(std::string_view rest) {
  if (rest.size() < 3 || rest[0] != ' ' || !IsLetter(rest[1])) return false;
  const std::size_t digit = IsLetter(rest[2]) ? 3 : 2;
  if (digit >= rest.size() || !IsDigit(rest[digit])) return false;
  std::size_t end = digit;
  while (end < rest.size() && IsDigit(rest[end])) ++end;
  return end == rest.size() || !IsLetter(rest[end]);
}

// "M3 x ": what follows is a screw's length, part of its name.
bool EndsInThread(std::string_view before) {
  if (!before.ends_with(" x ")) return false;
  before.remove_suffix(3);
  while (!before.empty() && (IsDigit(before.back()) || before.back() == '.')) before.remove_suffix(1);
  return before.ends_with("M");
}

// "Drill ", "Drill the two ".
bool EndsInDrill(std::string_view before) {
  if (before.ends_with("Drill ")) return true;
  if (before.empty() || before.back() != ' ') return false;
  before.remove_suffix(1);
  while (!before.empty() && IsLetter(before.back())) before.remove_suffix(1);
  return before.ends_with("Drill the ");
}

bool IsOther(std::string_view before, std::string_view number, std::string_view rest) {
  const bool named = before.ends_with("#") || before.ends_with("/") || before.ends_with("step ") || before.ends_with("setup ") || before.ends_with("no. ");
  const bool spotted = before.ends_with("all ") && rest.starts_with(" to ");
  return number == "0" || named || spotted || IsFitCode(rest) || EndsInThread(before) || BeginsAny(rest, kOtherUnits) || BeginsAny(rest, kCounted);
}

bool IsLength(std::string_view before, std::string_view number, std::string_view rest) {
  if (number.find('.') != std::string_view::npos || BeginsAny(rest, kLengthBefore)) return true;
  const bool ends = rest.empty() || std::string_view(".,;:)").find(rest.front()) != std::string_view::npos;
  return ends && (before.ends_with("to ") || before.ends_with("about ") || before.ends_with("by ") || before.ends_with("at ") || before.ends_with("less "));
}

// As fine as it was said: a tenth of a millimetre is no ten-thousandth of an inch.
std::string Inches(std::string_view number) {
  constexpr std::size_t kMost = 4;
  const std::size_t point = number.find('.');
  const std::size_t decimals = point == std::string_view::npos ? kMost : std::min(kMost, number.size() - point - 1 + 2);
  return FormatFixed(std::strtod(std::string(number).c_str(), nullptr) / kMmPerInch, static_cast<int>(decimals));
}

// What cannot be changed from here on: a kept name, a quotation; 0 where nothing is.
std::size_t KeptLength(std::string_view rest, bool word_starts, const std::vector<std::string>& kept) {
  if (rest.front() == '"') {
    const std::size_t close = rest.find('"', 1);
    return close == std::string_view::npos ? rest.size() : close + 1;
  }
  std::size_t longest = 0;
  for (const std::string& name : kept) {
    if (word_starts && !name.empty() && rest.starts_with(name)) longest = std::max(longest, name.size());
  }
  return longest;
}

}  // namespace

std::optional<std::string> StepSentenceInInches(std::string_view sentence, const std::vector<std::string>& kept) {
  std::string out;
  for (std::size_t at = 0; at < sentence.size();) {
    const std::string_view rest = sentence.substr(at);
    const std::string_view before = sentence.substr(0, at);
    const bool word_starts = at == 0 || !(IsLetter(before.back()) || IsDigit(before.back()) || before.back() == '.');
    if (const std::size_t length = KeptLength(rest, word_starts, kept); length > 0) {
      out += rest.substr(0, length);
      at += length;
      continue;
    }
    const std::size_t length = word_starts ? NumberLength(rest) : 0;
    const UnitNumber with_unit = word_starts ? NumberWithUnit(sentence, at) : UnitNumber{};
    if (with_unit.length > 0) {
      out += with_unit.in_inches;
      at += with_unit.length;
    } else if (length == 0) {
      out += sentence[at++];
    } else {
      const std::string_view number = rest.substr(0, length);
      const std::string_view behind = rest.substr(length);
      if (EndsInDrill(before)) {
        out += std::string(number) + " mm";
      } else if (IsOther(before, number, behind)) {
        out += number;
      } else if (IsLength(before, number, behind)) {
        out += Inches(number);
      } else {
        return std::nullopt;
      }
      at += length;
    }
  }
  return out;
}

}  // namespace fitwright::sheets
