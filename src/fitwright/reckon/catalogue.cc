#include "fitwright/reckon/catalogue.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/base/check.h"
#include "fitwright/reckon/entries.h"
#include "fitwright/trade/nearest.h"
#include "fitwright/units/length.h"

namespace fitwright::reckon {
namespace {

constexpr std::size_t kOffered = 3;

std::vector<std::string_view> WordsIn(std::string_view text) {
  std::vector<std::string_view> words;
  while (!text.empty()) {
    const std::size_t blank = text.find(' ');
    words.push_back(text.substr(0, blank));
    if (blank == std::string_view::npos) break;
    text = text.substr(blank + 1);
  }
  return words;
}

std::string Listed(const std::vector<std::string_view>& words) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) text += i + 1 == words.size() ? " or " : ", ";
    text += words[i];
  }
  return text;
}

bool IsList(Kind kind) {
  return kind == Kind::kLengths || kind == Kind::kCounts || kind == Kind::kNumbers;
}

Kind KindOfOne(Kind kind) {
  if (kind == Kind::kLengths) return Kind::kLength;
  if (kind == Kind::kCounts) return Kind::kCount;
  return kind == Kind::kNumbers ? Kind::kNumber : kind;
}

std::optional<Error> FaultOfRange(const Input& input, double value, std::string_view written,
                                  LengthUnit unit) {
  // What the reading of a unit adds in rounding is no fault.
  const double slack = 1e-9 * (1 + std::max(std::abs(input.least), std::abs(input.most)));
  if (value >= input.least - slack && value <= input.most + slack) return std::nullopt;
  return Refused(ErrorCode::kOutOfRange, input.name, std::string(written),
                 fmt::format("{} goes from {}", input.about, RangeText(input, unit)),
                 "give one in that range");
}

Result<GivenValue> ReadWord(const Input& input, std::string_view text) {
  const auto choices = WordsIn(input.choices);
  const bool known =
      choices.empty() || std::find(choices.begin(), choices.end(), text) != choices.end();
  if (!known || text.empty()) {
    return Unexpected(Refused(ErrorCode::kUnknownWord, input.name, std::string(text),
                              fmt::format("no such word for {}", input.about),
                              choices.empty() ? "write a word" : "write " + Listed(choices)));
  }
  return GivenValue{&input, false, 0, std::string(text), {}};
}

Result<GivenValue> ReadValue(const Input& input, std::string_view text, LengthUnit unit) {
  if (input.kind == Kind::kWord) return ReadWord(input, text);
  GivenValue value{&input, false, 0, std::string(text), {}};
  if (IsList(input.kind)) {
    auto list = ReadQuantities(input.kind, text, unit);
    if (!list) {
      Error error = list.error();
      error.where.key = std::string(input.name);
      return Unexpected(std::move(error));
    }
    value.list = *std::move(list);
  } else {
    const auto number = ReadQuantity(input.kind, text, unit);
    if (!number) {
      Error error = number.error();
      error.where.key = std::string(input.name);
      return Unexpected(std::move(error));
    }
    value.number = *number;
  }
  for (const double one : IsList(input.kind) ? value.list : std::vector<double>{value.number}) {
    if (auto fault = FaultOfRange(input, one, text, unit)) return Unexpected(*std::move(fault));
  }
  return value;
}

const Input* InputOf(const Reckoning& reckoning, std::string_view name) {
  for (const Input& input : reckoning.inputs) {
    if (input.name == name) return &input;
  }
  return nullptr;
}

Error NoSuchInput(const Reckoning& reckoning, std::string_view name) {
  std::vector<std::string_view> known;
  for (const Input& input : reckoning.inputs) known.push_back(input.name);
  return Refused(ErrorCode::kUnknownName, "", std::string(name),
                 fmt::format("{} takes no such value", reckoning.name),
                 "it takes " + Listed(trade::NearestWords(name, known, known.size())));
}

}  // namespace

