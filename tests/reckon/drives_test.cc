#include "fitwright/reckon/drives.h"

#include <gtest/gtest.h>

#include "fitwright/units/geometry.h"
#include "tests/reckon/reckon_run.h"

namespace fitwright::reckon {
namespace {

// Toothed belts, computed outside by the exact formula: teeth, pitch, length, centres, teeth in
// mesh.
TEST(Belt, CentresOfAGivenLength) {
  struct Row {
    int small, large;
    double pitch, length, centres, mesh;
  };
  const Row rows[] = {{20, 40, 5, 400, 123.977018, 9.1805},
                      {20, 60, 2, 400, 159.491508, 9.4912},
                      {16, 16, 2, 200, 84.0, 8},
                      {10, 40, 5.08, 304.8, 85.43316, 4.0837}};
  for (const Row& row : rows) {
    const Reckoned r = Done(
        "belt", {"teeth=" + std::to_string(row.small), "teeth-large=" + std::to_string(row.large),
                 "pitch=" + std::to_string(row.pitch), "length=" + std::to_string(row.length)});
    EXPECT_NEAR(LineOf(r, "centres"), row.centres, 6e-7) << row.centres;
    EXPECT_NEAR(LineOf(r, "teeth in mesh"), row.mesh, 6e-5) << row.centres;
  }
}

TEST(Belt, LengthAtGivenCentres) {
  const Reckoned r = Done("belt", {"teeth=20", "teeth-large=40", "pitch=5", "centres=100"});
  EXPECT_NEAR(LineOf(r, "length of the belt"), 352.538418, 6e-7);
  ASSERT_EQ(r.tables[0].rows.size(), 2U);
  EXPECT_EQ(std::get<double>(r.tables[0].rows[0][0]), 70);
  EXPECT_EQ(std::get<double>(r.tables[0].rows[1][0]), 71);
}

TEST(Belt, ThereAndBack) {
  for (double centres = 40; centres < 900; centres *= 1.7) {
    const double length = BeltLength_mm(50, 20, centres);
    EXPECT_NEAR(CentresOfBelt_mm(50, 20, length).value(), centres, 1e-8);
  }
  EXPECT_FALSE(CentresOfBelt_mm(50, 20, 150).has_value());
  EXPECT_FALSE(Calc("belt", {"small=20", "large=50", "centres=30"}).has_value());
  EXPECT_FALSE(Calc("belt", {"small=50", "large=20", "centres=90"}).has_value());
}

// Handbook proportions (closed form): 20 and 50 teeth of module 1; 8 diametral pitch, 16 teeth.
TEST(Gears, Diameters) {
  const Reckoned metric = Done("gears", {"teeth=20", "teeth-second=50", "module=1"});
  EXPECT_NEAR(LineOf(metric, "centres"), 35, 1e-12);
  EXPECT_NEAR(std::get<double>(metric.tables[0].rows[0][2]), 22, 1e-12);
  EXPECT_NEAR(std::get<double>(metric.tables[0].rows[1][3]), 47.5, 1e-12);
  const Reckoned inch = Done("gears", {"teeth=16", "teeth-second=48", "dp=8"});
  EXPECT_NEAR(LineOf(inch, "centres") / kMmPerInch, 4, 1e-12);
  EXPECT_NEAR(std::get<double>(inch.tables[0].rows[0][2]) / kMmPerInch, 2.25, 1e-12);
  EXPECT_FALSE(Calc("gears", {"teeth=16", "teeth-second=48"}).has_value());
}

}  // namespace
}  // namespace fitwright::reckon
