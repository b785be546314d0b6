#include "fitwright/reckon/thread_form.h"

#include <gtest/gtest.h>

#include "fitwright/units/geometry.h"
#include "tests/reckon/reckon_run.h"

namespace fitwright::reckon {
namespace {

constexpr double kPrinted_mm = 0.00051;  // tables print three places
constexpr double kPrinted_in = 0.000051;

// ISO 724, diameters as its table prints them (read).
TEST(ThreadForm, IsoDiameters) {
  const double rows[][4] = {{1.6, 0.35, 1.373, 1.221}, {3, 0.5, 2.675, 2.459},
                            {6, 1, 5.35, 4.917},       {8, 1.25, 7.188, 6.647},
                            {10, 1.5, 9.026, 8.376},   {12, 1.75, 10.863, 10.106},
                            {20, 2.5, 18.376, 17.294}, {24, 3, 22.051, 20.752}};
  for (const auto& row : rows) {
    const ThreadShape shape{ThreadForm::kIso, row[0], row[1]};
    EXPECT_NEAR(shape.pitch_diameter_mm(), row[2], kPrinted_mm) << row[0];
    EXPECT_NEAR(shape.minor_mm(), row[3], kPrinted_mm) << row[0];
  }
}

// ASME B1.1 UNC as a handbook prints it (read): major, threads to the inch, pitch and minor
// diameter.
TEST(ThreadForm, UnifiedDiameters) {
  const double rows[][4] = {{0.073, 64, 0.0629, 0.0561}, {0.164, 32, 0.1437, 0.1302},
                            {0.19, 24, 0.1629, 0.1449},  {0.25, 20, 0.2175, 0.1959},
                            {0.5, 13, 0.45, 0.4167},     {1.0, 8, 0.9188, 0.8647}};
  for (const auto& row : rows) {
    const ThreadShape shape{ThreadForm::kIso, row[0] * kMmPerInch, kMmPerInch / row[1]};
    EXPECT_NEAR(shape.pitch_diameter_mm() / kMmPerInch, row[2], 2 * kPrinted_in) << row[0];
    EXPECT_NEAR(shape.minor_mm() / kMmPerInch, row[3], 2 * kPrinted_in) << row[0];
  }
}

// BS 93, BA (read): major, pitch, effective, minor.
TEST(ThreadForm, BaDiameters) {
  const double rows[][4] = {
      {6, 1.0, 5.4, 4.8}, {5.3, 0.9, 4.76, 4.22}, {4.1, 0.73, 3.66, 3.22}, {2.2, 0.43, 1.94, 1.68}};
  for (const auto& row : rows) {
    const ThreadShape shape{ThreadForm::kBa, row[0], row[1]};
    // The table rounds its depth to 0.005 mm.
    EXPECT_NEAR(shape.pitch_diameter_mm(), row[2], 0.0031) << row[0];
    EXPECT_NEAR(shape.minor_mm(), row[3], 0.0061) << row[0];
  }
}

// Shares of thread by both rules (read and computed outside): name, major, pitch, hole, 3/4 H, 5/8
// H; mm.
TEST(TapDrill, SharesByBothRules) {
  struct Row {
    double major, pitch, hole, older, basic;
  };
  const Row rows[] = {{0.073 * 25.4, 25.4 / 64, 0.0625 * 25.4, 51.7, 0},
                      {0.073 * 25.4, 25.4 / 64, 0.0595 * 25.4, 66.5, 0},
                      {0.25 * 25.4, 25.4 / 20, 0.201 * 25.4, 75.4, 90.5},
                      {6, 1, 5, 77.0, 92.4},
                      {3, 0.5, 2.5, 0, 92.4}};
  for (const Row& row : rows) {
    const ThreadShape shape{ThreadForm::kIso, row.major, row.pitch};
    const double deep = 100 * (row.major - row.hole);
    if (row.older > 0) {
      EXPECT_NEAR(deep / FullThread_mm(shape, true), row.older, 0.06);
    }
    if (row.basic > 0) {
      EXPECT_NEAR(deep / FullThread_mm(shape, false), row.basic, 0.06);
    }
  }
}

TEST(TapDrill, EngagementFallsAsTheDrillGrows) {
  double before = 1e9;
  for (double hole = 4.6; hole < 6; hole += 0.05) {
    const Reckoned r = Done("tap-drill", {"thread=M6", "hole=" + std::to_string(hole)});
    const double share = std::get<double>(r.tables[0].rows.back()[2]);
    EXPECT_LT(share, before);
    before = share;
  }
}

// Constants of the three-wire formulas of 60 and 55 degree threads as handbooks print them (from
// memory): 3 w - 0.866025 P, best 0.57735 P; 3.16568 w - 0.960491 P, best 0.56369 P.
TEST(ThreadWires, HandbookConstants) {
  const ThreadShape iso{ThreadForm::kIso, 10, 1};
  EXPECT_NEAR(BestWire_mm(iso), 0.577350, 1e-6);
  EXPECT_NEAR(OverWires_mm(iso, 0, 1) - OverWires_mm(iso, 0, 0), 3, 1e-12);
  EXPECT_NEAR(OverWires_mm(iso, 0, 0), -0.866025, 1e-6);
  const ThreadShape whitworth{ThreadForm::kWhitworth, 10, 1};
  EXPECT_NEAR(BestWire_mm(whitworth), 0.56369, 6e-6);
  EXPECT_NEAR(OverWires_mm(whitworth, 0, 1) - OverWires_mm(whitworth, 0, 0), 3.16568, 6e-6);
  EXPECT_NEAR(OverWires_mm(whitworth, 0, 0), -0.960491, 1e-6);
}

// Least and greatest wires of 60 degree threads, in pitches (from memory): 0.505 and 1.010.
TEST(ThreadWires, UsableWires) {
  const WireRange range = UsableWires_mm({ThreadForm::kIso, 10, 1});
  EXPECT_NEAR(range.least_mm, 0.505, 0.0005);
  EXPECT_NEAR(range.greatest_mm, 1.010, 0.0005);
}

// By another route: the best wire's own touching points lie on the pitch line, whatever the form.
TEST(ThreadWires, BestWireTouchesAtThePitchDiameter) {
  for (const auto form : {ThreadForm::kIso, ThreadForm::kWhitworth, ThreadForm::kBa}) {
    const ThreadShape shape{form, 12, 1.25};
    const double wire = BestWire_mm(shape);
    const double middle = 0.5 * (OverWires_mm(shape, shape.pitch_diameter_mm(), wire) - wire);
    const double touch = middle - 0.5 * wire * std::sin(shape.half_angle_rad());
    EXPECT_NEAR(touch, 0.5 * shape.pitch_diameter_mm(), 1e-9);
    EXPECT_NEAR(PitchDiameterByWires_mm(shape, 2 * middle + wire, wire), shape.pitch_diameter_mm(),
                1e-9);
  }
}

TEST(ThreadWires, WiresThatDoNotDoAreRefused) {
  const auto thick = Calc("thread-wires", {"thread=M6", "wire=1.2"});
  ASSERT_FALSE(thick.has_value());
  EXPECT_EQ(thick.error().code, ErrorCode::kOutOfRange);
  EXPECT_NE(thick.error().remedy.find("0.5774"), std::string::npos) << thick.error().remedy;
  EXPECT_FALSE(Calc("thread-wires", {"thread=M6", "wire=0.4"}).has_value());
}

// M6: best wire 0.5774, over it 6.216 (from memory).
TEST(ThreadWires, M6) {
  const Reckoned r = Done("thread-wires", {"thread=M6", "measured=6.200"});
  EXPECT_NEAR(LineOf(r, "over the wires"), 6.2165, 0.001);
  EXPECT_NEAR(LineOf(r, "pitch diameter measured"), 5.350481 - (6.216506 - 6.2), 1e-5);
  EXPECT_LT(LineOf(r, "the wires' lean adds"), 0.002);
  EXPECT_GT(LineOf(r, "the wires' lean adds"), 0);
}

TEST(Thread, NamedOrBySizesButNotBoth) {
  const Reckoned named = Done("thread", {"thread=M6"});
  const Reckoned sized = Done("thread", {"diameter=6", "pitch=1"});
  EXPECT_NEAR(LineOf(named, "pitch diameter"), LineOf(sized, "pitch diameter"), 1e-12);
  const Reckoned inch = Done("thread", {"diameter=1/4in", "tpi=20"}, LengthUnit::kInch);
  EXPECT_NEAR(LineOf(inch, "pitch diameter"), 0.2175 * kMmPerInch, 0.002);
  EXPECT_FALSE(Calc("thread", {"thread=M6", "pitch=1"}).has_value());
  EXPECT_FALSE(Calc("thread", {"diameter=6"}).has_value());
  EXPECT_EQ(Calc("thread", {"thread=M7.5"}).error().code, ErrorCode::kUnknownThread);
  EXPECT_EQ(Calc("thread", {"diameter=1", "pitch=1"}).error().code, ErrorCode::kOutOfRange);
}

// A listed thread has its table's figures: BS 93 rounds the depth of 2 BA to 0.485, read; the
// unified root is the rounded one of ASME B1.1, read.
TEST(Thread, ListedOnesAreAsTheirStandardPrintsThem) {
  const Reckoned ba = Done("thread", {"thread=2 BA"});
  EXPECT_NEAR(LineOf(ba, "pitch diameter"), 4.215, 1e-9);
  EXPECT_NEAR(LineOf(ba, "minor diameter of the nut"), 3.73, 1e-9);
  const Reckoned unified = Done("thread", {"thread=1/4-20"}, LengthUnit::kInch);
  EXPECT_NEAR(LineOf(unified, "root diameter of the screw"), 0.1905 * kMmPerInch, 0.0013);
  ASSERT_EQ(unified.tables.size(), 1u);
  EXPECT_NEAR(std::get<double>(unified.tables[0].rows[0][1]), 0.2408 * kMmPerInch, 1e-6);
  EXPECT_NEAR(std::get<double>(unified.tables[0].rows[0][2]), 0.2489 * kMmPerInch, 1e-6);
  EXPECT_TRUE(Done("thread", {"thread=1/4x40 ME"}).tables.empty());
}

}  // namespace
}  // namespace fitwright::reckon