std::optional<double> Given::NumberIfAny(std::string_view name) const {
  const GivenValue* value = Find(name);
  return value != nullptr ? std::optional(value->number) : std::nullopt;
}

const GivenValue* Given::Find(std::string_view name) const {
  for (const GivenValue& value : values_) {
    if (value.input->name == name) return &value;
  }
  return nullptr;
}

const GivenValue& Given::Value(std::string_view name) const {
  const GivenValue* value = Find(name);
  FW_CHECK(value != nullptr, name);
  return *value;
}

std::span<const Reckoning> Reckonings() {
  static const std::vector<Reckoning> all = [] {
    std::vector<Reckoning> list;
    for (const auto entries : AllEntries()) {
      for (Reckoning& one : entries()) list.push_back(std::move(one));
    }
    return list;
  }();
  return all;
}

Result<const Reckoning*> FindReckoning(std::string_view name) {
  std::vector<std::string_view> known;
  for (const Reckoning& reckoning : Reckonings()) {
    if (reckoning.name == name) return &reckoning;
    known.push_back(reckoning.name);
  }
  return Unexpected(Refused(ErrorCode::kUnknownWord, "", std::string(name), "no such reckoning",
                            "did you mean " + Listed(trade::NearestWords(name, known, kOffered)) +
                                "? `fitwright reckon` lists all"));
}

Result<Given> ReadGiven(const Reckoning& reckoning, const std::vector<std::string>& written,
                        LengthUnit unit) {
  std::vector<GivenValue> values;
  for (const std::string& text : written) {
    const std::size_t equals = text.find('=');
    if (equals == std::string::npos) {
      return Unexpected(Refused(ErrorCode::kUsage, "", text, "values are written NAME=VALUE",
                                fmt::format("for example: {}", reckoning.example)));
    }
    const std::string name = text.substr(0, equals);
    const Input* input = InputOf(reckoning, name);
    if (input == nullptr) return Unexpected(NoSuchInput(reckoning, name));
    for (const GivenValue& before : values) {
      if (before.input != input) continue;
      return Unexpected(Refused(ErrorCode::kDuplicateName, input->name, text.substr(equals + 1),
                                "given twice", "give it once"));
    }
    auto value = ReadValue(*input, std::string_view(text).substr(equals + 1), unit);
    if (!value) return Unexpected(value.error());
    values.push_back(*std::move(value));
  }
  std::vector<GivenValue> in_order;
  for (const Input& input : reckoning.inputs) {
    const auto at = std::find_if(values.begin(), values.end(),
                                 [&](const GivenValue& v) { return v.input == &input; });
    if (at != values.end()) {
      in_order.push_back(std::move(*at));
    } else if (!input.fallback.empty()) {
      auto value = ReadValue(input, input.fallback, LengthUnit::kMillimetre);
      FW_CHECK(value.has_value(), reckoning.name, input.name);
      value.value().by_fallback = true;
      in_order.push_back(*std::move(value));
    } else if (input.needed) {
      return Unexpected(Refused(ErrorCode::kMissingKey, input.name, "",
                                fmt::format("{} needs {}", reckoning.name, input.about),
                                fmt::format("for example: {}", reckoning.example)));
    }
  }
  return Given(unit, std::move(in_order));
}

std::string RangeText(const Input& input, LengthUnit unit) {
  if (input.kind == Kind::kWord) return "";
  const Kind kind = KindOfOne(input.kind);
  const Shown least = Show(kind, input.least, unit);
  const Shown most = Show(kind, input.most, unit);
  return fmt::format("{} to {}{}{}", FormatTrimmed(least.value, 5), FormatTrimmed(most.value, 5),
                     most.unit.empty() ? "" : " ", most.unit);
}

Error Refused(ErrorCode code, std::string_view input, std::string value, std::string message,
              std::string remedy) {
  Error error{code, std::move(message), std::move(value), std::move(remedy), {}};
  error.where.key = std::string(input);
  return error;
}

}  // namespace fitwright::reckon
