// Hole circles of the usual dividing heads and rotary tables.
#pragma once

#include <span>
#include <string_view>

namespace fitwright::trade {

using HoleCircles = std::span<const int>;  // holes of each circle of one plate, ascending

struct DividingSet {
  std::string_view name;   // one word: "head_40"
  std::string_view words;  // for the reader
  int worm_ratio = 0;      // turns of the crank for one turn of the work
  std::span<const HoleCircles> plates;
};

std::span<const DividingSet> DividingSets();
// Null when there is none of that name.
const DividingSet* FindDividingSet(std::string_view name);

}  // namespace fitwright::trade
