#include "fitwright/reckon/press_fit.h"

#include <gtest/gtest.h>

#include "fitwright/trade/bearings.h"
#include "fitwright/units/geometry.h"
#include "tests/reckon/reckon_run.h"
#include "tests/reference/table.h"

namespace fitwright::reckon {
namespace {

constexpr PressMember kSteel{210000, 0.30};

// Computed outside from Lame's formulas as a machine-design textbook gives them.
TEST(PressFit, TextbookValues) {
  const auto values = reference::Table("press_fits.json").at("lame").at("values");
  for (const auto& v : values) {
    const auto gpa = [&](const char* key) { return 1000 * v.at(key).get<double>(); };
    const PressJoint joint{v.at("d"),
                           v.at("di"),
                           v.at("do"),
                           v.value("length", 20.0),
                           v.value("friction", 0.12),
                           {gpa("shaft_GPa"), v.at("shaft_nu")},
                           {gpa("hub_GPa"), v.at("hub_nu")}};
    const Pressed found = CalcPress(joint, v.at("delta"));
    EXPECT_NEAR(found.pressure_MPa, v.at("p_MPa"), 6e-9) << v;
    if (v.contains("hub_hoop_MPa")) {
      EXPECT_NEAR(found.hub_hoop_MPa, v.at("hub_hoop_MPa"), 6e-9) << v;
    }
    if (v.contains("force_N")) {
      EXPECT_NEAR(found.force_N, v.at("force_N"), 6e-5) << v;
      EXPECT_NEAR(found.torque_Nm, v.at("torque_Nm"), 6e-7) << v;
    }
  }
  EXPECT_EQ(values.size(), 3U);
}

// The second of them by the materials' own moduli and Poisson's ratios; and DIN 7190-1's loss: 0.8
// (2.5 + 6.3) um of roughness off the interference gives less by that share.
TEST(PressFit, ByTheMaterials) {
  const std::vector<std::string> joint = {"diameter=20",      "bore=8",      "outside=40",
                                          "length=20",        "shaft=steel", "hub=aluminium",
                                          "interference=0.02"};
  const Reckoned r = Done("press-fit", joint);
  EXPECT_NEAR(std::get<double>(r.tables[0].rows[0][1]), 29.69896963, 6e-9);
  std::vector<std::string> rough = joint;
  rough.push_back("flattened=0.00704");
  const Reckoned less = Done("press-fit", rough);
  EXPECT_NEAR(std::get<double>(less.tables[0].rows[0][1]), 29.69896963 * (0.02 - 0.00704) / 0.02,
              1e-8);
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

// Seats by what turns against the load: 608 on j6 (+7 -2 um) in J7; the form they ask is half of
// IT5 and IT5 (6 um over 6 to 10, 9 um over 18 to 30 mm; read).
TEST(BearingFit, SeatsByTheLoad) {
  const Reckoned r = Done("bearing-fit", {"bore=8", "outside=22", "shaft-load=light",
                                          "housing-load=still_usually_slides"});
  EXPECT_EQ(std::get<std::string>(r.tables[0].rows[1][0]), "shaft j6");
  EXPECT_EQ(std::get<std::string>(r.tables[0].rows[3][0]), "housing J7");
  EXPECT_NEAR(std::get<double>(r.tables[1].rows[0][1]), -0.015, 1e-9);
  EXPECT_NEAR(std::get<double>(r.tables[1].rows[0][2]), 0.002, 1e-9);
  EXPECT_NEAR(LineOf(r, "shaft's seat cylindrical within"), 0.003, 1e-9);
  EXPECT_NEAR(LineOf(r, "housing's shoulder square within"), 0.009, 1e-9);
  for (const auto& load : WordsOf<trade::ShaftLoad>::kAll) {
    for (const auto& housing : WordsOf<trade::HousingLoad>::kAll) {
      EXPECT_TRUE(
          Calc("bearing-fit", {"bore=20", "outside=47", "shaft-load=" + std::string(load.word),
                               "housing-load=" + std::string(housing.word)})
              .has_value())
          << load.word << housing.word;
    }
  }
  EXPECT_EQ(Calc("bearing-fit", {"bore=8", "outside=22", "shaft=h6"}).error().code,
            ErrorCode::kWrongCount);
  EXPECT_EQ(
      Calc("bearing-fit", {"bore=8", "outside=22", "shaft=h6", "shaft-load=still", "housing=H7"})
          .error()
          .code,
      ErrorCode::kWrongCount);
}

// Inch fits by their names (ASME B4.1 as a handbook prints it, read): 1 in RC3 0.0008 to 0.0021,
// FN2 at 2 in 0.0008 to 0.0027 tight; thousandths.
TEST(Fit, InchFitsByName) {
  constexpr double kThou = 0.0254;
  const Reckoned rc3 = Done("fit", {"size=1", "fit=RC3"}, LengthUnit::kInch);
  EXPECT_NEAR(LineOf(rc3, "least clearance"), 0.8 * kThou, 1e-9);
  EXPECT_NEAR(LineOf(rc3, "greatest clearance"), 2.1 * kThou, 1e-9);
  EXPECT_NE(rc3.source.find("B4.1"), std::string::npos);
  const Reckoned fn2 = Done("fit", {"size=2in", "fit=fn 2"});
  EXPECT_NEAR(LineOf(fn2, "least interference"), 0.8 * kThou, 1e-9);
  EXPECT_NEAR(LineOf(fn2, "greatest interference"), 2.7 * kThou, 1e-9);
  const Reckoned pressed = Done("press-fit", {"diameter=2in", "outside=4in", "length=2in",
                                              "fit=FN2", "shaft=steel", "hub=steel"});
  EXPECT_NEAR(std::get<double>(pressed.tables[0].rows[1][0]), 2.7 * kThou, 1e-9);
  const auto refused = Calc("fit", {"size=6in", "fit=RC3"});
  ASSERT_FALSE(refused.has_value());
  EXPECT_EQ(refused.error().code, ErrorCode::kOutOfRange);
  EXPECT_EQ(refused.error().where.key, "fit");
  EXPECT_EQ(Calc("fit", {"size=25", "fit=RC10"}).error().code, ErrorCode::kUnknownFit);
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
