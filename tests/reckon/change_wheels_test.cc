#include "fitwright/reckon/change_wheels.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "fitwright/units/geometry.h"
#include "tests/reckon/reckon_run.h"

namespace fitwright::reckon {
namespace {

TEST(ChangeWheels, AHundredAndTwentySevenMakesMetricExact) {
  const Reckoned r = Done("change-wheels", {"pitch=1", "leadscrew-tpi=8",
                                            "wheels=20,25,30,35,40,45,50,55,60,65,70,75,80,127"});
  EXPECT_NEAR(LineOf(r, "nearest: pitch cut"), 1, 1e-12);
  const Reckoned without = Done("change-wheels", {"pitch=1", "leadscrew-tpi=8",
                                                  "wheels=20,25,30,35,40,45,50,55,60,65,70,75,80"});
  const double off = LineOf(without, "nearest: pitch cut") - 1;
  EXPECT_NE(off, 0);
  EXPECT_LT(std::abs(off), 0.002);
  EXPECT_NEAR(LineOf(without, "nearest: off over the length"), 25 * off, 1e-9);
}

TEST(ChangeWheels, SimpleTrainFirst) {
  const auto trains = FindTrains(0.5, {20, 30, 40, 60, 80}, 3);
  ASSERT_EQ(trains.size(), 3U);
  EXPECT_FALSE(trains[0].compound());
  EXPECT_EQ(trains[0].first_driver, 20);
  EXPECT_EQ(trains[0].first_driven, 40);
}

// By brute force over every four wheels of the set, with the same clearing rule: none is nearer.
TEST(ChangeWheels, NearestByBruteForce) {
  const std::vector<int> set = {20, 20, 25, 32, 38, 45, 50, 63, 70};
  for (double ratio = 0.11; ratio < 3; ratio += 0.0931) {
    const auto best = FindTrains(ratio, set, 1);
    ASSERT_EQ(best.size(), 1U);
    double nearest = 1e9;
    const std::size_t n = set.size();
    for (std::size_t a = 0; a < n; ++a) {
      for (std::size_t b = 0; b < n; ++b) {
        if (a == b) continue;
        nearest = std::min(nearest, std::abs(1.0 * set[a] / set[b] / ratio - 1));
        for (std::size_t c = 0; c < n; ++c) {
          for (std::size_t d = 0; d < n; ++d) {
            if (c == d || c == a || c == b || d == a || d == b) continue;
            // A driver that is also driven cancels; such trains are the simple ones again.
            if (set[a] == set[d] || set[c] == set[b] || set[a] == set[b] || set[c] == set[d]) {
              continue;
            }
            if (set[a] + set[b] < set[c] + kClearTeeth) continue;
            if (set[c] + set[d] < set[b] + kClearTeeth) continue;
            nearest =
                std::min(nearest, std::abs(1.0 * set[a] * set[c] / set[b] / set[d] / ratio - 1));
          }
        }
      }
    }
    EXPECT_NEAR(std::abs(best[0].Ratio() / ratio - 1), nearest, 1e-9) << ratio;
  }
}

TEST(ChangeWheels, OnePairOfWheelsAtLeast) {
  EXPECT_FALSE(Calc("change-wheels", {"pitch=1", "leadscrew=3", "wheels=20"}).has_value());
  EXPECT_FALSE(
      Calc("change-wheels", {"pitch=1", "tpi=8", "leadscrew=3", "wheels=20,60"}).has_value());
  EXPECT_NEAR(LineOf(Done("change-wheels", {"pitch=1", "leadscrew=3", "wheels=20,60"}),
                     "nearest: pitch cut"),
              1, 1e-12);
}

}  // namespace
}  // namespace fitwright::reckon
