#include "fitwright/reckon/triangle.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>

#include "fitwright/units/geometry.h"
#include "tests/reckon/reckon_run.h"

namespace fitwright::reckon {
namespace {

constexpr double kNoise = 1e-8;

TriangleGiven Only(const Triangle& t, std::array<bool, 3> sides, std::array<bool, 3> angles) {
  TriangleGiven given;
  for (std::size_t i = 0; i < 3; ++i) {
    if (sides[i]) given.side_mm[i] = t.side_mm[i];
    if (angles[i]) given.angle_rad[i] = t.angle_rad[i];
  }
  return given;
}

bool Holds(const std::vector<Triangle>& found, const Triangle& t) {
  for (const Triangle& one : found) {
    double off = 0;
    for (std::size_t i = 0; i < 3; ++i) {
      off = std::max({off, std::abs(one.side_mm[i] - t.side_mm[i]),
                      std::abs(one.angle_rad[i] - t.angle_rad[i])});
    }
    if (off < kNoise * 100) return true;
  }
  return false;
}

// Triangles by their corners; every choice of three parts with a side leads back to them, and what
// else it leads to has the same three parts.
TEST(Triangle, EveryThreePartsLeadBack) {
  for (int k = 0; k < 60; ++k) {
    const Vec2 a(0, 0);
    const Vec2 b(10 + 0.9 * k, 0);
    const Vec2 c(-8 + 0.7 * k, 3 + (k * 7) % 23);
    const auto angle = [](const Vec2& at, const Vec2& p, const Vec2& q) {
      const Vec2 u = p - at;
      const Vec2 v = q - at;
      return std::atan2(std::abs(u.x() * v.y() - u.y() * v.x()), u.dot(v));
    };
    const Triangle t{{(b - c).norm(), (a - c).norm(), (a - b).norm()},
                     {angle(a, b, c), angle(b, a, c), angle(c, a, b)}};
    for (int mask = 1; mask < 64; ++mask) {
      std::array<bool, 3> sides{};
      std::array<bool, 3> angles{};
      int count = 0;
      for (std::size_t i = 0; i < 3; ++i) {
        sides[i] = (mask >> i) & 1;
        angles[i] = (mask >> (i + 3)) & 1;
        count += sides[i] + angles[i];
      }
      const auto found = SolveTriangle(Only(t, sides, angles));
      if (count != 3 || (mask & 7) == 0) {
        EXPECT_FALSE(found.has_value()) << mask;
        continue;
      }
      ASSERT_TRUE(found.has_value()) << mask << " " << k;
      EXPECT_TRUE(Holds(*found, t)) << mask << " " << k;
      for (const Triangle& one : *found) {
        EXPECT_NEAR(one.angle_rad[0] + one.angle_rad[1] + one.angle_rad[2], kPi, kNoise);
        for (std::size_t i = 0; i < 3; ++i) {
          if (sides[i]) {
            EXPECT_NEAR(one.side_mm[i], t.side_mm[i], kNoise * 100);
          }
          if (angles[i]) {
            EXPECT_NEAR(one.angle_rad[i], t.angle_rad[i], kNoise);
          }
        }
      }
    }
  }
}

TEST(Triangle, TwoWhenTheShorterSideSwings) {
  const Reckoned r = Done("triangle", {"a=30", "b=40", "A=40"});
  ASSERT_EQ(r.tables[0].rows.size(), 2U);
  // sin B = 40 sin 40 deg / 30: B = 58.987 or 121.013 deg (closed form).
  const double sine = 40 * std::sin(40 * kRadPerDeg) / 30;
  EXPECT_NEAR(std::get<double>(r.tables[0].rows[0][5]), std::asin(sine), 1e-12);
  EXPECT_NEAR(std::get<double>(r.tables[0].rows[1][5]), kPi - std::asin(sine), 1e-12);
  EXPECT_EQ(Done("triangle", {"a=40", "b=30", "A=40"}).tables[0].rows.size(), 1U);
  EXPECT_EQ(Done("triangle", {"a=20", "b=40", "A=30"}).tables[0].rows.size(), 1U);
}

TEST(Triangle, ImpossibleOnesAreRefused) {
  for (const std::vector<std::string>& values : {std::vector<std::string>{"a=10", "b=40", "A=40"},
                                                 {"a=1", "b=2", "c=3"},
                                                 {"a=1", "A=90", "B=90"},
                                                 {"A=50", "B=60", "C=70"},
                                                 {"a=3", "b=4"}}) {
    EXPECT_FALSE(Calc("triangle", values).has_value()) << values[0] << values[1];
  }
  const Reckoned right = Done("triangle", {"a=3", "b=4", "C=90"});
  EXPECT_NEAR(std::get<double>(right.tables[0].rows[0][3]), 5, kNoise);
  EXPECT_NEAR(LineOf(right, "height on c"), 2.4, kNoise);
}

}  // namespace
}  // namespace fitwright::reckon
