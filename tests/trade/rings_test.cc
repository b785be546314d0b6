// Closed form of a ring under three forces against the sum of its waves.
#include "fitwright/trade/rings.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace fitwright::trade {
namespace {

// Radial forces W at three places are the waves 3 W / (pi R) cos(m x), m = 3, 6, 9 ..., and each bends a thin ring
// that does not stretch by q R^4 / (E I (m^2 - 1)^2). Between a force and half way between two only odd
// multiples of three differ, by twice their height.
double LobesByWaves(double radius, double wall, double length, double modulus) {
  const double stiffness = modulus * length * wall * wall * wall / 12;
  double sum = 0;
  for (int m = 3; m < 2000; m += 6) {
    const double q = 3 / (std::numbers::pi * radius);
    const double bend = std::pow(static_cast<double>(m) * m - 1, 2);
    sum += 2 * q * std::pow(radius, 4) / (stiffness * bend);
  }
  return sum;
}

TEST(Rings, ClosedFormIsTheSumOfTheWaves) {
  struct Case {
    double outer, inner, length, modulus;
  };
  for (const Case& c : {Case{24, 19, 10, 70000}, Case{30, 24, 48, 110000}, Case{54, 50, 8, 205000}}) {
    const double waves = LobesByWaves((c.outer + c.inner) / 4, (c.outer - c.inner) / 2, c.length, c.modulus);
    EXPECT_NEAR(ThreeForceLobes_mm_N(c.outer, c.inner, c.length, c.modulus) / waves, 1, 1e-6);  // waves left out: m^-4
  }
}

// Half the wall gives eight times as much, twice the length half.
TEST(Rings, ThinnerWallsGiveByTheCube) {
  const double thick = ThreeForceLobes_mm_N(42, 38, 10, 70000);
  EXPECT_NEAR(ThreeForceLobes_mm_N(41, 39, 10, 70000) / thick, 8, 1e-9);
  EXPECT_NEAR(ThreeForceLobes_mm_N(42, 38, 20, 70000) / thick, 0.5, 1e-9);
}

}  // namespace
}  // namespace fitwright::trade
