// Circlips, keys, preferred numbers, O-rings, belts and dividing plates.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

#include "fitwright/trade/belts.h"
#include "fitwright/trade/circlips.h"
#include "fitwright/trade/dividing_plates.h"
#include "fitwright/trade/fits.h"
#include "fitwright/trade/keys.h"
#include "fitwright/trade/o_rings.h"
#include "fitwright/trade/preferred_numbers.h"

namespace fitwright::trade {
namespace {

struct Groove {
  double nominal_mm;
  double thickness_mm;
  double groove_mm;
  double width_mm;
  double collar_mm;
};

// DIN 471 as public listings print it (read).
TEST(Circlips, OfShaftsAreThoseOfTheTable) {
  for (const Groove& row :
       {Groove{3, 0.4, 2.8, 0.5, 0.3}, Groove{6, 0.7, 5.7, 0.8, 0.5}, Groove{8, 0.8, 7.6, 0.9, 0.6},
        Groove{10, 1, 9.6, 1.1, 0.6}, Groove{12, 1, 11.5, 1.1, 0.8}, Groove{15, 1, 14.3, 1.1, 1.1},
        Groove{17, 1, 16.2, 1.1, 1.2}, Groove{19, 1.2, 18, 1.3, 1.5}, Groove{22, 1.2, 21, 1.3, 1.5},
        Groove{45, 1.75, 42.5, 1.85, 3.8}, Groove{48, 1.75, 45.5, 1.85, 3.8},
        Groove{50, 2, 47, 2.15, 4.5}}) {
    const auto clip = FindShaftCirclip(row.nominal_mm);
    ASSERT_TRUE(clip.has_value()) << row.nominal_mm;
    EXPECT_EQ(clip->thickness_mm, row.thickness_mm) << row.nominal_mm;
    EXPECT_EQ(clip->groove_mm, row.groove_mm) << row.nominal_mm;
    EXPECT_EQ(clip->width_mm, row.width_mm) << row.nominal_mm;
    EXPECT_NEAR(clip->collar_mm, row.collar_mm, 1e-12) << row.nominal_mm;
  }
  // Printed limits of the groove (read).
  EXPECT_EQ(FindShaftCirclip(3)->groove_low_mm, -0.04);
  EXPECT_EQ(FindShaftCirclip(6)->groove_low_mm, -0.048);
  EXPECT_EQ(FindShaftCirclip(9)->groove_low_mm, -0.06);
  EXPECT_EQ(FindShaftCirclip(12)->groove_low_mm, -0.11);
}

// DIN 472 as a public listing prints it (read).
TEST(Circlips, OfBoresAreThoseOfTheTable) {
  for (const Groove& row : {Groove{8, 0.8, 8.4, 0.9, 0.6}, Groove{10, 1, 10.4, 1.1, 0.6},
                            Groove{12, 1, 12.5, 1.1, 0.8}, Groove{13, 1, 13.6, 1.1, 0.9},
                            Groove{15, 1, 15.7, 1.1, 1.1}, Groove{16, 1, 16.8, 1.1, 1.2}}) {
    const auto clip = FindBoreCirclip(row.nominal_mm);
    ASSERT_TRUE(clip.has_value()) << row.nominal_mm;
    EXPECT_EQ(clip->thickness_mm, row.thickness_mm) << row.nominal_mm;
    EXPECT_EQ(clip->groove_mm, row.groove_mm) << row.nominal_mm;
    EXPECT_EQ(clip->width_mm, row.width_mm) << row.nominal_mm;
    EXPECT_NEAR(clip->collar_mm, row.collar_mm, 1e-12) << row.nominal_mm;
  }
  EXPECT_EQ(FindBoreCirclip(8)->groove_high_mm, 0.09);
  EXPECT_EQ(FindBoreCirclip(10)->groove_high_mm, 0.11);
}

// The groove's tolerance is a class of ISO 286, but for one value that DIN 471 prints rounded.
TEST(Circlips, GrooveLimitsAreClassesOfIso286) {
  for (const Circlip& clip : ShaftCirclips()) {
    const char* fit = clip.nominal_mm <= 10 ? "h10" : clip.nominal_mm <= 22 ? "h11" : "h12";
    EXPECT_NEAR(clip.groove_low_mm, FindFit(clip.groove_mm, fit)->lower_mm,
                clip.nominal_mm >= 7 && clip.nominal_mm <= 10 ? 0.002 + 1e-12 : 1e-12)
        << clip.nominal_mm;
    EXPECT_EQ(clip.groove_high_mm, 0);
    EXPECT_LT(clip.groove_mm, clip.nominal_mm);
    EXPECT_GT(clip.width_mm, clip.thickness_mm);
    EXPECT_NEAR(clip.width_high_mm, FindFit(clip.width_mm, "H13")->upper_mm, 1e-12);
  }
  for (const Circlip& clip : BoreCirclips()) {
    const char* fit = clip.nominal_mm <= 22 ? "H11" : "H12";
    EXPECT_NEAR(clip.groove_high_mm, FindFit(clip.groove_mm, fit)->upper_mm, 1e-12)
        << clip.nominal_mm;
    EXPECT_GT(clip.groove_mm, clip.nominal_mm);
    EXPECT_GT(clip.width_mm, clip.thickness_mm);
  }
}

TEST(Circlips, RefusesSizesThatAreNotMade) {
  EXPECT_EQ(FindShaftCirclip(2).error().code, ErrorCode::kOutOfRange);
  EXPECT_EQ(FindShaftCirclip(51).error().code, ErrorCode::kOutOfRange);
  EXPECT_EQ(FindBoreCirclip(7).error().code, ErrorCode::kOutOfRange);
  EXPECT_EQ(FindBoreCirclip(-8).error().code, ErrorCode::kNotPositive);
  EXPECT_EQ(FindBoreCirclip(std::nan("")).error().code, ErrorCode::kNotFinite);
  const auto between = FindShaftCirclip(12.5);
  ASSERT_FALSE(between.has_value());
  EXPECT_EQ(between.error().remedy, "choose 12 or 13 mm");
}

// DIN 6885-1 (read): shaft, key, depths in shaft and hub.
TEST(Keys, AreThoseOfTheTable) {
  struct Row {
    double shaft, width, height, t1, t2, tolerance;
  };
  for (const Row& row :
       {Row{8, 2, 2, 1.2, 1.0, 0.1}, Row{10, 3, 3, 1.8, 1.4, 0.1}, Row{12, 4, 4, 2.5, 1.8, 0.1},
        Row{15, 5, 5, 3, 2.3, 0.1}, Row{22, 6, 6, 3.5, 2.8, 0.1}, Row{22.1, 8, 7, 4, 3.3, 0.2},
        Row{38, 10, 8, 5, 3.3, 0.2}, Row{40, 12, 8, 5, 3.3, 0.2}, Row{50, 14, 9, 5.5, 3.8, 0.2},
        Row{55, 16, 10, 6, 4.3, 0.2}, Row{65, 18, 11, 7, 4.4, 0.2}}) {
    const auto key = FindKey(row.shaft);
    ASSERT_TRUE(key.has_value()) << row.shaft;
    EXPECT_EQ(key->width_mm, row.width) << row.shaft;
    EXPECT_EQ(key->height_mm, row.height) << row.shaft;
    EXPECT_EQ(key->shaft_depth_mm, row.t1) << row.shaft;
    EXPECT_EQ(key->hub_depth_mm, row.t2) << row.shaft;
    EXPECT_EQ(key->depth_tolerance_mm, row.tolerance) << row.shaft;
  }
}

// A key never fills both keyways: the depths add up to more than its height, by 0.1 to 0.4 mm.
TEST(Keys, LeaveClearanceOverTheKey) {
  double last = 6;
  for (const Key& key : Keys()) {
    EXPECT_EQ(key.over_mm, last);
    last = key.to_mm;
    const double over = key.shaft_depth_mm + key.hub_depth_mm - key.height_mm;
    EXPECT_GE(over, 0.2 - 1e-9) << key.width_mm;
    EXPECT_LE(over, 0.4 + 1e-9) << key.width_mm;
    for (const KeyFit fit : {KeyFit::kFree, KeyFit::kNormal, KeyFit::kClose}) {
      EXPECT_TRUE(FindFit(key.width_mm, KeywayClasses(fit).shaft).has_value());
      EXPECT_TRUE(FindFit(key.width_mm, KeywayClasses(fit).hub).has_value());
    }
  }
  EXPECT_EQ(FindKey(6).error().code, ErrorCode::kOutOfRange);
  EXPECT_EQ(FindKey(66).error().code, ErrorCode::kOutOfRange);
}

TEST(Keys, KeywaysMayBeDeeperByATenthToSixWideAndByTwoAbove) {  // DIN 6885-1, from memory
  EXPECT_EQ(KeywayDepthTolerance_mm(3), 0.1);
  EXPECT_EQ(KeywayDepthTolerance_mm(6), 0.1);
  EXPECT_EQ(KeywayDepthTolerance_mm(8), 0.2);
  EXPECT_EQ(KeywayDepthTolerance_mm(25), 0.2);
}

TEST(Keys, InchSizesOutsideTheTableAreRefused) {
  EXPECT_EQ(FindInchKey(0.3125 * 25.4).error().code, ErrorCode::kOutOfRange);
  EXPECT_EQ(FindInchKey(3.3 * 25.4).error().code, ErrorCode::kOutOfRange);
}

// Another route: the keyway's flat stands side / 2 off the middle of the shaft, so that the corner
// lies on the circle of the shaft.
TEST(Keys, InchKeyStandsHalfInTheShaft) {
  for (double in = 0.33; in <= 3.25; in += 0.0217) {
    const auto key = FindInchKey(in * 25.4);
    ASSERT_TRUE(key.has_value());
    const double radius = 0.5 * in * 25.4;
    const double floor_mm = radius - key->shaft_depth_mm;  // of the keyway, above the middle
    const double corner_mm = floor_mm + 0.5 * key->side_mm;
    EXPECT_NEAR(std::hypot(corner_mm, 0.5 * key->side_mm), radius, 1e-9) << in;
  }
}

TEST(PreferredNumbers, TableRulesOverTheFormula) {
  const auto r40 = PreferredNumbers(PreferredSeries::kR40);
  ASSERT_EQ(r40.size(), 40U);
  for (std::size_t n = 0; n < r40.size(); ++n) {
    // ISO 3: the rounded values lie within -1.01 % and +1.26 % of the theoretical ones.
    const double off = r40[n] / std::pow(10.0, static_cast<double>(n) / 40) - 1;
    EXPECT_LT(off, 0.0127) << n;
    EXPECT_GT(off, -0.0102) << n;
  }
  EXPECT_EQ(r40[19], 3.0);   // 2.985
  EXPECT_EQ(r40[31], 6.0);   // 5.957
  EXPECT_EQ(r40[7], 1.5);    // 1.496
  EXPECT_EQ(r40[25], 4.25);  // 4.217
}

TEST(PreferredNumbers, SeriesAreSubsets) {
  const auto expect_in = [](PreferredSeries few, PreferredSeries many) {
    for (const double value : PreferredNumbers(few)) {
      EXPECT_EQ(*NearestPreferred(many, value), value);
    }
  };
  expect_in(PreferredSeries::kR5, PreferredSeries::kR10);
  expect_in(PreferredSeries::kR10, PreferredSeries::kR20);
  expect_in(PreferredSeries::kR20, PreferredSeries::kR40);
  expect_in(PreferredSeries::kRounded10, PreferredSeries::kRounded20);
  expect_in(PreferredSeries::kRounded20, PreferredSeries::kRounded40);
  const auto r10 = PreferredNumbers(PreferredSeries::kR10);
  EXPECT_EQ(std::vector<double>(r10.begin(), r10.end()),
            (std::vector<double>{1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8}));
  const auto rounded = PreferredNumbers(PreferredSeries::kRounded20);
  EXPECT_EQ(std::vector<double>(rounded.begin(), rounded.end()),
            (std::vector<double>{1,   1.1, 1.25, 1.4, 1.6, 1.8, 2,   2.2, 2.5, 2.8,
                                 3.2, 3.6, 4,    4.5, 5,   5.6, 6.3, 7.1, 8,   9}));
}

TEST(PreferredNumbers, AnyDecade) {
  EXPECT_EQ(*PreferredAtOrBelow(PreferredSeries::kR10, 99), 80);
  EXPECT_EQ(*PreferredAtOrAbove(PreferredSeries::kR10, 81), 100);
  EXPECT_EQ(*PreferredAtOrAbove(PreferredSeries::kR10, 0.25), 0.25);
  EXPECT_EQ(*NearestPreferred(PreferredSeries::kR5, 3.9), 4);
  EXPECT_EQ(*NearestPreferred(PreferredSeries::kR40, 171.8), 170);
  EXPECT_EQ(*NearestPreferred(PreferredSeries::kR40, 436.8), 425);
  EXPECT_EQ(*NearestPreferred(PreferredSeries::kR20, 0.0099), 0.01);
  EXPECT_EQ(NearestPreferred(PreferredSeries::kR5, 0).error().code, ErrorCode::kNotPositive);
  EXPECT_EQ(NearestPreferred(PreferredSeries::kR5, 1e10).error().code, ErrorCode::kOutOfRange);
  EXPECT_EQ(NearestPreferred(PreferredSeries::kR5, INFINITY).error().code, ErrorCode::kNotFinite);
}

// AS568 (read in a public excerpt): dash number, inside in mm as printed there to 0.01.
TEST(ORings, AreThoseOfTheSeries) {
  struct Row {
    int dash;
    double inside, section;
  };
  for (const Row& row :
       {Row{4, 1.78, 1.78}, Row{8, 4.47, 1.78}, Row{10, 6.07, 1.78}, Row{12, 9.25, 1.78},
        Row{14, 12.42, 1.78}, Row{16, 15.60, 1.78}, Row{20, 21.95, 1.78}, Row{24, 28.30, 1.78},
        Row{110, 9.19, 2.62}, Row{120, 25.07, 2.62}, Row{210, 18.64, 3.53}, Row{218, 31.34, 3.53},
        Row{222, 37.69, 3.53}}) {
    const auto ring = FindORing(row.dash);
    ASSERT_TRUE(ring.has_value()) << row.dash;
    EXPECT_NEAR(ring->inside_mm, row.inside, 0.0051) << row.dash;
    EXPECT_NEAR(ring->section_mm, row.section, 0.0051) << row.dash;
  }
  EXPECT_EQ(FindORing(29).error().code, ErrorCode::kOutOfRange);
}

// Beyond the smallest, each size of a section is a sixteenth of an inch larger, to a thousandth.
TEST(ORings, GrowByASixteenth) {
  for (std::size_t i = 1; i < ORings().size(); ++i) {
    const ORing& ring = ORings()[i];
    const ORing& last = ORings()[i - 1];
    EXPECT_LT(last.dash, ring.dash);
    if (last.section_mm != ring.section_mm || last.inside_mm < 6) continue;
    const double step_thou = (ring.inside_mm - last.inside_mm) / 0.0254;
    EXPECT_NEAR(step_thou, 62.5, 0.6) << ring.dash;
  }
}

TEST(ORings, FillTheirGrooves) {
  for (const ORingUse use : {ORingUse::kFace, ORingUse::kStaticRadial, ORingUse::kMoving}) {
    const auto groove = GrooveFor(2.62, use);
    ASSERT_TRUE(groove.has_value());
    const double squeeze = 1 - groove->depth_mm / 2.62;
    EXPECT_GE(squeeze, SqueezeFor(use).least);
    EXPECT_LE(squeeze, SqueezeFor(use).most);
    const double area = std::numbers::pi / 4 * 2.62 * 2.62;
    EXPECT_NEAR(area / (groove->depth_mm * groove->width_mm), kGrooveFill, 1e-12);
    EXPECT_GT(groove->width_mm, 2.62);
  }
  EXPECT_EQ(GrooveFor(11, ORingUse::kFace).error().code, ErrorCode::kOutOfRange);
  EXPECT_EQ(ORingForGroove(9.3, 1.78)->dash, 12);
  EXPECT_EQ(ORingForGroove(9.2, 1.78)->dash, 11);
  EXPECT_EQ(ORingForGroove(1.0, 1.78).error().code, ErrorCode::kOutOfRange);
  EXPECT_EQ(ORingForGroove(60, 1.78).error().code, ErrorCode::kOutOfRange);
  EXPECT_EQ(ORingForGroove(20, 2.0).error().code, ErrorCode::kOutOfRange);
}

TEST(Belts, PitchesOfTheStandards) {
  EXPECT_NEAR(FindToothedBelt("MXL")->pitch_mm, 2.032, 1e-12);
  EXPECT_NEAR(FindToothedBelt("xl")->pitch_mm, 5.08, 1e-12);
  EXPECT_NEAR(FindToothedBelt("L")->pitch_mm, 9.525, 1e-12);
  EXPECT_NEAR(FindToothedBelt("H")->pitch_mm, 12.7, 1e-12);
  EXPECT_EQ(FindToothedBelt("T5")->pitch_mm, 5);
  EXPECT_EQ(FindToothedBelt("5m")->pitch_mm, 5);
  EXPECT_EQ(FindToothedBelt("Q"), nullptr);
  // Pulleys of the trade: XL of 10 teeth 0.637 in, L of 20 teeth 2.387 in pitch diameter.
  EXPECT_NEAR(PitchDiameter_mm(*FindToothedBelt("XL"), 10) / 25.4, 0.637, 0.0005);
  EXPECT_NEAR(PitchDiameter_mm(*FindToothedBelt("L"), 20) / 25.4, 2.387, 0.0005);
}

// Every number of divisions to 50 can be had with the three plates at 40 to 1: a whole number of
// holes of some circle.
TEST(DividingPlates, ThreePlatesDivideAllToFifty) {
  const DividingSet* set = FindDividingSet("head_40");
  ASSERT_NE(set, nullptr);
  for (int divisions = 2; divisions <= 50; ++divisions) {
    bool found = false;
    for (const HoleCircles plate : set->plates) {
      for (const int holes : plate) found |= holes * set->worm_ratio % divisions == 0;
    }
    EXPECT_TRUE(found) << divisions;
  }
  EXPECT_EQ(FindDividingSet("none"), nullptr);
  for (const DividingSet& row : DividingSets()) {
    for (const HoleCircles plate : row.plates) {
      for (std::size_t i = 1; i < plate.size(); ++i) EXPECT_LT(plate[i - 1], plate[i]) << row.name;
    }
  }
}

}  // namespace
}  // namespace fitwright::trade
