#include "fitwright/solid/apart.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/primitives.h"
#include "tests/solid/shapes.h"

namespace fitwright::solid {
namespace {

constexpr double kDepth_mm = 1e-7;

Solid Bar(const Vec3& at, const Vec3& along, double length_mm, double diameter_mm) {
  return *MakeCylinder({at, along}, 0, length_mm, diameter_mm);
}

Solid Rounded(const Vec3& centre, double length_mm, double width_mm, double radius_mm,
              double height_mm) {
  return *MakeRoundedRectangle({.centre_mm = centre,
                                .along = Vec3::UnitX(),
                                .up = Vec3::UnitZ(),
                                .length_mm = length_mm,
                                .width_mm = width_mm,
                                .corner_radius_mm = radius_mm,
                                .height_mm = height_mm});
}

Solid Without(const Solid& body, const std::vector<Solid>& tools) { return *Cut(body, tools); }

// What a feature takes away fills the hollow that the file has: each of its faces lies on the
// body's.
TEST(Apart, ToolsThatFillTheirOwnHollows) {
  const Solid block = Box(Vec3(0, 0, 0), Vec3(60, 40, 20));
  const Solid hole = Bar(Vec3(10, 10, -1), Vec3::UnitZ(), 22, 6);
  const Solid blind =
      *MakeRevolve({Vec3(25, 10, 21), -Vec3::UnitZ()},
                   {{0, 0}, {3, 0}, {3, 12}, {0, 12 + 3 / std::tan(59 * kRadPerDeg)}});
  const Solid pocket = Rounded(Vec3(45, 25, 12), 20, 14, 3, 9);
  const Solid slot = *MakeObround(Vec3(10, 30, 15), Vec3(25, 30, 15), Vec3::UnitZ(), 6, 6);
  const std::vector<Solid> tools = {hole, blind, pocket, slot};
  const ApartProbe probe(Without(block, tools));
  for (const Solid& tool : tools) EXPECT_EQ(probe.Meet(tool, kDepth_mm), Meeting::kApart);
}

TEST(Apart, AHairTooLargeOrBesideIsNotBelieved) {
  const Solid block = Box(Vec3(0, 0, 0), Vec3(60, 40, 20));
  const ApartProbe probe(Without(block, {Bar(Vec3(10, 10, -1), Vec3::UnitZ(), 22, 6),
                                         Rounded(Vec3(45, 25, 12), 20, 14, 3, 9)}));
  EXPECT_NE(probe.Meet(Bar(Vec3(10, 10, -1), Vec3::UnitZ(), 22, 6.00001), kDepth_mm),
            Meeting::kApart);
  EXPECT_NE(probe.Meet(Bar(Vec3(10.00001, 10, -1), Vec3::UnitZ(), 22, 6), kDepth_mm),
            Meeting::kApart);
  EXPECT_NE(probe.Meet(Rounded(Vec3(45, 25, 11.9999), 20, 14, 3, 9), kDepth_mm), Meeting::kApart);
  EXPECT_NE(probe.Meet(Rounded(Vec3(45, 25, 12), 20, 14, 2.9, 9), kDepth_mm), Meeting::kApart);
  EXPECT_EQ(probe.Meet(Bar(Vec3(10.2, 10, -1), Vec3::UnitZ(), 22, 5), kDepth_mm), Meeting::kApart);
  EXPECT_EQ(probe.Meet(Bar(Vec3(10, 10, -1), Vec3::UnitZ(), 22, 7), kDepth_mm), Meeting::kOverlap);
}

TEST(Apart, AToolWithinTheMetalAndOneFarAway) {
  const ApartProbe probe(Box(Vec3(0, 0, 0), Vec3(60, 40, 20)));
  EXPECT_EQ(probe.Meet(Bar(Vec3(30, 20, 5), Vec3::UnitZ(), 5, 6), kDepth_mm), Meeting::kOverlap);
  EXPECT_EQ(probe.Meet(Bar(Vec3(100, 20, 5), Vec3::UnitZ(), 5, 6), kDepth_mm), Meeting::kApart);
  EXPECT_EQ(probe.Meet(Solid(), kDepth_mm), Meeting::kApart);
}

// A pillar stands in the pocket, away from every face of the tool.
TEST(Apart, MetalInTheMiddleOfATool) {
  const Solid block = Box(Vec3(0, 0, 0), Vec3(60, 40, 20));
  const Solid pocket = Rounded(Vec3(30, 20, 12), 40, 24, 3, 9);
  const Solid pillar = Bar(Vec3(30, 20, 10), Vec3::UnitZ(), 8, 2);
  const ApartProbe probe(*Fuse({Without(block, {pocket}), pillar}));
  EXPECT_NE(probe.Meet(pocket, kDepth_mm), Meeting::kApart);
}

// A pocket that opens through its floor, and one tool that two pockets share a wall with.
TEST(Apart, APocketAmongOthers) {
  const Solid block = Box(Vec3(0, 0, 0), Vec3(60, 40, 20));
  const Solid pocket = Rounded(Vec3(20, 20, 10), 24, 20, 4, 11);
  const Solid deeper = Rounded(Vec3(20, 20, -1), 12, 8, 2, 12);
  const Solid beside = Rounded(Vec3(48, 20, 8), 16, 20, 4, 13);
  const ApartProbe probe(Without(block, {pocket, deeper, beside}));
  for (const Solid& tool : {pocket, deeper, beside})
    EXPECT_EQ(probe.Meet(tool, kDepth_mm), Meeting::kApart);
  EXPECT_NE(probe.Meet(Rounded(Vec3(20, 20, 9.99), 24, 20, 4, 12), kDepth_mm), Meeting::kApart);
}

// Rings: what a turned groove takes is no convex shape.
TEST(Apart, ARingInItsGroove) {
  const Axis3 axis{Vec3(0, 0, 0), Vec3::UnitZ()};
  const Solid shaft = *MakeCylinder(axis, 0, 40, 20);
  const Solid ring = *MakeRing(axis, 10, 14, 22, 16);
  const ApartProbe probe(Without(shaft, {ring}));
  EXPECT_EQ(probe.Meet(ring, kDepth_mm), Meeting::kApart);
  EXPECT_NE(probe.Meet(*MakeRing(axis, 10, 14, 22, 15.999), kDepth_mm), Meeting::kApart);
  EXPECT_NE(probe.Meet(*MakeRing(axis, 10, 14.001, 22, 16), kDepth_mm), Meeting::kApart);
}

// By the kernel's crossing: nothing is called apart that shares metal.
TEST(Apart, NeverAgainstTheCrossing) {
  std::mt19937 random(7);
  const auto step = [&](int from, int to) {
    return from + static_cast<int>(random() % static_cast<unsigned>(to - from + 1));
  };
  const auto tool = [&]() {
    const Vec3 at(step(0, 12) * 5, step(0, 8) * 5, step(0, 4) * 5);
    switch (step(0, 3)) {
      case 0:
        return Bar(at, Vec3::Unit(step(0, 2)), step(1, 6) * 5, step(1, 4) * 2);
      case 1:
        return Rounded(at, step(3, 5) * 4, 8, step(1, 3), step(1, 4) * 5);
      case 2:
        return *MakeObround(at, at + Vec3(10, 0, 0), Vec3::UnitZ(), 6, step(1, 4) * 5);
      default:
        return Box(at, at + Vec3(step(1, 4) * 5, step(1, 4) * 5, step(1, 4) * 5));
    }
  };
  int apart = 0;
  for (int round = 0; round < 12; ++round) {
    const auto body = Cut(Box(Vec3(0, 0, 0), Vec3(60, 40, 20)), {tool(), tool(), tool()});
    if (!body || body->empty()) continue;
    const ApartProbe probe(*body);
    for (int k = 0; k < 10; ++k) {
      const Solid other = tool();
      if (probe.Meet(other, kDepth_mm) != Meeting::kApart) continue;
      ++apart;
      const auto shared_mm3 = CalcCommonVolume_mm3(*body, other);
      ASSERT_TRUE(shared_mm3);
      EXPECT_LE(*shared_mm3, 1e-3) << "round " << round << ", tool " << k;
    }
  }
  EXPECT_GE(apart, 10);
}

}  // namespace
}  // namespace fitwright::solid
