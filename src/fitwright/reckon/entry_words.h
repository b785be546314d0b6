// Words of the catalogue's inputs that stand for data of the trade.
#pragma once

#include <string_view>
#include <vector>

#include "fitwright/reckon/catalogue.h"
#include "fitwright/trade/materials.h"

namespace fitwright::reckon {

// The material that an input names. unknown_material with the nearest names.
Result<const trade::Material*> MaterialIn(const Given& given, std::string_view input);

// Poisson's ratio, from memory: steels 0.30 (stainless too), aluminium 0.33, brass and bronze 0.34,
// grey iron 0.26.
double PoissonOf(const trade::Material& material);

inline Input Material(std::string_view name, std::string_view about) {
  return Needs(name, Kind::kWord, about, 0, 0);
}

}  // namespace fitwright::reckon
