#include "fitwright/units/length.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "fitwright/units/geometry.h"
#include "tests/units/unit_names.h"

namespace fitwright {
namespace {

// One rounding of a product or quotient of decimals of this size.
constexpr double kRounding_mm = 1e-12;

struct LengthCase {
  const char* text;
  LengthUnit bare;
  double mm;
};

class ReadsLength : public testing::TestWithParam<LengthCase> {};
TEST_P(ReadsLength, InMillimetres) {
  const auto length = ParseLength_mm(GetParam().text, GetParam().bare);
  ASSERT_TRUE(length.has_value()) << Format(length.error());
  EXPECT_NEAR(*length, GetParam().mm, kRounding_mm);
}
INSTANTIATE_TEST_SUITE_P(
    Forms, ReadsLength,
    testing::Values(LengthCase{"12.5", kMm, 12.5}, LengthCase{"12.5", kIn, 317.5},
                    LengthCase{" 12.5 mm ", kIn, 12.5}, LengthCase{"12.5mm", kMm, 12.5},
                    LengthCase{"1/2 in", kMm, 12.7}, LengthCase{"1-1/8 in", kMm, 28.575},
                    LengthCase{"1 1/8 in", kMm, 28.575}, LengthCase{"0.375 in", kMm, 9.525},
                    LengthCase{"3/8\"", kMm, 9.525}, LengthCase{"3/8", kIn, 9.525},
                    LengthCase{"-3/8 in", kMm, -9.525}, LengthCase{"-1-1/8 in", kMm, -28.575},
                    LengthCase{"+2", kMm, 2}, LengthCase{".5", kMm, 0.5},
                    LengthCase{"1.2 cm", kMm, 12}, LengthCase{"0.1 m", kMm, 100},
                    LengthCase{"15 um", kMm, 0.015}, LengthCase{"1e2", kMm, 100},
                    LengthCase{"2 inch", kMm, 50.8}, LengthCase{"0", kMm, 0}));

class RefusesLength : public testing::TestWithParam<const char*> {};
TEST_P(RefusesLength, WithValueAndRemedy) {
  const auto length = ParseLength_mm(GetParam(), kMm);
  ASSERT_FALSE(length.has_value());
  EXPECT_EQ(length.error().code, ErrorCode::kBadLength);
  EXPECT_EQ(length.error().value, GetParam());
  EXPECT_FALSE(length.error().remedy.empty());
}
INSTANTIATE_TEST_SUITE_P(Forms, RefusesLength,
                         testing::Values("", " ", "mm", "twelve", "12 ft", "1/0 in", "1.5/2 in",
                                         "1-9/8 in", "1-1/ in", "--2", "+-2", "1,5", "12 mm mm",
                                         "0x10", "1/2/3 in", "1 2", ". 5", "-", "1 -1/8 in"));

TEST(ParseLength, RefusesWhatIsNotFinite) {
  for (const char* text : {"nan", "inf", "-inf", "infinity mm", "1e400", "1e308 in"}) {
    const auto length = ParseLength_mm(text, kMm);
    ASSERT_FALSE(length.has_value()) << text;
    EXPECT_EQ(length.error().code, ErrorCode::kNotFinite) << text;
    EXPECT_EQ(length.error().value, text);
  }
}

TEST(ParseLength, NeverGivesMinusZero) { EXPECT_FALSE(std::signbit(*ParseLength_mm("-0", kMm))); }

TEST(ParseAngle, ReadsEachUnit) {
  constexpr double kRounding_rad = 1e-15;
  EXPECT_NEAR(*ParseAngle_rad("63.43"), 63.43 * kRadPerDeg, kRounding_rad * 10);
  EXPECT_NEAR(*ParseAngle_rad("30 min"), 0.5 * kRadPerDeg, kRounding_rad);
  EXPECT_NEAR(*ParseAngle_rad("63 deg 26 min 6 s"), (63 + 26 / 60.0 + 6 / 3600.0) * kRadPerDeg,
              kRounding_rad * 10);
  EXPECT_NEAR(*ParseAngle_rad("-1.2 mrad"), -0.0012, kRounding_rad);
  EXPECT_NEAR(*ParseAngle_rad("0.01 rad"), 0.01, kRounding_rad);
  for (const char* text : {"", "deg", "30 min 2 deg", "5 mm", "1 2", "1/2"}) {
    const auto angle = ParseAngle_rad(text);
    ASSERT_FALSE(angle.has_value()) << text;
    EXPECT_EQ(angle.error().code, ErrorCode::kBadAngle) << text;
  }
  EXPECT_EQ(ParseAngle_rad("inf").error().code, ErrorCode::kNotFinite);
}

TEST(FormatFixed, RoundsHalfAwayAsWritten) {
  EXPECT_EQ(FormatFixed(2.675, 2), "2.68");  // the nearest double is below 2.675
  EXPECT_EQ(FormatFixed(-2.675, 2), "-2.68");
  EXPECT_EQ(FormatFixed(1.005, 2), "1.01");
  EXPECT_EQ(FormatFixed(0.5, 0), "1");
  EXPECT_EQ(FormatFixed(-0.5, 0), "-1");
  EXPECT_EQ(FormatFixed(2.4999, 0), "2");
  EXPECT_EQ(FormatFixed(9.9996, 3), "10.000");
  EXPECT_EQ(FormatFixed(0.00049, 3), "0.000");
  EXPECT_EQ(FormatFixed(0.0005, 3), "0.001");
  EXPECT_EQ(FormatFixed(0.05, 3), "0.050");
  EXPECT_EQ(FormatFixed(123456.789, 1), "123456.8");
  EXPECT_EQ(FormatFixed(40, 3), "40.000");
  EXPECT_EQ(FormatFixed(1e15, 0), "1000000000000000");
  EXPECT_EQ(FormatFixed(0.1 + 0.2, 12), "0.300000000000");
}

TEST(FormatFixed, NeverPrintsMinusZero) {
  EXPECT_EQ(FormatFixed(-0.0, 3), "0.000");
  EXPECT_EQ(FormatFixed(-0.0004, 3), "0.000");
  EXPECT_EQ(FormatFixed(-1e-300, 3), "0.000");
  EXPECT_FALSE(std::signbit(RoundHalfAway(-0.0004, 3)));
}

TEST(FormatFixed, SaysWhatIsNotFinite) {
  EXPECT_EQ(FormatFixed(std::numeric_limits<double>::quiet_NaN(), 2), "nan");
  EXPECT_EQ(FormatFixed(-std::numeric_limits<double>::infinity(), 2), "-inf");
}

TEST(RoundHalfAway, AgreesWithDecimalArithmetic) {
  // k / 8 at two places: the third decimal is 0 or 5 exactly.
  for (int k = -4000; k <= 4000; ++k) {
    const int thousandths = k * 125;
    const int magnitude = std::abs(thousandths);
    const int hundredths = (magnitude + 5) / 10 * (k < 0 ? -1 : 1);
    EXPECT_DOUBLE_EQ(RoundHalfAway(k / 8.0, 2), hundredths / 100.0) << k;
  }
}

TEST(FormatLength, ShowsUnitsAndLimits) {
  EXPECT_EQ(FormatLength(12.7, kIn, 3), "0.500");
  EXPECT_EQ(FormatLengthWithUnit(12.5, kMm, 2), "12.50 mm");
  EXPECT_EQ(FormatLimits(39.975, 39.991, kMm, 3), "39.975-39.991");
  EXPECT_EQ(FormatLimits(-0.025, -0.009, kMm, 3), "-0.025 to -0.009");
  EXPECT_EQ(FormatTrimmed(12.50, 3), "12.5");
  EXPECT_EQ(FormatTrimmed(100, 3), "100");
  EXPECT_EQ(FormatTrimmed(100, 0), "100");
  Size size{40, 39.975, 39.991, LimitsOrigin::kFit, "g6"};
  EXPECT_EQ(FormatSize(size, kMm, 3), "40 g6 (39.975-39.991)");
  EXPECT_EQ(DecimalsFor(0.016, kMm), 3);
  EXPECT_EQ(DecimalsFor(0.6, kIn), 3);
}

TEST(FormatAngle, ShowsDegreesAndMinutes) {
  EXPECT_EQ(FormatAngle_deg(std::atan2(6, 3), 2), "63.43");
  EXPECT_EQ(FormatAngle_degmin(std::atan2(6, 3)), "63 deg 26 min");
  EXPECT_EQ(FormatAngle_degmin(59.9999 * kRadPerDeg), "60 deg 0 min");
  EXPECT_EQ(FormatAngle_degmin(-0.5 * kRadPerDeg), "-0 deg 30 min");
}

TEST(Length, WhatIsPrintedReadsBack) {
  for (int k = -5000; k <= 5000; k += 7) {
    const double mm = k * 0.0137;
    const std::string text = FormatLengthWithUnit(mm, kMm, 4);
    const auto read = ParseLength_mm(text, kIn);
    ASSERT_TRUE(read.has_value()) << text;
    EXPECT_NEAR(*read, mm, 0.5e-4 + kRounding_mm) << text;
  }
}

}  // namespace
}  // namespace fitwright
