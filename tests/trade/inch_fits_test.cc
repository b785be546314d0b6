// Inch fits against rows of ASME B4.1-1967 as a handbook prints them.
#include "fitwright/trade/inch_fits.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace fitwright::trade {
namespace {

constexpr double kThou_mm = 0.0254;
constexpr double kRounding_thou = 1e-9;

struct PrintedFit {
  double nominal_in;
  const char* fit;
  double least;  // clearance, thousandths of an inch; interference negative
  double greatest;
  double hole;  // upper; the lower is 0
  double shaft_upper;
  double shaft_lower;
};

class InchFitRow : public ::testing::TestWithParam<PrintedFit> {};
TEST_P(InchFitRow, Limits) {
  const PrintedFit& row = GetParam();
  const auto fit = FindInchFit(row.nominal_in * 25.4, row.fit);
  ASSERT_TRUE(fit.has_value()) << row.fit << ": " << Format(fit.error());
  EXPECT_EQ(fit->hole_lower_mm, 0);
  EXPECT_NEAR(fit->hole_upper_mm / kThou_mm, row.hole, kRounding_thou);
  EXPECT_NEAR(fit->shaft_upper_mm / kThou_mm, row.shaft_upper, kRounding_thou);
  EXPECT_NEAR(fit->shaft_lower_mm / kThou_mm, row.shaft_lower, kRounding_thou);
  EXPECT_NEAR(fit->least_clearance_mm() / kThou_mm, row.least, kRounding_thou);
  EXPECT_NEAR(fit->greatest_clearance_mm() / kThou_mm, row.greatest, kRounding_thou);
}
// Read: running and sliding fits. The limits of clearance are printed beside hole and shaft.
INSTANTIATE_TEST_SUITE_P(Running, InchFitRow,
                         ::testing::Values(PrintedFit{0.1, "RC1", 0.1, 0.45, 0.2, -0.1, -0.25},
                                           PrintedFit{1.0, "RC1", 0.3, 0.95, 0.4, -0.3, -0.55},
                                           PrintedFit{2.0, "RC1", 0.4, 1.2, 0.5, -0.4, -0.7},
                                           PrintedFit{4.0, "RC1", 0.5, 1.5, 0.6, -0.5, -0.9},
                                           PrintedFit{0.2, "RC2", 0.15, 0.65, 0.3, -0.15, -0.35},
                                           PrintedFit{0.5, "RC2", 0.25, 0.95, 0.4, -0.25, -0.55},
                                           PrintedFit{1.5, "RC2", 0.4, 1.4, 0.6, -0.4, -0.8},
                                           PrintedFit{0.3, "RC3", 0.5, 1.5, 0.6, -0.5, -0.9},
                                           PrintedFit{1.0, "RC3", 0.8, 2.1, 0.8, -0.8, -1.3},
                                           PrintedFit{3.5, "RC3", 1.4, 3.7, 1.4, -1.4, -2.3},
                                           PrintedFit{0.12, "RC4", 0.3, 1.3, 0.6, -0.3, -0.7},
                                           PrintedFit{0.6, "RC4", 0.6, 2.3, 1.0, -0.6, -1.3},
                                           PrintedFit{2.5, "RC4", 1.2, 4.2, 1.8, -1.2, -2.4},
                                           PrintedFit{1.0, "RC5", 1.6, 3.6, 1.2, -1.6, -2.4},
                                           PrintedFit{4.0, "RC5", 3.0, 6.6, 2.2, -3.0, -4.4},
                                           PrintedFit{0.5, "RC6", 1.2, 3.8, 1.6, -1.2, -2.2},
                                           PrintedFit{1.5, "RC6", 2.0, 6.1, 2.5, -2.0, -3.6},
                                           PrintedFit{0.2, "RC7", 1.2, 3.1, 1.2, -1.2, -1.9},
                                           PrintedFit{2.0, "RC7", 4.0, 8.8, 3.0, -4.0, -5.8},
                                           PrintedFit{0.3, "RC8", 3.0, 6.6, 2.2, -3.0, -4.4},
                                           PrintedFit{0.7, "RC8", 3.5, 7.9, 2.8, -3.5, -5.1},
                                           PrintedFit{0.1, "RC9", 4.0, 8.1, 2.5, -4.0, -5.6},
                                           PrintedFit{0.2, "RC9", 4.5, 9.0, 3.0, -4.5,
                                                      -6.0}));  // not the grade's -6.3
// Read: locational fits.
INSTANTIATE_TEST_SUITE_P(Locational, InchFitRow,
                         ::testing::Values(PrintedFit{0.1, "LC6", 0.3, 1.9, 1.0, -0.3, -0.9},
                                           PrintedFit{1.0, "LC6", 0.8, 4.0, 2.0, -0.8, -2.0},
                                           PrintedFit{0.5, "LC7", 1.2, 5.6, 2.8, -1.2, -2.8},
                                           PrintedFit{1.5, "LC7", 2.0, 8.5, 4.0, -2.0, -4.5},
                                           PrintedFit{0.3, "LC8", 1.6, 5.2, 2.2, -1.6, -3.0},
                                           PrintedFit{0.7, "LC9", 3.5, 10.3, 4.0, -3.5, -6.3},
                                           PrintedFit{1.0, "LC10", 7, 23, 8, -7, -15},
                                           PrintedFit{0.2, "LC11", 6, 20, 7, -6, -13},
                                           PrintedFit{0.1, "LT1", -0.12, 0.52, 0.4, 0.12, -0.12},
                                           PrintedFit{1.0, "LT1", -0.25, 1.05, 0.8, 0.25, -0.25},
                                           PrintedFit{0.5, "LT2", -0.35, 1.35, 1.0, 0.35, -0.35},
                                           PrintedFit{0.3, "LT3", -0.5, 0.5, 0.6, 0.5, 0.1},
                                           PrintedFit{1.0, "LT4", -0.9, 1.1, 1.2, 0.9, 0.1},
                                           PrintedFit{1.5, "LT5", -1.3, 0.3, 1.0, 1.3, 0.7},
                                           PrintedFit{0.1, "LT6", -0.65, 0.15, 0.4, 0.65, 0.25},
                                           PrintedFit{0.5, "LN1", -0.8, 0.0, 0.4, 0.8, 0.4},
                                           PrintedFit{2.0, "LN1", -1.3, -0.1, 0.7, 1.3, 0.8},
                                           PrintedFit{0.2, "LN2", -0.8, 0.0, 0.5, 0.8, 0.5},
                                           PrintedFit{4.0, "LN2", -2.5, -0.2, 1.4, 2.5, 1.6},
                                           PrintedFit{0.3, "LN3", -1.2, -0.2, 0.6, 1.2, 0.8},
                                           PrintedFit{1.0, "LN3", -1.7, -0.4, 0.8, 1.7, 1.2}));
// Read: force and shrink fits.
INSTANTIATE_TEST_SUITE_P(Force, InchFitRow,
                         ::testing::Values(PrintedFit{0.5, "FN1", -0.8, -0.1, 0.4, 0.8, 0.5},
                                           PrintedFit{3.5, "FN1", -2.4, -0.9, 0.9, 2.4, 1.8},
                                           PrintedFit{0.2, "FN2", -1.0, -0.2, 0.5, 1.0, 0.7},
                                           PrintedFit{2.0, "FN2", -2.7, -0.8, 1.2, 2.7, 2.0},
                                           PrintedFit{1.0, "FN3", -2.1, -0.8, 0.8, 2.1, 1.6},
                                           PrintedFit{3.0, "FN3", -3.7, -1.8, 1.2, 3.7, 3.0},
                                           PrintedFit{0.6, "FN4", -1.8, -0.7, 0.7, 1.8, 1.4},
                                           PrintedFit{1.75, "FN4", -3.4, -1.8, 1.0, 3.4, 2.8},
                                           PrintedFit{0.6, "FN5", -2.5, -0.8, 1.0, 2.5, 1.8},
                                           PrintedFit{3.94, "FN5", -8.4, -4.8, 2.2, 8.4, 7.0}));

TEST(InchFit, WidthsAreThoseOfTheGrades) {
  for (double in = 0.05; in <= 4.73; in += 0.05) {
    for (int grade = 5; grade <= 11; ++grade) {
      EXPECT_GE(*InchGrade_mm(in * 25.4, grade), *InchGrade_mm(in * 25.4, grade - 1));
    }
    for (const auto name : InchFits()) {
      const auto fit = FindInchFit(in * 25.4, name);
      if (!fit) continue;
      EXPECT_LT(fit->shaft_lower_mm, fit->shaft_upper_mm) << name;
      EXPECT_GT(fit->hole_upper_mm, 0) << name;
    }
  }
}

// Each class of a family is tighter or looser than the one before at every size.
TEST(InchFit, ClassesFollowInOrder) {
  for (double in = 0.05; in <= 1.19; in += 0.01) {
    const auto greatest = [&](const char* name) {
      return FindInchFit(in * 25.4, name)->greatest_clearance_mm();
    };
    EXPECT_LT(greatest("RC1"), greatest("RC2"));
    EXPECT_LT(greatest("RC3"), greatest("RC4"));
    EXPECT_LT(greatest("RC6"), greatest("RC7"));
    EXPECT_LT(greatest("RC8"), greatest("RC9"));
    EXPECT_LT(greatest("LC1"), greatest("LC2"));
    EXPECT_LT(greatest("LC10"), greatest("LC11"));
    EXPECT_LT(greatest("FN2"), greatest("FN1"));
    EXPECT_LT(greatest("LN3"), greatest("LN2"));
  }
}

TEST(InchFit, RefusesWhatIsNotTabled) {
  const auto code = [](double in, const char* fit) {
    const auto found = FindInchFit(in * 25.4, fit);
    EXPECT_FALSE(found.has_value()) << in << fit;
    EXPECT_FALSE(found.error().remedy.empty());
    return found.error().code;
  };
  EXPECT_EQ(code(1, "RC10"), ErrorCode::kUnknownFit);
  EXPECT_EQ(code(1, ""), ErrorCode::kUnknownFit);
  EXPECT_EQ(code(1, "H7"), ErrorCode::kUnknownFit);
  EXPECT_EQ(code(4.8, "RC3"), ErrorCode::kOutOfRange);
  EXPECT_EQ(code(3.2, "LT1"), ErrorCode::kOutOfRange);
  EXPECT_EQ(code(0.2, "LT3"), ErrorCode::kOutOfRange);
  EXPECT_EQ(code(0.95, "FN3"), ErrorCode::kOutOfRange);
  EXPECT_EQ(code(1.5, "LC10"), ErrorCode::kOutOfRange);
  EXPECT_EQ(code(0, "RC3"), ErrorCode::kNotPositive);
  EXPECT_EQ(code(std::numeric_limits<double>::quiet_NaN(), "RC3"), ErrorCode::kNotFinite);
  EXPECT_TRUE(FindInchFit(25.4, "rc 3").has_value());
  EXPECT_EQ(InchGrade_mm(25.4, 12).error().code, ErrorCode::kOutOfRange);
  EXPECT_NEAR(*InchGrade_mm(25.4, 7), 0.8 * kThou_mm, 1e-15);
}

}  // namespace
}  // namespace fitwright::trade
