#include "fitwright/sheets/numbers.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <cstdlib>

#include "fitwright/units/geometry.h"

namespace fitwright::sheets {
namespace {

constexpr int kInchDecimals = 4;

int Hundredths(double p) { return static_cast<int>(std::lround(100 * std::clamp(p, 0.0, 1.0))); }

int ToStep(int hundredths, int step) { return (hundredths + step / 2) / step * step; }

bool IsWordChar(char c) { return std::isalnum(static_cast<unsigned char>(c)) != 0; }

// Length of the unsigned decimal number at `at`, 0 when there is none.
std::size_t NumberLength(std::string_view text, std::size_t at) {
  std::size_t end = at;
  while (end < text.size() && std::isdigit(static_cast<unsigned char>(text[end]))) ++end;
  if (end == at) return 0;
  if (end + 1 < text.size() && text[end] == '.' &&
      std::isdigit(static_cast<unsigned char>(text[end + 1]))) {
    ++end;
    while (end < text.size() && std::isdigit(static_cast<unsigned char>(text[end]))) ++end;
  }
  return end - at;
}

std::string InInches(std::string_view number) {
  const double mm = std::strtod(std::string(number).c_str(), nullptr);
  return FormatTrimmed(mm / kMmPerInch, kInchDecimals);
}

// Numbers joined by " x ", "-" or " to " and followed by "mm"; `length` is what they take up.
struct Chain {
  std::string converted;
  std::size_t length = 0;  // 0: no such chain here
};

Chain FindChain(std::string_view text, std::size_t at) {
  static constexpr std::string_view kJoins[] = {" x ", "-", " to ", " and ", ", "};
  Chain chain;
  std::size_t pos = at;
  while (true) {
    const std::size_t length = NumberLength(text, pos);
    if (length == 0) return {};
    chain.converted += InInches(text.substr(pos, length));
    pos += length;
    const std::string_view rest = text.substr(pos);
    for (const std::string_view unit : {" mm", "mm"}) {
      if (rest.starts_with(unit) && (rest.size() == unit.size() || !IsWordChar(rest[unit.size()]))) {
        chain.converted += " in";
        chain.length = pos + unit.size() - at;
        return chain;
      }
    }
    const auto* join = std::find_if(std::begin(kJoins), std::end(kJoins),
                                    [&](std::string_view j) { return rest.starts_with(j); });
    if (join == std::end(kJoins)) return {};
    chain.converted += *join;
    pos += join->size();
  }
}

// "X -28.000" at `at`; `length` 0 when it is not a reading.
Chain FindReading(std::string_view text, std::size_t at) {
  if (std::string_view("XYZ").find(text[at]) == std::string_view::npos) return {};
  std::size_t pos = at + 1;
  while (pos < text.size() && text[pos] == ' ') ++pos;
  if (pos == at + 1 || pos >= text.size()) return {};
  const bool negative = text[pos] == '-';
  if (negative || text[pos] == '+') ++pos;
  const std::size_t length = NumberLength(text, pos);
  if (length == 0) return {};
  const double mm = std::strtod(std::string(text.substr(pos, length)).c_str(), nullptr);
  return {fmt::format("{} {}", text[at], FineLength(negative ? -mm : mm, LengthUnit::kInch)),
          pos + length - at};
}

}  // namespace

std::string FineLength(double mm, LengthUnit unit) {
  return FormatLength(mm, unit, unit == LengthUnit::kInch ? kInchDecimals : 3);
}

std::string PlainLength(double mm, LengthUnit unit) {
  return FormatLength(mm, unit, unit == LengthUnit::kInch ? kInchDecimals : 2);
}

std::string NamedLength(double mm, LengthUnit unit) {
  const bool inch = unit == LengthUnit::kInch;
  return fmt::format("{} {}", FormatTrimmed(inch ? mm / kMmPerInch : mm, inch ? kInchDecimals : 2),
                     UnitWord(unit));
}

std::string LimitsText(double lower_mm, double upper_mm, LengthUnit unit) {
  return FineLength(lower_mm, unit) + " to " + FineLength(upper_mm, unit);
}

std::string ChanceText(const Chance& chance) {
  const int low = Hundredths(chance.low);
  const int high = Hundredths(chance.high);
  const int step = high - low > 10 ? 5 : 1;
  const int middle = ToStep(Hundredths(chance.odds), step);
  if (step == 1 && middle >= 100) return "over 99 in 100";
  if (step == 1 && middle <= 0) return "under 1 in 100";
  std::string text = fmt::format("{}{} in 100", step > 1 ? "about " : "", middle);
  const int shown_low = ToStep(low, step);
  const int shown_high = ToStep(high, step);
  if (shown_low != shown_high) text += fmt::format(" ({}-{})", shown_low, shown_high);
  return text;
}

std::string ChanceText(double odds) {
  const int middle = Hundredths(odds);
  if (middle >= 100) return "over 99 in 100";
  if (middle <= 0) return "under 1 in 100";
  return fmt::format("{} in 100", middle);
}

std::string SeldomText(const Chance& chance) {
  constexpr double kSeldom = 1e-3;
  constexpr double kNever = 1e-9;
  const double missed = 1 - chance.odds;
  const double width = chance.high - chance.low;
  if (missed >= kSeldom || missed <= 0 || width > 0.5 * missed + kNever) return "";
  if (missed < kNever) return "missed in fewer than one of a thousand million builds";
  double builds = 1000;
  std::string zeros = ",000";
  std::string front = "1";
  while (missed * builds < 1) {
    builds *= 10;
    front += '0';
    if (front.size() > 3) {
      front = "1";
      zeros += ",000";
    }
  }
  const std::string low = FormatFixed((1 - chance.high) * builds, 1);
  const std::string high = FormatFixed((1 - chance.low) * builds, 1);
  const std::string text = fmt::format("missed in {} of {}{} builds", FormatFixed(missed * builds, 1), front, zeros);
  return low == high ? text : fmt::format("{} ({}-{})", text, low, high);
}

std::string ShopBandText(const Chance& chance) {
  const int low = Hundredths(chance.shop_low);
  const int high = Hundredths(chance.shop_high);
  if (low >= Hundredths(chance.low) && high <= Hundredths(chance.high)) return "";
  return fmt::format("{}-{} with what is not known of this shop", low, high);
}

int TallyOf(double odds) { return Hundredths(odds); }

std::string TimeText(double minutes) {
  long whole = std::lround(minutes);
  if (whole < 1) return minutes > 0 ? "under 1 min" : "0 min";
  if (whole >= 120) whole = (whole + 2) / 5 * 5;
  if (whole < 60) return fmt::format("{} min", whole);
  if (whole % 60 == 0) return fmt::format("{} h", whole / 60);
  return fmt::format("{} h {} min", whole / 60, whole % 60);
}

std::string TimeChangeText(double minutes) {
  if (std::abs(minutes) < 0.5) return "no longer";
  return minutes > 0 ? TimeText(minutes) + " more" : TimeText(-minutes) + " less";
}

namespace {

// A bare number with a decimal point that is a length; `length` 0 when it is not.
Chain FindBareLength(std::string_view text, std::size_t at) {
  static constexpr std::string_view kOthers[] = {" deg", " bar", " h", " %", "%", " times", " min"};
  const std::size_t length = NumberLength(text, at);
  if (length == 0 || text.substr(at, length).find('.') == std::string_view::npos) return {};
  const std::string_view rest = text.substr(at + length);
  for (const std::string_view other : kOthers) {
    if (rest.starts_with(other) &&
        (rest.size() == other.size() || other == " deg" || !IsWordChar(rest[other.size()]))) {
      return {};
    }
  }
  const double mm = std::strtod(std::string(text.substr(at, length)).c_str(), nullptr);
  return {FineLength(mm, LengthUnit::kInch), length};
}

// "7.2" behind "step ": no length.
std::size_t StepNumberLength(std::string_view text, std::size_t at) {
  return text.substr(0, at).ends_with("step ") ? NumberLength(text, at) : 0;
}

std::string Converted(std::string_view sentence, LengthUnit unit,
                      const std::vector<std::string>& kept, bool bare) {
  if (unit == LengthUnit::kMillimetre) return std::string(sentence);
  std::string out;
  for (std::size_t at = 0; at < sentence.size();) {
    const std::string_view rest = sentence.substr(at);
    const bool word_starts = at == 0 || (!IsWordChar(sentence[at - 1]) && sentence[at - 1] != '.');
    const auto name = std::find_if(kept.begin(), kept.end(), [&](const std::string& k) {
      return !k.empty() && rest.starts_with(k);
    });
    if (word_starts && name != kept.end()) {
      out += *name;
      at += name->size();
      continue;
    }
    if (const std::size_t step = StepNumberLength(sentence, at); step > 0) {
      out += sentence.substr(at, step);
      at += step;
      continue;
    }
    Chain found;
    if (word_starts) found = FindChain(sentence, at);
    if (word_starts && found.length == 0) found = FindReading(sentence, at);
    if (word_starts && bare && found.length == 0) found = FindBareLength(sentence, at);
    if (found.length > 0) {
      out += found.converted;
      at += found.length;
    } else {
      out += sentence[at++];
    }
  }
  return out;
}

}  // namespace

UnitNumber NumberWithUnit(std::string_view sentence, std::size_t at) {
  Chain found = FindChain(sentence, at);
  if (found.length == 0) found = FindReading(sentence, at);
  return {std::move(found.converted), found.length};
}

std::string SentenceInUnit(std::string_view sentence, LengthUnit unit,
                           const std::vector<std::string>& kept) {
  return Converted(sentence, unit, kept, false);
}

std::string ShopSentenceInUnit(std::string_view sentence, LengthUnit unit,
                               const std::vector<std::string>& kept) {
  return Converted(sentence, unit, kept, true);
}

std::string WithoutBrackets(std::string_view sentence) {
  std::string out;
  int depth = 0;
  for (const char c : sentence) {
    if (c == '(') {
      if (depth++ == 0 && !out.empty() && out.back() == ' ') out.pop_back();
    } else if (c == ')') {
      depth = std::max(0, depth - 1);
    } else if (depth == 0) {
      out += c;
    }
  }
  return out;
}

std::string DegreesAndMinutes(double angle_deg) {
  const long minutes = std::lround(angle_deg * 60);
  return fmt::format("{} deg {:02d} min", minutes / 60, minutes % 60);
}

}  // namespace fitwright::sheets
