// A dozen tests by which a shop learns what it holds: one hour each at most, with what stands in
// any such shop. What is written down are deviations of one spread, in its row's own unit.
#pragma once

#include <span>
#include <string_view>

#include "fitwright/variation/spreads.h"

namespace fitwright::rework {

struct ShopTest {
  variation::SpreadId spread;
  int minutes;  // opinion
  int readings;
  std::string_view needs;
  std::string_view work;   // what to do
  std::string_view write;  // what to write down, each time
  double share;            // sigma of what is written for a figure of 1
};
std::span<const ShopTest> ShopTests();
const ShopTest* FindShopTest(std::string_view spread);

}  // namespace fitwright::rework
