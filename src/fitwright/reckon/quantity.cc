#include "fitwright/reckon/quantity.h"

#include <fmt/format.h>

#include <array>
#include <charconv>
#include <cmath>

#include "fitwright/units/geometry.h"
#include "fitwright/units/length.h"

namespace fitwright::reckon {
namespace {

// Exact by definition: 1 in = 25.4 mm, 1 lb = 0.45359237 kg, g = 9.80665 m/s2, 1 hp = 550 ft lbf/s.
constexpr double kKgPerPound = 0.45359237;
constexpr double kNPerPound = kKgPerPound * 9.80665;
constexpr double kNmPerPoundInch = kNPerPound * kMmPerInch / 1000;
constexpr double kWPerHorsepower = 550 * 12 * kNmPerPoundInch;
constexpr double kMPaPerPsi = kNPerPound / (kMmPerInch * kMmPerInch);
constexpr double kDegCPerDegF = 5.0 / 9.0;

// inside = scale * (written + offset). The first of each system is the one that is shown.
struct UnitRow {
  Kind kind;
  std::string_view word;
  double scale;
  int decimals;
  bool metric;
  bool inch;
  double offset = 0;
};
constexpr auto kUnits = std::to_array<UnitRow>({
    {Kind::kLength, "mm", 1, 3, true, false},
    {Kind::kLength, "in", kMmPerInch, 4, false, true},
    {Kind::kFine, "mm", 1, 4, true, false},
    {Kind::kFine, "in", kMmPerInch, 5, false, true},
    {Kind::kAngle, "deg", kRadPerDeg, 4, true, true},
    {Kind::kCount, "", 1, 0, true, true},
    {Kind::kNumber, "", 1, 5, true, true},
    {Kind::kPercent, "%", 1, 1, true, true},
    {Kind::kSurfaceSpeed, "m/min", 1, 1, true, false},
    {Kind::kSurfaceSpeed, "ft/min", 12 * kMmPerInch / 1000, 0, false, true},
    {Kind::kTurns, "rpm", 1, 0, true, true},
    {Kind::kFeedRate, "mm/min", 1, 1, true, false},
    {Kind::kFeedRate, "in/min", kMmPerInch, 2, false, true},
    {Kind::kForce, "N", 1, 0, true, false},
    {Kind::kForce, "lbf", kNPerPound, 1, false, true},
    {Kind::kForce, "kN", 1000, 3, false, false},
    {Kind::kTorque, "N m", 1, 2, true, false},
    {Kind::kTorque, "lbf in", kNmPerPoundInch, 1, false, true},
    {Kind::kTorque, "Nm", 1, 2, false, false},
    {Kind::kPower, "W", 1, 0, true, false},
    {Kind::kPower, "hp", kWPerHorsepower, 3, false, true},
    {Kind::kPower, "kW", 1000, 3, false, false},
    {Kind::kMass, "kg", 1, 4, true, false},
    {Kind::kMass, "lb", kKgPerPound, 4, false, true},
    {Kind::kMass, "g", 0.001, 1, false, false},
    {Kind::kPressure, "MPa", 1, 2, true, false},
    {Kind::kPressure, "psi", kMPaPerPsi, 0, false, true},
    {Kind::kPressure, "GPa", 1000, 1, false, false},
    {Kind::kTemperature, "degC", 1, 1, true, false},
    {Kind::kTemperature, "degF", kDegCPerDegF, 1, false, true, -32},
    {Kind::kTemperature, "C", 1, 1, false, false},
    {Kind::kTemperature, "F", kDegCPerDegF, 1, false, false, -32},
    {Kind::kRise, "K", 1, 1, true, false},
    {Kind::kRise, "degF", kDegCPerDegF, 1, false, true},
    {Kind::kVolume, "cm3", 1000, 3, true, false},
    {Kind::kVolume, "in3", kMmPerInch* kMmPerInch* kMmPerInch, 4, false, true},
});

const UnitRow& ShownRow(Kind kind, LengthUnit unit) {
  for (const UnitRow& row : kUnits) {
    if (row.kind == kind && (unit == LengthUnit::kInch ? row.inch : row.metric)) return row;
  }
  FailCheck("kind has a unit", __FILE__, __LINE__, std::to_string(static_cast<int>(kind)));
}

std::string_view Trimmed(std::string_view text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  return text;
}

Error Wrong(ErrorCode code, std::string_view value, std::string message, std::string remedy) {
  return {code, std::move(message), std::string(value), std::move(remedy), {}};
}

Kind OneOf(Kind list) {
  if (list == Kind::kLengths) return Kind::kLength;
  return list == Kind::kCounts ? Kind::kCount : Kind::kNumber;
}

Result<double> ReadPlain(Kind kind, std::string_view text, LengthUnit bare) {
  const std::string_view trimmed = Trimmed(text);
  double number = 0;
  const char* end = trimmed.data() + trimmed.size();
  const auto read = std::from_chars(trimmed.data(), end, number);
  if (trimmed.empty() || read.ptr == trimmed.data()) {
    return Unexpected(
        Wrong(ErrorCode::kWrongType, text, "not a number", "write it in " + UnitsOf(kind)));
  }
  if (read.ec != std::errc{} || !std::isfinite(number)) {
    return Unexpected(
        Wrong(ErrorCode::kNotFinite, text, "not a finite number", "write a smaller one"));
  }
  const std::string_view word = Trimmed({read.ptr, static_cast<std::size_t>(end - read.ptr)});
  const UnitRow* found = word.empty() ? &ShownRow(kind, bare) : nullptr;
  for (const UnitRow& row : kUnits) {
    if (found == nullptr && row.kind == kind && row.word == word) found = &row;
  }
  if (found == nullptr) {
    return Unexpected(Wrong(ErrorCode::kWrongType, text, "not a unit of this kind of number",
                            "write it in " + UnitsOf(kind)));
  }
  const double inside = found->scale * (number + found->offset);
  if (kind == Kind::kCount && inside != std::round(inside)) {
    return Unexpected(
        Wrong(ErrorCode::kWrongType, text, "not a whole number", "write a whole number"));
  }
  return inside;
}

}  // namespace

Shown Show(Kind kind, double value, LengthUnit unit) {
  const UnitRow& row = ShownRow(kind, unit);
  const double shown = value / row.scale - row.offset;
  const bool trim = kind == Kind::kNumber;
  return {trim ? FormatTrimmed(shown, row.decimals) : FormatFixed(shown, row.decimals), row.word,
          shown};
}

std::string ShowWithUnit(Kind kind, double value, LengthUnit unit) {
  const Shown shown = Show(kind, value, unit);
  return shown.unit.empty() ? shown.text : fmt::format("{} {}", shown.text, shown.unit);
}

Result<double> ReadQuantity(Kind kind, std::string_view text, LengthUnit bare) {
  if (kind == Kind::kLength || kind == Kind::kFine) return ParseLength_mm(text, bare);
  if (kind == Kind::kAngle) return ParseAngle_rad(text);
  return ReadPlain(kind, text, bare);
}

Result<std::vector<double>> ReadQuantities(Kind kind, std::string_view text, LengthUnit bare) {
  std::vector<double> values;
  std::string_view rest = text;
  while (true) {
    const std::size_t comma = rest.find(',');
    std::string_view one = Trimmed(rest.substr(0, comma));
    double times = 1;
    const std::size_t cross = one.find('x');
    if (cross != std::string_view::npos) {
      const auto count = ReadPlain(Kind::kCount, one.substr(0, cross), bare);
      if (!count) return Unexpected(count.error());
      times = *count;
      one = one.substr(cross + 1);
    }
    const auto value = ReadQuantity(OneOf(kind), one, bare);
    if (!value) return Unexpected(value.error());
    if (times < 1 || static_cast<double>(values.size()) + times > kLongestList) {
      return Unexpected(Wrong(ErrorCode::kWrongCount, text,
                              fmt::format("a list holds 1 to {} values", kLongestList),
                              "write fewer, parted by commas: 3x120,85"));
    }
    values.insert(values.end(), static_cast<std::size_t>(times), *value);
    if (comma == std::string_view::npos) return values;
    rest = rest.substr(comma + 1);
  }
}

std::string UnitsOf(Kind kind) {
  if (kind == Kind::kLength || kind == Kind::kFine || kind == Kind::kLengths)
    return "mm, cm, m or in";
  if (kind == Kind::kAngle) return "deg, min, s, rad or mrad";
  std::string units;
  for (const UnitRow& row : kUnits) {
    if (row.kind != kind || row.word.empty()) continue;
    units += (units.empty() ? "" : ", ") + std::string(row.word);
  }
  return units.empty() ? "plain figures" : units;
}

}  // namespace fitwright::reckon
