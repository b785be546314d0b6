// Outlines and cutouts by one closed line: made as solids, read back, rebuilt.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "fitwright/recognize/part_reading.h"
#include "tests/recognize/round_trip.h"
#include "tests/solid/sample_parts.h"

namespace fitwright::recognize_test {
namespace {

using solid::testing::Add;
using solid::testing::AddOuter;
using solid::testing::MakeBlockPart;
using solid::testing::MakeTurnedPart;
using solid::testing::Plain;

const Box3 kPlate{Vec3(-30, -20, 0), Vec3(30, 20, 20)};

// Seen along into_P; the two other coordinates in the order of the axes, as u and v by the right
// hand.
Outline LineFrom(const Vec3& into, const Vec3& origin, ClosedLine line, bool within,
                 double depth_mm) {
  Outline outline;
  outline.into_P = into;
  outline.origin_P_mm = origin;
  outline.u_P = std::abs(into.x()) > 0.5 ? Vec3(Vec3::UnitY()) : Vec3(Vec3::UnitX());
  outline.v_P = outline.u_P.cross(into);
  outline.line = std::move(line);
  outline.within = within;
  outline.depth_mm = depth_mm;
  return outline;
}

ClosedLine Hexagon(double corner_mm) {
  ClosedLine line;
  for (int i = 0; i < 6; ++i)
    line.push_back({corner_mm * Vec2(std::cos(i * kPi / 3), std::sin(i * kPi / 3)), 0});
  return line;
}

std::size_t CountLines(const Part& part) {
  return static_cast<std::size_t>(
      std::count_if(part.features.begin(), part.features.end(), [](const Feature& feature) {
        const auto* outline = std::get_if<Outline>(&feature.shape);
        return outline != nullptr && !outline->line.empty();
      }));
}

Part PlateWith(const Outline& outline, const Box3& box = kPlate) {
  Part part = MakeBlockPart("plate", box);
  Add(part, "tested", outline);
  return part;
}

// Every face is explained, the rebuilt solid is the same one, and `count` closed lines were read.
void ExpectLinesReadBack(const Part& part, std::size_t count) {
  const auto trip = ReadBack(part);
  ASSERT_TRUE(trip);
  EXPECT_EQ(trip->explained, trip->faces) << trip->Words();
  EXPECT_LE(trip->difference_share, 1e-6) << trip->Words();
  EXPECT_EQ(CountLines(trip->reading.part), count) << trip->Words();
}

TEST(ReadLines, PlateWithSlantingSidesAndARoundEnd) {
  // The arc's middle lies to the right of its way, on x = 25.
  ExpectLinesReadBack(
      PlateWith(
          LineFrom(-Vec3::UnitZ(), {0, 0, 8},
                   {{{-40, -20}, 0}, {{10, -15}, kPi}, {{10, 15}, 0}, {{-40, 20}, 0}}, false, 0),
          {Vec3(-40, -20, 0), Vec3(25, 20, 8)}),
      1);
}

TEST(ReadLines, HexagonToADepthIsOneCutoutWithSharpCorners) {
  const auto trip = ReadBack(PlateWith(LineFrom(-Vec3::UnitZ(), {0, 0, 20}, Hexagon(12), true, 9)));
  ASSERT_TRUE(trip);
  EXPECT_TRUE(trip->Same()) << trip->Words();
  const auto says = [](const recognize::Inference& i) {
    return i.words.find("sharp inside corners") != std::string::npos;
  };
  EXPECT_TRUE(std::any_of(trip->reading.inferred.begin(), trip->reading.inferred.end(), says));
}

TEST(ReadLines, WindowOfLinesAndAnArcRightThroughFromASide) {
  ExpectLinesReadBack(
      PlateWith(LineFrom(Vec3::UnitX(), {-30, 0, 0},
                         {{{-9, -4}, 0}, {{-9, -13}, 0}, {{8, -15}, 0}, {{8, -6}, 1.5}}, true, 0)),
      1);
}

TEST(ReadLines, VeeAcrossTheTopOpenAtBothEnds) {
  ExpectLinesReadBack(PlateWith(LineFrom(-Vec3::UnitY(), {0, 20, 0},
                                         {{{-8, -22}, 0}, {{2, -9}, 0}, {{11, -22}, 0}}, true, 0)),
                      1);
}

TEST(ReadLines, UndercutSidesOfASlide) {
  ExpectLinesReadBack(
      PlateWith(LineFrom(-Vec3::UnitY(), {0, 20, 0},
                         {{{-6, -22}, 0}, {{-10, -12}, 0}, {{12, -12}, 0}, {{8, -22}, 0}}, true,
                         0)),
      1);
}

// A step whose wall slants across the part, over part of its height.
TEST(ReadLines, SlantingStep) {
  ExpectLinesReadBack(
      PlateWith(LineFrom(-Vec3::UnitZ(), {0, 0, 20},
                         {{{31, -6}, 0}, {{31, 21}, 0}, {{4, 21}, 0}, {{4, 20}, 0}, {{30, -6}, 0}},
                         true, 7)),
      1);
}

TEST(ReadLines, PadStandsOnWhatIsCutDownAroundIt) {
  ExpectLinesReadBack(
      PlateWith(LineFrom(-Vec3::UnitZ(), {0, 0, 20},
                         {{{-20, -8}, 0}, {{16, -12}, 0}, {{22, 10}, 0}, {{-14, 14}, 0}}, false,
                         6)),
      1);
}

TEST(ReadLines, HexagonInTheEndOfTurnedWork) {
  Part part = MakeTurnedPart("shaft", 26, -2, 32);
  AddOuter(part, "shaft", 0, 30, Plain(24));
  Add(part, "hex", LineFrom(-Vec3::UnitZ(), {0, 0, 30}, Hexagon(6), true, 8));
  ExpectLinesReadBack(part, 1);
}

// Teeth are no cuts of a sheet, and that is said.
TEST(ReadLines, RingOfTeethIsLeftUnread) {
  ClosedLine line;
  for (int i = 0; i < 48; ++i)
    line.push_back(
        {(i % 2 == 0 ? 18 : 14) * Vec2(std::cos(i * kPi / 24), std::sin(i * kPi / 24)), 0});
  const auto trip = ReadBack(PlateWith(LineFrom(-Vec3::UnitZ(), {0, 0, 8}, line, false, 0),
                                       {Vec3(-18, -18, 0), Vec3(18, 18, 8)}));
  ASSERT_TRUE(trip);
  EXPECT_EQ(CountLines(trip->reading.part), 0U);
  ASSERT_FALSE(trip->reading.unread.empty());
  EXPECT_NE(trip->reading.unread[0].why.find("teeth"), std::string::npos)
      << trip->reading.unread[0].why;
}

}  // namespace
}  // namespace fitwright::recognize_test
