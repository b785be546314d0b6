#include "fitwright/reckon/hole_layout.h"

#include <gtest/gtest.h>

#include "tests/reckon/reckon_run.h"
#include "tests/reference/table.h"

namespace fitwright::reckon {
namespace {

constexpr double kNoise_mm = 1e-9;

// Chords of a circle of diameter 1, and 60 mm with 6 holes from 15 degrees (closed form).
TEST(BoltCircle, ChordConstants) {
  const auto circle = reference::Table("belt_sine_circle.json").at("bolt_circle");
  for (const auto& [n, chord] : circle.at("chord_constants").items()) {
    EXPECT_NEAR(ChordOf_mm(1, std::stoi(n)), chord, 6e-11) << n;
  }
  const auto& example = circle.at("example");
  const Reckoned r =
      Done("bolt-circle", {"diameter=" + example.at("D").dump(), "holes=" + example.at("n").dump(),
                           "start=" + example.at("start_deg").dump()});
  ASSERT_EQ(r.tables[0].rows.size(), example.at("xy").size());
  for (std::size_t i = 0; i < example.at("xy").size(); ++i) {
    EXPECT_NEAR(std::get<double>(r.tables[0].rows[i][1]), example.at("xy")[i][0], 6e-5);
    EXPECT_NEAR(std::get<double>(r.tables[0].rows[i][2]), example.at("xy")[i][1], 6e-5);
  }
}

TEST(BoltCircle, PointsLieOnItEquallySpaced) {
  for (int n = 2; n <= 97; ++n) {
    const Vec2 centre(3.5 * n, -17);
    const double radius = 5 + 1.3 * n;
    const auto points = PointsOnCircle(centre, radius, n, 0.1 * n, 2 * kPi / n);
    for (std::size_t i = 0; i < points.size(); ++i) {
      EXPECT_NEAR((points[i] - centre).norm(), radius, kNoise_mm);
      EXPECT_NEAR((points[i] - points[(i + 1) % points.size()]).norm(), ChordOf_mm(2 * radius, n),
                  kNoise_mm);
    }
  }
}

TEST(BoltCircle, ClockwiseIsTheMirrorImage) {
  const Reckoned there = Done("bolt-circle", {"diameter=60", "holes=5", "x=10"});
  const Reckoned back = Done("bolt-circle", {"diameter=60", "holes=5", "x=10", "way=clockwise"});
  for (std::size_t i = 0; i < 5; ++i) {
    EXPECT_NEAR(std::get<double>(there.tables[0].rows[i][1]),
                std::get<double>(back.tables[0].rows[i][1]), kNoise_mm);
    EXPECT_NEAR(std::get<double>(there.tables[0].rows[i][2]),
                -std::get<double>(back.tables[0].rows[i][2]), kNoise_mm);
  }
}

TEST(HoleArc, EndsWhereItShould) {
  const Reckoned r = Done("hole-arc", {"radius=40", "holes=3", "sweep=90", "x=5", "y=6"});
  const auto& rows = r.tables[0].rows;
  EXPECT_NEAR(std::get<double>(rows[0][1]), 45, kNoise_mm);
  EXPECT_NEAR(std::get<double>(rows[1][1]), 5 + 28.2842712475, 1e-9);
  EXPECT_NEAR(std::get<double>(rows[2][2]), 46, kNoise_mm);
}

TEST(HoleGrid, TurnedAboutItsFirstHole) {
  Grid grid;
  grid.first_mm = Vec2(10, 20);
  grid.columns = 3;
  grid.rows = 2;
  grid.pitch_mm = Vec2(30, 40);
  grid.turn_rad = kPi / 2;
  const auto points = PointsOfGrid(grid);
  ASSERT_EQ(points.size(), 6U);
  EXPECT_NEAR((points[2] - Vec2(10, 80)).norm(), 0, kNoise_mm);
  EXPECT_NEAR((points[3] - Vec2(-30, 20)).norm(), 0, kNoise_mm);
}

}  // namespace
}  // namespace fitwright::reckon
