// How the tables of this layer refuse a question.
#pragma once

#include <fmt/format.h>

#include <cmath>
#include <optional>
#include <string>
#include <utility>

#include "fitwright/base/error.h"

namespace fitwright::trade {

inline Error Fault(ErrorCode code, std::string value, std::string message, std::string remedy) {
  Error error;
  error.code = code;
  error.value = std::move(value);
  error.message = std::move(message);
  error.remedy = std::move(remedy);
  return error;
}

// kNotFinite, kNotPositive, or kOutOfRange unless over_mm < size_mm <= to_mm (to rounding of one
// part in 1e12). `what` names the question, e.g. "a parallel key".
inline std::optional<Error> RangeFault(double size_mm, double over_mm, double to_mm,
                                       const char* what) {
  constexpr double kSlack = 1e-12;
  if (size_mm > over_mm && size_mm > 0 && size_mm <= to_mm * (1 + kSlack)) return std::nullopt;
  const std::string value = fmt::format("{}", size_mm);
  if (!std::isfinite(size_mm)) {
    return Fault(ErrorCode::kNotFinite, value, fmt::format("{} needs a finite size", what),
                 "give the size in mm");
  }
  if (size_mm <= 0) {
    return Fault(ErrorCode::kNotPositive, value, fmt::format("{} needs a size above 0 mm", what),
                 "give the size in mm");
  }
  return Fault(ErrorCode::kOutOfRange, value,
               fmt::format("{} is tabled here over {:g} up to {:g} mm", what, over_mm, to_mm),
               fmt::format("choose a size over {:g} up to {:g} mm", over_mm, to_mm));
}

}  // namespace fitwright::trade
