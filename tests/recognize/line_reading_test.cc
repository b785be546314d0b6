// Outlines and cutouts by one closed line, each from a sheet or from plain solids of its own.
#include <gtest/gtest.h>

#include <cmath>

#include "fitwright/recognize/part_reading.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/primitives.h"
#include "tests/recognize/round_trip.h"
#include "tests/recognize/sheet_part.h"
#include "tests/recognize/sheet_words.h"

namespace fitwright::recognize_test {
namespace {

std::vector<Outline> LinesOf(const Part& part) {
  std::vector<Outline> lines;
  for (const Feature& feature : part.features) {
    const auto* outline = std::get_if<Outline>(&feature.shape);
    if (outline != nullptr && !outline->line.empty()) lines.push_back(*outline);
  }
  return lines;
}

// The rebuilt solid is the sheet's and every face is explained; `count` closed lines are read.
void ExpectLinesReadBack(const std::string& envelope, const std::string& features, std::size_t count) {
  const auto part = LoadPart(envelope, features);
  ASSERT_TRUE(part);
  const auto trip = ReadBack(*part);
  ASSERT_TRUE(trip);
  EXPECT_EQ(trip->explained, trip->faces) << trip->Words();
  EXPECT_LE(trip->difference_share, 1e-6) << trip->Words();
  EXPECT_EQ(LinesOf(trip->reading.part).size(), count) << trip->Words();
}

TEST(ReadLines, PlateWithSlantingSidesAndARoundEnd) {
  ExpectLinesReadBack("block = { x = [-40, 25], y = [-20, 20], z = [0, 8] }",
                      Say("shape", "outline", "from = \"+z\"\nline = [[-40, -20], [10, -15, 15], [10, 15], [-40, 20]]"), 1);
}

TEST(ReadLines, HexagonToADepthIsOneCutoutWithSharpCorners) {
  const auto part = LoadPart(kBlock, Say("hex", "cutout",
                                         "from = \"+z\"\nline = [[12, 0], [6, \"6 * sqrt(3)\"], [-6, \"6 * sqrt(3)\"], [-12, 0], [-6, \"-6 * sqrt(3)\"], [6, \"-6 * sqrt(3)\"]]\ndepth = 9"));
  ASSERT_TRUE(part);
  const auto trip = ReadBack(*part);
  ASSERT_TRUE(trip);
  EXPECT_TRUE(trip->Same()) << trip->Words();
  const auto says = [](const recognize::Inference& i) { return i.words.find("sharp inside corners") != std::string::npos; };
  EXPECT_TRUE(std::any_of(trip->reading.inferred.begin(), trip->reading.inferred.end(), says));
}

TEST(ReadLines, HollowOfLinesAndArcsRightThroughFromASide) {
  ExpectLinesReadBack(kBlock, Say("window", "cutout", "from = \"-x\"\nline = [[-9, 4], [8, 6, 6], [8, 15], [-9, 13]]\nthrough = true"), 1);
}

TEST(ReadLines, VeeAcrossTheTopOpenAtBothEnds) {
  ExpectLinesReadBack(kBlock, Say("vee", "cutout", "from = \"+y\"\nline = [[-8, 21], [2, 9], [11, 21]]\nthrough = true"), 1);
}

TEST(ReadLines, UndercutSidesOfASlide) {
  ExpectLinesReadBack(kBlock, Say("slide", "cutout", "from = \"+y\"\nline = [[-6, 21], [-10, 12], [12, 12], [8, 21]]\nthrough = true"), 1);
}

// Of a step whose wall slants, from one side of the part to the next, over part of its height.
TEST(ReadLines, SlantingStep) {
  ExpectLinesReadBack(kBlock, Say("step", "cutout", "from = \"+z\"\nline = [[31, -6], [31, 21], [4, 21], [4, 20], [30, -6]]\ndepth = 7"), 1);
}

TEST(ReadLines, PadStandsOnWhatIsCutDownAroundIt) {
  ExpectLinesReadBack(kBlock, Say("pad", "outline", "from = \"+z\"\nline = [[-20, -8], [16, -12], [22, 10], [-14, 14]]\ndepth = 6"), 1);
}

TEST(ReadLines, HexagonInTheEndOfTurnedWork) {
  ExpectLinesReadBack(kTurned,
                      Say("shaft", "outer_diameter", "from = 0\nto = 30\ndiameter = 24") +
                          Say("hex", "cutout", "from = \"+z\"\nline = [[6, 0], [3, \"3 * sqrt(3)\"], [-3, \"3 * sqrt(3)\"], [-6, 0], [-3, \"-3 * sqrt(3)\"], [3, \"-3 * sqrt(3)\"]]\ndepth = 8"),
                      1);
}

// A star's points are more stretches than one would mark out: no cut of a sheet, whatever it looks like.
TEST(ReadLines, RingOfTeethIsLeftUnread) {
  std::string line;
  for (int i = 0; i < 40; ++i) {
    const double r = i % 2 == 0 ? 18 : 14;
    line += fmt::format("{}[{:.6f}, {:.6f}]", i == 0 ? "" : ", ", r * std::cos(i * kPi / 20), r * std::sin(i * kPi / 20));
  }
  const auto part = LoadPart("block = { x = [-18, 18], y = [-18, 18], z = [0, 8] }", Say("teeth", "outline", "from = \"+z\"\nline = [" + line + "]"));
  ASSERT_TRUE(part);
  const auto trip = ReadBack(*part);
  ASSERT_TRUE(trip);
  EXPECT_TRUE(LinesOf(trip->reading.part).empty());
  EXPECT_FALSE(trip->reading.unread.empty());
}

}  // namespace
}  // namespace fitwright::recognize_test
