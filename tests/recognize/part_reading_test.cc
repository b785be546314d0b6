// Shapes that are easily misread, each from a sheet of its own.
#include "fitwright/recognize/part_reading.h"

#include <gtest/gtest.h>

#include "fitwright/solid/primitives.h"
#include "tests/recognize/round_trip.h"
#include "tests/recognize/sheet_part.h"
#include "tests/recognize/sheet_words.h"

namespace fitwright::recognize_test {
namespace {

void ExpectSame(const std::string& envelope, const std::string& features) {
  const auto part = LoadPart(envelope, features);
  ASSERT_TRUE(part);
  const auto trip = ReadBack(*part);
  ASSERT_TRUE(trip);
  EXPECT_TRUE(trip->Same()) << trip->Words();
}

TEST(ReadPart, VeesSideBySideLeaveOnlyEdgesOfTheirDiameter) {
  const auto vee = [](const char* name, int from) {
    return Say(
        name, "groove",
        fmt::format(
            "inside = false\nfrom = {}\nto = {}\ndiameter = 16\nprofile = \"vee\"\nvee_angle = 60",
            from, from + 4));
  };
  ExpectSame(kTurned, Say("rim", "outer_diameter", "from = 0\nto = 12\ndiameter = 30") +
                          vee("a", 0) + vee("b", 4) + vee("c", 8));
}

TEST(ReadPart, HubWithCountersunkAndRecessedBore) {
  ExpectSame(
      kTurned,
      Say("rim", "outer_diameter", "from = 0\nto = 30\ndiameter = 50") +
          Say("boss", "outer_diameter", "from = 30\nto = 42\ndiameter = 30") +
          Say("bore", "bore", "from = \"+z\"\nat = [0, 0, 42]\ndiameter = 14\nthrough = true") +
          Say("recess", "groove", "inside = true\nfrom = 10\nto = 20\ndiameter = 20") +
          Say("mouth", "chamfer", "on = \"bore\"\nend = \"start\"\naxial = 1\nradial = 1") +
          Say("seat", "keyway",
              "inside = true\nfrom = 0\nto = 42\nwidth = 5\ndepth = 2.3\nside = \"+x\""));
}

TEST(ReadPart, HolesThroughSeveralWallsAreOne) {
  ExpectSame(kBlock,
             Say("channel", "step",
                 "from = \"+z\"\nremoved = { x = [-10, 10], y = [-20, 20], z = [5, 20] }") +
                 Say("pin", "hole",
                     "from = \"-x\"\nat = [0, 12]\nentry = -30\ndiameter = 6\nthrough = true"));
}

TEST(ReadPart, SeatsOnBothSidesOfOneHole) {
  ExpectSame(kBlock, Say("hole", "hole",
                         "from = \"+z\"\nat = [5, 2]\nentry = 20\ndiameter = 6\nthrough = true") +
                         Say("top_seat", "counterbore",
                             "from = \"+z\"\nat = [5, 2]\nentry = 20\ndiameter = 11\ndepth = 6") +
                         Say("low_seat", "counterbore",
                             "from = \"-z\"\nat = [5, 2]\nentry = 0\ndiameter = 11\ndepth = 4"));
}

TEST(ReadPart, ChannelsThatCrossAtOneDepth) {
  ExpectSame(
      kBlock,
      Say("long", "step", "from = \"+z\"\nremoved = { x = [-30, 30], y = [-4, 6], z = [12, 20] }") +
          Say("short", "step",
              "from = \"+z\"\nremoved = { x = [3, 9], y = [-20, 20], z = [12, 20] }"));
}

TEST(ReadPart, PocketsOfOneDepthGrownTogether) {
  const auto pocket = [](const char* name, const char* along, double length, double width,
                         double corner) {
    return Say(name, "pocket",
               fmt::format("from = \"+z\"\nat = [2, 1]\nentry = 20\nalong = \"{}\"\nlength = "
                           "{}\nwidth = {}\ncorner_radius = {}\ndepth = 7",
                           along, length, width, corner));
  };
  ExpectSame(kBlock, pocket("long", "+x", 44, 12, 2.5) + pocket("short", "+y", 26, 14, 4));
}

TEST(ReadPart, StairsOfTwoSteps) {
  ExpectSame(
      kBlock,
      Say("low", "step", "from = \"+z\"\nremoved = { x = [18, 30], y = [-20, 20], z = [6, 20] }") +
          Say("high", "step",
              "from = \"+z\"\nremoved = { x = [8, 30], y = [-20, 20], z = [13, 20] }"));
}

TEST(ReadPart, BossOnABlock) {
  ExpectSame(
      kBlock,
      Say("stud", "boss", "axis = \"+z\"\nat = [4, -3]\nfrom = 20\nto = 31\ndiameter = 12") +
          Say("hole", "hole", "from = \"+z\"\nat = [4, -3]\nentry = 31\ndiameter = 5\ndepth = 15"));
}

// What no sheet can say stays as a region with its faces and its volume, and nothing is guessed.
TEST(ReadPart, SlantingHoleIsLeftUnread) {
  const auto block = solid::MakeBox({{0, 0, 0}, {40, 30, 20}});
  const auto drill = solid::MakeCylinder({{20, 15, 10}, Vec3(1, 0, 2).normalized()}, -40, 40, 6);
  ASSERT_TRUE(block && drill);
  const auto body = solid::Cut(*block, {*drill});
  ASSERT_TRUE(body);
  const auto graphs = solid::MakeFaceGraphs(*body);
  ASSERT_TRUE(graphs);
  const auto reading = recognize::ReadPart(graphs->front(), *body, {PartId("block"), "steel"});
  ASSERT_TRUE(reading);
  ExpectEachFaceOnce(*reading, graphs->front().faces.size());
  ASSERT_EQ(reading->unread.size(), 1u);
  EXPECT_EQ(reading->unread[0].faces.size(), 1u);
  // The hole is as long as the block is high over the cosine of its slant.
  const double length_mm = 20 * std::sqrt(5.0) / 2;
  EXPECT_NEAR(reading->unread[0].volume_mm3, kPi * 9 * length_mm, 0.01);
  EXPECT_NEAR(reading->unread[0].area_mm2, kPi * 6 * length_mm, 0.01);
}

TEST(ReadPart, NamesNoMaterialWithoutSayingSo) {
  const auto block = solid::MakeBox({{0, 0, 0}, {40, 30, 20}});
  ASSERT_TRUE(block);
  const auto graphs = solid::MakeFaceGraphs(*block);
  ASSERT_TRUE(graphs);
  const auto reading = recognize::ReadPart(graphs->front(), *block, {PartId("block"), ""});
  ASSERT_TRUE(reading);
  ASSERT_EQ(reading->inferred.size(), 1u);
  EXPECT_EQ(reading->inferred[0].where, "material");
}

}  // namespace
}  // namespace fitwright::recognize_test
