#include "fitwright/trade/keys.h"

#include <array>
#include <cmath>

#include "fitwright/trade/fault.h"

namespace fitwright::trade {
namespace {

// DIN 6885-1:1968 form for ordinary machines, agreeing with ISO/R 773 and JIS B 1301. Sizes and
// depths of 6 to 30 mm read in two public listings, 30 to 65 mm in one; the tolerance of the depths
// (0.1 to 6 mm of key, 0.2 over) from memory.
constexpr auto kKeys = std::to_array<Key>({{6, 8, 2, 2, 1.2, 1.0, 0.1},
                                           {8, 10, 3, 3, 1.8, 1.4, 0.1},
                                           {10, 12, 4, 4, 2.5, 1.8, 0.1},
                                           {12, 17, 5, 5, 3.0, 2.3, 0.1},
                                           {17, 22, 6, 6, 3.5, 2.8, 0.1},
                                           {22, 30, 8, 7, 4.0, 3.3, 0.2},
                                           {30, 38, 10, 8, 5.0, 3.3, 0.2},
                                           {38, 44, 12, 8, 5.0, 3.3, 0.2},
                                           {44, 50, 14, 9, 5.5, 3.8, 0.2},
                                           {50, 58, 16, 10, 6.0, 4.3, 0.2},
                                           {58, 65, 18, 11, 7.0, 4.4, 0.2}});

constexpr double kInch_mm = 25.4;

struct InchRow {
  double to_in;
  double side_in;
};
// ASME B17.1-1967 table 1, square keys; the steps read in a public copy up to 3/8, the rest from
// memory. The first step begins over 5/16 in.
constexpr double kInchOver_in = 0.3125;
constexpr auto kInchKeys = std::to_array<InchRow>({{0.4375, 3.0 / 32},
                                                   {0.5625, 1.0 / 8},
                                                   {0.875, 3.0 / 16},
                                                   {1.25, 1.0 / 4},
                                                   {1.375, 5.0 / 16},
                                                   {1.75, 3.0 / 8},
                                                   {2.25, 1.0 / 2},
                                                   {2.75, 5.0 / 8},
                                                   {3.25, 3.0 / 4}});
// Clearance over a parallel key in the hub, B17.1.
constexpr double kHubClearance_in = 0.005;
constexpr double kSlack = 1e-12;

}  // namespace

std::span<const Key> Keys() { return kKeys; }

double KeywayDepthTolerance_mm(double width_mm) {
  for (const Key& key : kKeys) {
    if (width_mm <= key.width_mm * (1 + kSlack)) return key.depth_tolerance_mm;
  }
  return kKeys.back().depth_tolerance_mm;
}

Result<Key> FindKey(double shaft_mm) {
  const double last = kKeys.back().to_mm;
  if (auto fault = RangeFault(shaft_mm, kKeys.front().over_mm, last, "a parallel key")) {
    return Unexpected(*std::move(fault));
  }
  for (const Key& key : kKeys) {
    if (shaft_mm <= key.to_mm * (1 + kSlack)) return key;
  }
  return kKeys.back();
}

// DIN 6885-1, from memory (the seat that slides: H9 and D10).
KeywayFit KeywayClasses(KeyFit fit) {
  switch (fit) {
    case KeyFit::kFree:
      return {"H9", "D10"};
    case KeyFit::kClose:
      return {"P9", "P9"};
    case KeyFit::kNormal:
      break;
  }
  return {"N9", "JS9"};
}

// B17.1: S = (D - H + sqrt(D^2 - W^2)) / 2 and T = (D + H + sqrt(D^2 - W^2)) / 2 + C.
Result<InchKey> FindInchKey(double shaft_mm) {
  const double to_mm = kInchKeys.back().to_in * kInch_mm;
  if (auto fault =
          RangeFault(shaft_mm, kInchOver_in * kInch_mm * (1 + kSlack), to_mm, "an inch key")) {
    return Unexpected(*std::move(fault));
  }
  const double shaft_in = shaft_mm / kInch_mm;
  double side_in = kInchKeys.back().side_in;
  for (const InchRow& row : kInchKeys) {
    if (shaft_in > row.to_in * (1 + kSlack)) continue;
    side_in = row.side_in;
    break;
  }
  const double flat = std::sqrt(shaft_in * shaft_in - side_in * side_in);
  const double shaft_gauge = 0.5 * (shaft_in - side_in + flat);
  const double hub_gauge = 0.5 * (shaft_in + side_in + flat) + kHubClearance_in;
  InchKey key;
  key.side_mm = side_in * kInch_mm;
  key.shaft_gauge_mm = shaft_gauge * kInch_mm;
  key.hub_gauge_mm = hub_gauge * kInch_mm;
  key.shaft_depth_mm = shaft_mm - key.shaft_gauge_mm;
  return key;
}

}  // namespace fitwright::trade
