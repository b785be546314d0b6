// Part sheets made up from a seed for reading back: blocks and turned work with up to some
// twenty-five features of every kind that has a shape. What a shop could make is not asked.
#pragma once

#include <cstdint>
#include <string>

namespace fitwright::testing {

struct RandomDesignWish {
  bool crowded = false;  // features are put over each other; else none meets another
  int most = 25;         // features
};

struct RandomDesign {
  std::string name;   // also the sheet's file name
  std::string sheet;  // the text of parts/NAME.toml
  int features = 0;   // that have a shape, faces of a block not counted
};

// A pure function of seed and wish. Crowded ones need not bound a sound solid: features may meet in
// a line or point.
RandomDesign MakeRandomDesign(std::uint64_t seed, const RandomDesignWish& wish);

}  // namespace fitwright::testing
