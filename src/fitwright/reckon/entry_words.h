// Words of the catalogue's inputs that stand for data of the trade.
#pragma once

#include <string_view>
#include <vector>

#include "fitwright/reckon/catalogue.h"
#include "fitwright/trade/materials.h"

namespace fitwright::reckon {

// The material that an input names. unknown_material with the nearest names.
Result<const trade::Material*> MaterialIn(const Given& given, std::string_view input);

// An input that is one of these words (parted by blanks), or left out.
inline Input Among(std::string_view name, std::string_view about, std::string_view choices) {
  return {name, Kind::kWord, about, "", false, 0, 0, choices};
}

inline Input Material(std::string_view name, std::string_view about) {
  return Needs(name, Kind::kWord, about, 0, 0);
}

}  // namespace fitwright::reckon
