#include "fitwright/reckon/press_fit.h"

#include <gtest/gtest.h>

#include "fitwright/units/geometry.h"
#include "tests/reckon/reckon_run.h"

namespace fitwright::reckon {
namespace {

constexpr PressMember kSteel{210000, 0.30};

// Computed outside from Lame's formulas as a machine-design textbook gives them.
TEST(PressFit, TextbookValues) {
  const Pressed same = CalcPress({50, 0, 80, 40, 0.12, kSteel, kSteel}, 0.04);
  EXPECT_NEAR(same.pressure_MPa, 51.1875, 1e-9);
  EXPECT_NEAR(same.hub_hoop_MPa, 116.8125, 1e-9);
  const Pressed hollow = CalcPress({20, 8, 40, 20, 0.12, kSteel, {70000, 0.33}}, 0.02);
  EXPECT_NEAR(hollow.pressure_MPa, 29.69896963, 1e-8);
  const Pressed brass = CalcPress({12, 0, 30, 15, 0.12, kSteel, {100000, 0.34}}, 0.015);
  EXPECT_NEAR(brass.pressure_MPa, 60.84840056, 1e-8);
  EXPECT_NEAR(brass.force_N, 4129.0752, 1e-4);
  EXPECT_NEAR(brass.torque_Nm, 24.774451, 1e-6);
}

// By another route: the walls' radial displacements under that pressure, from Lame's own constants,
// close exactly the interference.
TEST(PressFit, DisplacementsCloseTheInterference) {
  const PressJoint joint{20, 8, 40, 20, 0.12, kSteel, {70000, 0.33}};
  const double p = CalcPress(joint, 0.02).pressure_MPa;
  // sigma_r = A - B / r^2, sigma_t = A + B / r^2, u = r (sigma_t - nu sigma_r) / E.
  const auto moved = [](double r, double a, double b, const PressMember& m) {
    return r * ((a + b / (r * r)) - m.poisson * (a - b / (r * r))) / m.modulus_MPa;
  };
  const double hub_b = p / (1 / 100.0 - 1 / 400.0);  // sigma_r(10) = -p, sigma_r(20) = 0
  const double hub_a = hub_b / 400.0;
  const double shaft_b = p / (1 / 100.0 - 1 / 16.0);  // sigma_r(10) = -p, sigma_r(4) = 0
  const double shaft_a = shaft_b / 16.0;
  const double closed =
      moved(10, hub_a, hub_b, joint.hub) - moved(10, shaft_a, shaft_b, joint.shaft);
  EXPECT_NEAR(2 * closed, 0.02, 1e-12);
}

TEST(PressFit, AFitGivesBothEnds) {
  const Reckoned r = Done("press-fit", {"diameter=12", "outside=30", "length=15", "fit=H7/s6",
                                        "shaft=steel", "hub=brass"});
  ASSERT_EQ(r.tables[0].rows.size(), 2U);
  EXPECT_NEAR(std::get<double>(r.tables[0].rows[0][0]), 0.010, 1e-9);  // 28 - 18 um
  EXPECT_NEAR(std::get<double>(r.tables[0].rows[1][0]), 0.039, 1e-9);  // 39 - 0 um
  EXPECT_NEAR(LineOf(r, "hub warmer than the shaft by"), (0.039 + 0.02) / (20.5e-6 * 12), 1e-6);
}

TEST(PressFit, Refusals) {
  const std::vector<std::string> base = {"diameter=12", "outside=30", "length=15", "shaft=steel"};
  const auto with = [&](std::vector<std::string> more) {
    std::vector<std::string> all = base;
    all.insert(all.end(), more.begin(), more.end());
    return Calc("press-fit", all);
  };
  EXPECT_EQ(with({"hub=brass", "fit=H7/g6"}).error().code, ErrorCode::kUnknownFit);
  EXPECT_EQ(with({"hub=bras", "fit=H7/s6"}).error().code, ErrorCode::kUnknownMaterial);
  EXPECT_EQ(with({"hub=brass"}).error().code, ErrorCode::kWrongCount);
  EXPECT_EQ(with({"hub=brass", "fit=H7/s6", "bore=12"}).error().code, ErrorCode::kOutOfRange);
}

// 608 on h6 and in J7 (read): shaft clearance at most 9 and interference at most 8 um, housing 21
// and 9.
TEST(BearingFit, SixHundredAndEight) {
  const Reckoned r = Done("bearing-fit", {"bore=8", "outside=22", "shaft=h6", "housing=J7"});
  const auto& rows = r.tables[1].rows;
  EXPECT_NEAR(std::get<double>(rows[0][1]), -0.008, 1e-9);
  EXPECT_NEAR(std::get<double>(rows[0][2]), 0.009, 1e-9);
  EXPECT_NEAR(std::get<double>(rows[1][1]), -0.009, 1e-9);
  EXPECT_NEAR(std::get<double>(rows[1][2]), 0.021, 1e-9);
  EXPECT_EQ(Calc("bearing-fit", {"bore=8", "outside=23", "shaft=h6", "housing=J7"}).error().code,
            ErrorCode::kUnknownBearing);
}

// On g6 at most 14 clearance and 3 interference; bore 15 on j6 at most 3 and 16 (read).
TEST(BearingFit, OtherSeats) {
  const Reckoned g6 = Done("bearing-fit", {"bore=8", "outside=22", "shaft=g6", "housing=H7"});
  EXPECT_NEAR(std::get<double>(g6.tables[1].rows[0][1]), -0.003, 1e-9);
  EXPECT_NEAR(std::get<double>(g6.tables[1].rows[0][2]), 0.014, 1e-9);
  const Reckoned j6 = Done("bearing-fit", {"bore=15", "outside=32", "shaft=j6", "housing=H7"});
  EXPECT_NEAR(std::get<double>(j6.tables[1].rows[0][1]), -0.016, 1e-9);
  EXPECT_NEAR(std::get<double>(j6.tables[1].rows[0][2]), 0.003, 1e-9);
}

// Fits with the clearances a public table prints (read): 25 H7/g6, H7/k6, H7/p6; 34 H11/c11, um.
TEST(Fit, ClearancesAsPrinted) {
  const Reckoned g6 = Done("fit", {"size=25", "fit=H7/g6"});
  EXPECT_NEAR(LineOf(g6, "greatest clearance"), 0.041, 1e-9);
  EXPECT_NEAR(LineOf(g6, "least clearance"), 0.007, 1e-9);
  const Reckoned k6 = Done("fit", {"size=25", "fit=H7/k6"});
  EXPECT_NEAR(LineOf(k6, "greatest clearance"), 0.019, 1e-9);
  EXPECT_NEAR(LineOf(k6, "greatest interference"), 0.015, 1e-9);
  EXPECT_EQ(WordOfLine(k6, "kind of fit"), "transition");
  const Reckoned p6 = Done("fit", {"size=25", "fit=p6/H7"});
  EXPECT_NEAR(LineOf(p6, "least interference"), 0.001, 1e-9);
  EXPECT_NEAR(LineOf(p6, "greatest interference"), 0.035, 1e-9);
  const Reckoned c11 = Done("fit", {"size=34", "fit=H11/c11"});
  EXPECT_NEAR(LineOf(c11, "least clearance"), 0.120, 1e-9);
  EXPECT_NEAR(LineOf(c11, "greatest clearance"), 0.440, 1e-9);
  EXPECT_EQ(Calc("fit", {"size=25", "fit=H7/H8"}).error().code, ErrorCode::kUnknownFit);
}

}  // namespace
}  // namespace fitwright::reckon
