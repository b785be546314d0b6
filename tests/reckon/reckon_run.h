// Runs a reckoning of the catalogue and finds its lines by label.
#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <string>
#include <vector>

#include "fitwright/reckon/catalogue.h"

namespace fitwright::reckon {

inline Result<Reckoned> Calc(const std::string& what, const std::vector<std::string>& values,
                            LengthUnit unit = LengthUnit::kMillimetre) {
  const auto reckoning = FindReckoning(what);
  if (!reckoning) return Unexpected(reckoning.error());
  const auto given = ReadGiven(**reckoning, values, unit);
  if (!given) return Unexpected(given.error());
  return (*reckoning)->calc(*given);
}

inline Reckoned Done(const std::string& what, const std::vector<std::string>& values,
                     LengthUnit unit = LengthUnit::kMillimetre) {
  auto reckoned = Calc(what, values, unit);
  if (!reckoned) {
    ADD_FAILURE() << what << ": " << Format(reckoned.error());
    return {};
  }
  return *std::move(reckoned);
}

// The number of the line so labelled, nan (which no comparison passes) when there is none.
inline double LineOf(const Reckoned& reckoned, const std::string& label) {
  for (const Line& line : reckoned.lines) {
    if (line.label == label && std::holds_alternative<double>(line.value)) {
      return std::get<double>(line.value);
    }
  }
  ADD_FAILURE() << "no line " << label;
  return std::numeric_limits<double>::quiet_NaN();
}

inline std::string WordOfLine(const Reckoned& reckoned, const std::string& label) {
  for (const Line& line : reckoned.lines) {
    if (line.label == label && std::holds_alternative<std::string>(line.value)) {
      return std::get<std::string>(line.value);
    }
  }
  ADD_FAILURE() << "no line " << label;
  return {};
}

}  // namespace fitwright::reckon
