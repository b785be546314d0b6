// Speeds, forces and short sums of the bench.
#include <gtest/gtest.h>

#include "fitwright/reckon/bench_sums.h"
#include "fitwright/units/geometry.h"
#include "tests/reckon/reckon_run.h"
#include "tests/reference/recalled.h"
#include "tests/reference/table.h"

namespace fitwright::reckon {
namespace {

// n = 1000 v / (pi d): 25 mm at 30 m/min, 382 rpm; on steps the next below.
TEST(Speed, OnTheMachinesOwnSteps) {
  const std::vector<std::string> values = {"material=steel", "diameter=25", "speed=30",
                                           "steps=500,60,300,180"};
  const Reckoned r = Done("speed", values);
  EXPECT_NEAR(LineOf(r, "spindle for that speed"), 30000 / (kPi * 25), 1e-9);
  EXPECT_EQ(LineOf(r, "set the spindle to"), 300);
  EXPECT_NEAR(LineOf(r, "cutting speed then"), kPi * 25 * 300 / 1000, 1e-9);
  EXPECT_FALSE(
      Calc("speed", {"material=steel", "diameter=250", "speed=30", "steps=60,100"}).has_value());
}

// Kienzle for mild steel (kc1.1 1780, mc 0.17) at 2 x 0.2 mm, 90 deg: 936.1 N (computed outside).
TEST(Speed, PowerOfALatheCut) {
  const Reckoned r = Done(
      "speed", {"material=steel", "diameter=25", "speed=30", "feed=0.2", "depth=2", "power=200W"});
  EXPECT_NEAR(LineOf(r, "power at the cutter"), 936.1 * 30 / 60, 0.05);
  EXPECT_NEAR(LineOf(r, "power of the motor for it"), 936.1 * 30 / 60 / 0.8, 0.06);
  EXPECT_FALSE(r.cautions.empty());
  EXPECT_NEAR(LineOf(r, "depth that its power bears"), 2 * 200 / (936.1 * 0.5 / 0.8), 1e-3);
}

// A slot by the same law: mean chip fz 2 / pi, removal ap D vf.
TEST(Speed, PowerOfASlot) {
  const Reckoned r = Done("speed", {"material=aluminium", "cut=mill_slot", "diameter=10", "teeth=2",
                                    "speed=60", "feed=0.04", "depth=3"});
  const double rpm = 60000 / (kPi * 10);
  const double chip = 0.04 * 2 / kPi;
  const double power = 640 * std::pow(chip, -0.25) * 3 * 10 * (0.04 * 2 * rpm) / 60000;
  EXPECT_NEAR(LineOf(r, "power at the cutter"), power, 1e-6 * power);
}

// A handbook's example: 7/8 in drill in steel of 200 HB at 350 rpm and 0.008 in (feed and wear from
// memory): 2313 lb, 559 in lb, 3.1 hp. The tables' steps and the metric form's rounded constants
// leave 3 %.
TEST(DrillLoad, HandbookExample) {
  const Reckoned r =
      Done("drill-load", {"material=silver_steel", "diameter=7/8in", "feed=0.008in", "rpm=350"});
  EXPECT_NEAR(LineOf(r, "thrust") / 4.4482216, 2312.88, 0.03 * 2312.88);
  EXPECT_NEAR(LineOf(r, "torque") / 0.112984829, 558.76, 0.03 * 558.76);
  EXPECT_NEAR(LineOf(r, "power at the drill") / 745.699872, 3.103, 0.03 * 3.103);
  EXPECT_NEAR(LineOf(r, "power of the motor for it") / LineOf(r, "power at the drill"), 1.25, 1e-9);
}

// A 118 degree point is 0.3004 of the diameter (closed form).
TEST(Points, DrillAndCountersink) {
  const Reckoned r = Done("drill-point", {"diameter=10", "depth=20", "through=6"});
  EXPECT_NEAR(LineOf(r, "length of the point"), 3.0043, 5e-5);
  EXPECT_NEAR(LineOf(r, "tip down for that full diameter"), 23.0043, 5e-5);
  EXPECT_NEAR(LineOf(r, "tip down to be clean through"), 9.0043, 5e-5);
  const Reckoned sink = Done("countersink", {"diameter=6.7", "hole=3.4"});
  EXPECT_NEAR(LineOf(sink, "down from touching the hole's edge"), 1.65, 1e-9);
  EXPECT_NEAR(LineOf(sink, "down from a sharp point at the face"), 3.35, 1e-9);
  EXPECT_NEAR(ConeDepth_mm(0.5, 0.25, 82 * kRadPerDeg), 0.14379605, 1e-7);
  EXPECT_FALSE(Calc("countersink", {"diameter=3", "hole=3"}).has_value());
}

TEST(Weight, Sections) {
  // A litre of brass: 100 x 100 x 100 at 8.45 g/cm3.
  EXPECT_NEAR(LineOf(Done("weight", {"material=brass", "section=square", "size=100", "length=100"}),
                     "weight"),
              8.45, 1e-9);
  EXPECT_NEAR(SectionArea_mm2(Section::kHexagon, 17, 0), 250.2814, 1e-4);
  // A tube as a round less a round.
  EXPECT_NEAR(SectionArea_mm2(Section::kTube, 20, 3),
              SectionArea_mm2(Section::kRound, 20, 0) - SectionArea_mm2(Section::kRound, 14, 0),
              1e-9);
  // Round bar of 25 mm in steel weighs 3.853 kg a metre (handbooks print 3.85).
  EXPECT_NEAR(LineOf(Done("weight", {"material=steel", "size=25", "length=1m"}), "weight"), 3.853,
              0.0006);
  EXPECT_FALSE(
      Calc("weight", {"material=steel", "section=tube", "size=20", "length=1"}).has_value());
  EXPECT_FALSE(
      Calc("weight", {"material=steel", "size=20", "thickness=3", "length=1"}).has_value());
}

// 100 mm of aluminium at 28 degC: 23e-6 x 100 x 8 = 18.4 um; a steel rule at 22: 2.3 um.
TEST(Thermal, PieceAndInstrument) {
  const Reckoned r = Done("thermal", {"length=100", "material=aluminium", "at=28",
                                      "instrument=steel", "instrument-at=22"});
  EXPECT_NEAR(LineOf(r, "longer than at 20 degC by"), 0.0184, 1e-9);
  EXPECT_NEAR(LineOf(r, "the instrument's own growth"), 0.0023, 1e-9);
  EXPECT_NEAR(LineOf(r, "aim to read, for the size at 20 degC"), 100.0161, 1e-9);
  EXPECT_NEAR(LineOf(Done("thermal", {"length=1", "material=steel", "at=77"}, LengthUnit::kInch),
                     "longer than at 20 degC by"),
              25.4 * 11.5e-6 * 5, 1e-9);
}

// The worked example of the guide to uncertainty (read): what a difference of expansion, and one of
// temperature, make of an end gauge of 50 mm, nm.
TEST(Thermal, EndGaugeOfTheGuide) {
  const auto gauge = reference::Table("thermal.json");
  const double length = gauge.at("length_mm");
  const auto& expansion = gauge.at("by_difference_of_expansion");
  const auto& temperature = gauge.at("by_difference_of_temperature");
  const double off_K = gauge.at("off_K");
  EXPECT_NEAR(1e6 * Growth_mm(length, expansion.at("per_K"), 20 + off_K, 20),
              expansion.at("published_nm"), 0.05);
  // 16.68: printed 16.6.
  EXPECT_NEAR(1e6 * Growth_mm(length, gauge.at("expansion_per_K"), 20,
                              20 + temperature.at("K").get<double>()),
              temperature.at("published_nm"), 0.1);
}

// Steel bars as stockholders' tables print them (from memory), kg a metre.
TEST(Weight, OfBarsAsPrinted) {
  for (const auto& bar : reference::kRecalledBars) {
    const Reckoned r =
        Done("weight", {"material=steel", "size=" + std::to_string(bar.diameter_mm), "length=1m"});
    EXPECT_NEAR(LineOf(r, "weight of a metre"), bar.kg_m, bar.printed + 1e-9) << bar.diameter_mm;
  }
}

// A thinned point pushes less and turns nearly as hard: by the handbook's factors 1.355 and 1.235
// of the lips' thrust, 1.085 and 1.02 of the torque (read).
TEST(DrillLoad, ThinnedPoint) {
  const std::vector<std::string> values = {"material=steel", "diameter=8", "feed=0.12", "rpm=800"};
  std::vector<std::string> thinned = values;
  thinned.push_back("chisel=0.1");
  const Reckoned plain = Done("drill-load", values);
  const Reckoned thin = Done("drill-load", thinned);
  EXPECT_NEAR(LineOf(plain, "torque") / LineOf(thin, "torque"), 1.085 / 1.02, 1e-9);
  EXPECT_LT(LineOf(thin, "thrust"), LineOf(plain, "thrust") * 1.235 / 1.355);
  EXPECT_EQ(
      Calc("drill-load", {"material=steel", "diameter=8", "feed=0.12", "rpm=800", "chisel=0.5"})
          .error()
          .code,
      ErrorCode::kOutOfRange);
}

TEST(SweptVolume, RatioThereAndBack) {
  const Reckoned r = Done("swept-volume", {"bore=24", "stroke=20", "cylinders=2", "ratio=8"});
  EXPECT_NEAR(LineOf(r, "swept, one cylinder"), 9047.7868, 1e-3);
  EXPECT_NEAR(LineOf(r, "clearance volume, one cylinder"), 9047.7868 / 7, 1e-3);
  EXPECT_NEAR(LineOf(r, "its height over the bore"), 20.0 / 7, 1e-9);
  const Reckoned back =
      Done("swept-volume", {"bore=24", "stroke=20", "clearance=" + std::to_string(9.0477868 / 7)});
  EXPECT_NEAR(LineOf(back, "compression ratio"), 8, 1e-4);
}

TEST(Indicator, Cosine) {
  const Reckoned r = Done("indicator", {"reading=0.25", "angle=30"});
  EXPECT_NEAR(LineOf(r, "true travel"), 0.2165064, 1e-7);
  EXPECT_NEAR(LineOf(Done("indicator", {"reading=1", "angle=0"}), "reads too much by"), 0, 1e-15);
}

}  // namespace
}  // namespace fitwright::reckon
