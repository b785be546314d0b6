#include "fitwright/reckon/drives.h"

#include <gtest/gtest.h>

#include "fitwright/trade/belts.h"
#include "fitwright/units/geometry.h"
#include "tests/reckon/reckon_run.h"
#include "tests/reference/table.h"

namespace fitwright::reckon {
namespace {

// Toothed belts, computed outside by the exact formula; and by the handbooks' approximate one,
// which comes within a thirtieth of a millimetre.
TEST(Belt, CentresOfAGivenLength) {
  const auto cases = reference::Table("belt_sine_circle.json").at("belt").at("cases");
  for (const auto& c : cases) {
    std::vector<std::string> drive = {"teeth=" + c.at("z1").dump(),
                                      "teeth-large=" + c.at("z2").dump(),
                                      "pitch=" + c.at("p").dump()};
    drive.push_back("length=" + c.at("L").dump());
    const Reckoned r = Done("belt", drive);
    EXPECT_NEAR(LineOf(r, "centres"), c.at("C_exact"), 6e-7) << c;
    if (c.contains("C_approx")) {
      EXPECT_NEAR(LineOf(r, "centres"), c.at("C_approx"), 0.03) << c;
    }
    if (c.contains("teeth_in_mesh")) {
      EXPECT_NEAR(LineOf(r, "teeth in mesh"), c.at("teeth_in_mesh"), 6e-5) << c;
    }
    if (!c.contains("L_at_C100_exact")) continue;
    drive.back() = "centres=100";
    const Reckoned length = Done("belt", drive);
    EXPECT_NEAR(LineOf(length, "length of the belt"), c.at("L_at_C100_exact"), 6e-7);
    EXPECT_NEAR(LineOf(length, "length of the belt"), c.at("L_at_C100_approx"), 0.03);
    ASSERT_EQ(length.tables[0].rows.size(), 2U);
    EXPECT_EQ(std::get<double>(length.tables[0].rows[0][0]), 70);
    EXPECT_EQ(std::get<double>(length.tables[0].rows[1][0]), 71);
  }
  EXPECT_EQ(cases.size(), 4U);
}

// By name the belt brings its pitch, and the wheels' outside where the tables have it: XL of 10
// teeth is 16.170 on the pitch line and 0.508 less outside (ISO 5294, from memory).
TEST(Belt, ByName) {
  const Reckoned named = Done("belt", {"teeth=10", "teeth-large=40", "belt=XL", "length=304.8"});
  const Reckoned pitched =
      Done("belt", {"teeth=10", "teeth-large=40", "pitch=5.08", "length=304.8"});
  EXPECT_NEAR(LineOf(named, "centres"), LineOf(pitched, "centres"), 1e-9);
  EXPECT_NEAR(LineOf(named, "small wheel, pitch diameter"), 16.170, 0.0005);
  EXPECT_NEAR(LineOf(named, "small wheel, outside over the teeth"), 15.662, 0.0005);
  EXPECT_TRUE(Done("belt", {"teeth=20", "teeth-large=40", "belt=XXH", "centres=500"}).notes.size() >
              0);
  EXPECT_EQ(Calc("belt", {"teeth=20", "teeth-large=40", "belt=Z", "length=400"}).error().code,
            ErrorCode::kUnknownWord);
  EXPECT_EQ(
      Calc("belt", {"teeth=20", "teeth-large=40", "belt=XL", "pitch=5", "length=400"}).error().code,
      ErrorCode::kWrongCount);
  // Every belt of the tables can be named, and no other.
  const Reckoning* belt = FindReckoning("belt").value();
  std::string names;
  for (const trade::ToothedBelt& row : trade::ToothedBelts()) {
    names += (names.empty() ? "" : " ") + std::string(row.name);
  }
  for (const Input& input : belt->inputs) {
    if (input.name == "belt") {
      EXPECT_EQ(input.choices, names);
    }
  }
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
