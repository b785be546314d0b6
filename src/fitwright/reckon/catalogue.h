// Every reckoning by its trade name: what it is for, what it needs, and the function that does it.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/reckon/quantity.h"
#include "fitwright/reckon/reckoned.h"

namespace fitwright::reckon {

inline constexpr double kTurn_rad = 2 * kPi;

struct Input {
  std::string_view name;
  Kind kind = Kind::kLength;
  std::string_view about;
  std::string_view fallback;  // taken when not given, as written with its unit; "" for none
  bool needed = false;
  double least = 0;  // inside units, both allowed; of each value of a list
  double most = 0;
  std::string_view choices;  // words parted by blanks; "" for any word
};

// Least size of a length that must not be nothing, and the longest that is taken.
inline constexpr double kLeastLength_mm = 0.001;
inline constexpr double kMostLength_mm = 1e5;

constexpr Input Needs(std::string_view name, Kind kind, std::string_view about,
                      double least = kLeastLength_mm, double most = kMostLength_mm) {
  return {name, kind, about, "", true, least, most, ""};
}
constexpr Input Takes(std::string_view name, Kind kind, std::string_view about,
                      double least = kLeastLength_mm, double most = kMostLength_mm) {
  return {name, kind, about, "", false, least, most, ""};
}
constexpr Input Usual(std::string_view name, Kind kind, std::string_view fallback,
                      std::string_view about, double least = kLeastLength_mm,
                      double most = kMostLength_mm) {
  return {name, kind, about, fallback, false, least, most, ""};
}
constexpr Input Choice(std::string_view name, std::string_view fallback, std::string_view about,
                       std::string_view choices) {
  return {name, Kind::kWord, about, fallback, false, 0, 0, choices};
}

struct GivenValue {
  const Input* input = nullptr;
  bool by_fallback = false;
  double number = 0;
  std::string word;  // words; and lists as written
  std::vector<double> list;
};

// The values that a reckoning starts from, read and inside their ranges.
class Given {
 public:
  Given(LengthUnit unit, std::vector<GivenValue> values)
      : unit_(unit), values_(std::move(values)) {}
  LengthUnit unit() const { return unit_; }
  const std::vector<GivenValue>& values() const { return values_; }

  bool Has(std::string_view name) const { return Find(name) != nullptr; }
  // The value must be there: needed, or with a fallback, or asked for with Has.
  double Number(std::string_view name) const { return Value(name).number; }
  int Count(std::string_view name) const { return static_cast<int>(Value(name).number); }
  const std::string& Word(std::string_view name) const { return Value(name).word; }
  const std::vector<double>& List(std::string_view name) const { return Value(name).list; }
  std::optional<double> NumberIfAny(std::string_view name) const;

 private:
  const GivenValue* Find(std::string_view name) const;
  const GivenValue& Value(std::string_view name) const;

  LengthUnit unit_;
  std::vector<GivenValue> values_;
};

struct Reckoning {
  std::string_view name;     // "bolt-circle"
  std::string_view purpose;  // one sentence
  std::string_view example;  // the inputs of a worked example
  std::vector<Input> inputs;
  Result<Reckoned> (*calc)(const Given& given) = nullptr;
};

// In the order they are listed.
std::span<const Reckoning> Reckonings();
// unknown_word with the nearest names as remedy.
Result<const Reckoning*> FindReckoning(std::string_view name);

// Values written NAME=VALUE, bare numbers in `unit`. Errors (where.key = the input): usage (no
// "="), unknown_name (with the nearest), duplicate_name, missing_key, unknown_word (not one of the
// choices), out_of_range (with the range), and those of ReadQuantity.
Result<Given> ReadGiven(const Reckoning& reckoning, const std::vector<std::string>& written,
                        LengthUnit unit);

// "0.001 to 1000 mm"; "" for words.
std::string RangeText(const Input& input, LengthUnit unit);

// An error about one input, for the functions of the catalogue.
Error Refused(ErrorCode code, std::string_view input, std::string value, std::string message,
              std::string remedy);

}  // namespace fitwright::reckon
