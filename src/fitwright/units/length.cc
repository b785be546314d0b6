#include "fitwright/units/length.h"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <optional>
#include <vector>

#include "fitwright/units/geometry.h"
#include "fitwright/units/letters.h"

namespace fitwright {
namespace {

constexpr std::string_view kLengthRemedy =
    "write a number with or without a unit: 12.5, 12.5 mm, 1/2 in, 1-1/8 in, 0.375 in";
constexpr std::string_view kAngleRemedy =
    "write degrees or name the unit: 63.43, 63 deg 26 min, 1.2 mrad, 0.01 rad";

Error Bad(ErrorCode code, std::string_view text, std::string message, std::string_view remedy) {
  Error error;
  error.code = code;
  error.message = std::move(message);
  error.value = std::string(text);
  error.remedy = std::string(remedy);
  return error;
}


std::string_view Trim(std::string_view text) {
  while (!text.empty() && IsSpace(text.front())) text.remove_prefix(1);
  while (!text.empty() && IsSpace(text.back())) text.remove_suffix(1);
  return text;
}

enum class NumberFault { kNone, kSyntax, kNotFinite };

struct Number {
  double value = 0;
  std::size_t used = 0;  // characters read
  NumberFault fault = NumberFault::kNone;
};

// An unsigned decimal number at the front of text: digits, a point, an exponent.
Number ReadDecimal(std::string_view text) {
  Number number;
  const bool starts = !text.empty() && (IsDigit(text.front()) || text.front() == '.');
  if (!starts) {
    number.fault = NumberFault::kSyntax;
    return number;
  }
  const auto read = std::from_chars(text.data(), text.data() + text.size(), number.value);
  number.used = static_cast<std::size_t>(read.ptr - text.data());
  if (read.ec == std::errc::result_out_of_range) {
    number.fault = NumberFault::kNotFinite;
  } else if (read.ec != std::errc{}) {
    number.fault = NumberFault::kSyntax;
  }
  return number;
}

std::size_t SkipSpace(std::string_view text, std::size_t from) {
  while (from < text.size() && IsSpace(text[from])) ++from;
  return from;
}

// The digits at text[from...], as a whole number.
std::optional<double> ReadWhole(std::string_view text, std::size_t& from) {
  const std::size_t begin = from;
  double value = 0;
  while (from < text.size() && IsDigit(text[from])) value = value * 10 + (text[from++] - '0');
  if (from == begin || from - begin > 9) return std::nullopt;
  return value;
}

// "3/8" at text[from...]; moves from past it.
std::optional<double> ReadFraction(std::string_view text, std::size_t& from) {
  const auto above = ReadWhole(text, from);
  if (!above || from >= text.size() || text[from] != '/') return std::nullopt;
  ++from;
  const auto below = ReadWhole(text, from);
  if (!below || *below == 0) return std::nullopt;
  return *above / *below;
}

// Unsigned: decimal, fraction, or whole and fraction joined by '-' or space.
Number ReadMagnitude(std::string_view text) {
  Number number;
  std::size_t at = 0;
  if (const auto fraction = ReadFraction(text, at)) {
    return {*fraction, at, NumberFault::kNone};
  }
  number = ReadDecimal(text);
  if (number.fault != NumberFault::kNone) return number;
  at = number.used;
  if (at < text.size() && text[at] == '/') return {0, at, NumberFault::kSyntax};
  const bool whole = text.substr(0, at).find_first_not_of("0123456789") == std::string_view::npos;
  if (!whole || at >= text.size()) return number;
  std::size_t next = text[at] == '-' ? at + 1 : SkipSpace(text, at);
  if (next == at || next >= text.size() || !IsDigit(text[next])) return number;
  const auto fraction = ReadFraction(text, next);
  if (!fraction || *fraction >= 1) return {0, at, NumberFault::kSyntax};
  return {number.value + *fraction, next, NumberFault::kNone};
}

bool NamesNoNumber(std::string_view text) {
  for (const std::string_view word : {"nan", "inf", "infinity", "NaN", "Inf", "NAN", "INF"}) {
    if (text.substr(0, word.size()) == word) return true;
  }
  return false;
}

// Takes a sign off the front of text.
double TakeSign(std::string_view& text) {
  if (text.empty() || (text.front() != '-' && text.front() != '+')) return 1;
  const double sign = text.front() == '-' ? -1 : 1;
  text.remove_prefix(1);
  return sign;
}

std::optional<double> LengthFactor_mm(std::string_view unit, LengthUnit bare) {
  if (unit.empty()) return bare == LengthUnit::kInch ? kMmPerInch : 1.0;
  if (unit == "mm") return 1.0;
  if (unit == "um") return 1e-3;
  if (unit == "cm") return 10.0;
  if (unit == "m") return 1000.0;
  if (unit == "in" || unit == "inch" || unit == "\"") return kMmPerInch;
  return std::nullopt;
}

std::optional<double> AngleFactor_rad(std::string_view unit) {
  if (unit.empty() || unit == "deg") return kRadPerDeg;
  if (unit == "min" || unit == "'") return kRadPerDeg / 60;
  if (unit == "s" || unit == "\"") return kRadPerDeg / 3600;
  if (unit == "mrad") return 1e-3;
  if (unit == "rad") return 1.0;
  return std::nullopt;
}

// A number written out in decimal: 0.DIGITS * 10^exponent.
struct Decimal {
  bool negative = false;
  std::string digits;
  int exponent = 0;
};

constexpr int kSignificantDigits = 15;

Decimal DecimalOf(double value) {
  const std::string text = fmt::format("{:.{}e}", std::fabs(value), kSignificantDigits - 1);
  const std::size_t e = text.find('e');
  Decimal decimal;
  decimal.negative = std::signbit(value);
  decimal.digits = text.substr(0, 1) + text.substr(2, e - 2);
  int exponent = 0;
  const char* from = text.data() + e + 1;
  if (*from == '+') ++from;
  std::from_chars(from, text.data() + text.size(), exponent);
  decimal.exponent = exponent + 1;
  return decimal;
}

// Keeps the digits down to 10^-places, half away from zero.
void RoundDecimal(Decimal& decimal, int places) {
  const int kept = decimal.exponent + places;
  if (kept >= static_cast<int>(decimal.digits.size())) return;
  if (kept < 0) {
    decimal.digits = "0";
    decimal.exponent = 1;
    return;
  }
  const bool up = decimal.digits[static_cast<std::size_t>(kept)] >= '5';
  decimal.digits.resize(static_cast<std::size_t>(kept));
  int i = kept - 1;
  while (up && i >= 0 && decimal.digits[static_cast<std::size_t>(i)] == '9') {
    decimal.digits[static_cast<std::size_t>(i--)] = '0';
  }
  if (!up) return;
  if (i >= 0) {
    ++decimal.digits[static_cast<std::size_t>(i)];
  } else {
    decimal.digits.insert(0, "1");
    ++decimal.exponent;
  }
}

std::string TextOf(const Decimal& decimal, int places) {
  const auto digit = [&](int position) {  // 0 = first of digits
    const bool inside = position >= 0 && position < static_cast<int>(decimal.digits.size());
    return inside ? decimal.digits[static_cast<std::size_t>(position)] : '0';
  };
  std::string text;
  bool nonzero = false;
  const int first = decimal.exponent > 0 ? 0 : decimal.exponent - 1;
  for (int position = first; position < decimal.exponent + places; ++position) {
    if (position == decimal.exponent) text += '.';
    text += digit(position);
    nonzero = nonzero || digit(position) != '0';
  }
  return decimal.negative && nonzero ? "-" + text : text;
}

int HeldPlaces(int decimals) { return decimals < 0 ? 0 : decimals > 12 ? 12 : decimals; }

double InUnit(double mm, LengthUnit unit) {
  return unit == LengthUnit::kInch ? mm / kMmPerInch : mm;
}

}  // namespace

Result<double> ParseLength_mm(std::string_view text, LengthUnit bare) {
  std::string_view rest = Trim(text);
  const double sign = TakeSign(rest);
  const Number number = ReadMagnitude(rest);
  if (number.fault == NumberFault::kNotFinite || NamesNoNumber(rest)) {
    return Unexpected(
        Bad(ErrorCode::kNotFinite, text, "a length must be a finite number", kLengthRemedy));
  }
  if (number.fault != NumberFault::kNone) {
    return Unexpected(Bad(ErrorCode::kBadLength, text, "this is not a length", kLengthRemedy));
  }
  const std::string_view unit = Trim(rest.substr(number.used));
  const auto factor = LengthFactor_mm(unit, bare);
  if (!factor) {
    return Unexpected(Bad(ErrorCode::kBadLength, text,
                          fmt::format("'{}' is not a unit of length", unit), kLengthRemedy));
  }
  const double mm = sign * number.value * *factor;
  if (!std::isfinite(mm)) {
    return Unexpected(
        Bad(ErrorCode::kNotFinite, text, "a length must be a finite number", kLengthRemedy));
  }
  return mm == 0 ? 0.0 : mm;
}

Result<double> ParseAngle_rad(std::string_view text) {
  std::string_view rest = Trim(text);
  const double sign = TakeSign(rest);
  if (NamesNoNumber(rest)) {
    return Unexpected(
        Bad(ErrorCode::kNotFinite, text, "an angle must be a finite number", kAngleRemedy));
  }
  double sum_rad = 0;
  double last_factor = 10;  // units must come in falling size: deg, min, s
  do {
    const Number number = ReadDecimal(rest);
    if (number.fault == NumberFault::kNotFinite) {
      return Unexpected(
          Bad(ErrorCode::kNotFinite, text, "an angle must be a finite number", kAngleRemedy));
    }
    if (number.fault != NumberFault::kNone) {
      return Unexpected(Bad(ErrorCode::kBadAngle, text, "this is not an angle", kAngleRemedy));
    }
    rest = Trim(rest.substr(number.used));
    std::size_t length = 0;
    while (length < rest.size() && !IsSpace(rest[length]) && !IsDigit(rest[length])) ++length;
    const auto factor = AngleFactor_rad(rest.substr(0, length));
    if (!factor || *factor >= last_factor) {
      return Unexpected(Bad(ErrorCode::kBadAngle, text,
                            fmt::format("'{}' is not a unit of angle here", rest.substr(0, length)),
                            kAngleRemedy));
    }
    last_factor = *factor;
    sum_rad += number.value * *factor;
    rest = Trim(rest.substr(length));
  } while (!rest.empty());
  return sum_rad == 0 ? 0.0 : sign * sum_rad;
}

double RoundHalfAway(double value, int decimals) {
  if (!std::isfinite(value)) return value;
  const std::string text = FormatFixed(value, decimals);
  double rounded = 0;
  std::from_chars(text.data(), text.data() + text.size(), rounded);
  return rounded == 0 ? 0.0 : rounded;
}

std::string FormatFixed(double value, int decimals) {
  if (std::isnan(value)) return "nan";
  if (std::isinf(value)) return value < 0 ? "-inf" : "inf";
  Decimal decimal = DecimalOf(value);
  const int places = HeldPlaces(decimals);
  RoundDecimal(decimal, places);
  return TextOf(decimal, places);
}

std::string FormatTrimmed(double value, int decimals) {
  std::string text = FormatFixed(value, decimals);
  if (text.find('.') == std::string::npos) return text;
  while (text.back() == '0') text.pop_back();
  if (text.back() == '.') text.pop_back();
  return text;
}

std::string FormatLength(double mm, LengthUnit unit, int decimals) {
  return FormatFixed(InUnit(mm, unit), decimals);
}

std::string FormatLengthWithUnit(double mm, LengthUnit unit, int decimals) {
  return fmt::format("{} {}", FormatLength(mm, unit, decimals), UnitWord(unit));
}

std::string FormatLimits(double lower_mm, double upper_mm, LengthUnit unit, int decimals) {
  const std::string lower = FormatLength(lower_mm, unit, decimals);
  const std::string upper = FormatLength(upper_mm, unit, decimals);
  const bool negative = lower.front() == '-' || upper.front() == '-';
  return fmt::format("{}{}{}", lower, negative ? " to " : "-", upper);
}

std::string FormatSize(const Size& size, LengthUnit unit, int decimals) {
  const std::string nominal = FormatTrimmed(InUnit(size.nominal_mm, unit), decimals);
  const std::string limits = FormatLimits(size.lower_mm, size.upper_mm, unit, decimals);
  const std::string fit = size.fit.empty() ? "" : " " + size.fit;
  return fmt::format("{}{} ({})", nominal, fit, limits);
}

int DecimalsFor(double width_mm, LengthUnit unit) {
  constexpr double kFine_mm = 0.1;
  const int places = width_mm < kFine_mm ? 3 : 2;
  return unit == LengthUnit::kInch ? places + 1 : places;
}

std::string FormatAngle_deg(double rad, int decimals) {
  return FormatFixed(rad / kRadPerDeg, decimals);
}

std::string FormatAngle_degmin(double rad) {
  if (!std::isfinite(rad)) return FormatFixed(rad, 0);
  const double minutes = RoundHalfAway(std::fabs(rad) / kRadPerDeg * 60, 0);
  const double degrees = std::floor(minutes / 60);
  const char* sign = rad < 0 && minutes > 0 ? "-" : "";
  return fmt::format("{}{:.0f} deg {:.0f} min", sign, degrees, minutes - 60 * degrees);
}

std::string_view UnitWord(LengthUnit unit) { return unit == LengthUnit::kInch ? "in" : "mm"; }

}  // namespace fitwright
