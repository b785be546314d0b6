// What a requirement leaves of a measured distance, against sums by hand.
#include "fitwright/planner/measure_share.h"

#include <gtest/gtest.h>

#include <cmath>

#include "fitwright/planner/measuring.h"
#include "tests/planner/find_wanted.h"
#include "tests/planner/says.h"
#include "tests/support/process_bench.h"

namespace fitwright::planner {
namespace {

using namespace bench;  // NOLINT: test helpers

constexpr double kExact_mm = 1e-9;  // closed forms on drawn numbers

Part Slab(const std::string& name, double low, double high, double half_each,
          Finish finish = Finish::kAsMachined) {
  Part part = MakeSawnBlock(name, Vec3(-20, -20, low), Vec3(20, 20, high));
  part.features.clear();
  Feature top = Make("top", PlanarFace{kZ, Plain(high, half_each)});
  Feature bottom = Make("bottom", PlanarFace{-kZ, Plain(-low, half_each)});
  for (Feature* face : {&top, &bottom}) face->finish = finish;
  part.features = {top, bottom};
  return part;
}

// 20 and 5 one on the other; the whole 25 within 0.2 either way.
Machine Stack(const Part& upper) {
  Machine machine;
  machine.parts = {Slab("block", 0, 20, 0.2), upper};
  Joint joint;
  joint.kind = JointKind::kFaceContact;
  joint.fixed = {PartId("block"), FeatureId("top")};
  joint.moving = {PartId("plate"), FeatureId("bottom")};
  machine.joints = {joint};
  Requirement r;
  r.name = RequirementId("R3");
  r.kind = RequirementKind::kDistance;
  r.a = {PartId("plate"), FeatureId("top")};
  r.b = {PartId("block"), FeatureId("bottom")};
  r.lower = -25.2;  // along b's normal, which looks down
  r.upper = -24.7;
  machine.requirements = {r};
  return machine;
}

double HalfOf20(const Machine& machine) {
  const auto share = ShareOfDistance(machine, machine.parts[0], kZ, 20, 0);
  return share ? share->half_mm : 0;
}

TEST(MeasureShare, TwoMadeDistancesShareTheWindowBySquares) {
  const Machine machine = Stack(Slab("plate", 20, 25, 0.2));
  const auto share = ShareOfDistance(machine, machine.parts[0], kZ, 20, 0);
  ASSERT_TRUE(share);
  EXPECT_NEAR(share->half_mm, 0.2 / std::sqrt(2.0), kExact_mm);  // the nearer side of the window
  EXPECT_EQ(share->others, 1);
  EXPECT_EQ(share->requirement.text(), "R3");
}

TEST(MeasureShare, WhatIsSuppliedTakesItsOwnLimitsFirst) {
  Part plate = Slab("plate", 20, 25, 0.05, Finish::kAsSupplied);
  for (Feature& face : plate.features)
    std::get<PlanarFace>(face.shape).at.origin = LimitsOrigin::kLimits;
  EXPECT_NEAR(HalfOf20(Stack(plate)), std::sqrt(0.2 * 0.2 - 0.1 * 0.1), kExact_mm);
}

// Plain() has the general tolerance alone: sheet in hand is measured, and takes nothing of the
// window.
TEST(MeasureShare, SuppliedSheetWithoutLimitsOfItsOwnTakesNothing) {
  EXPECT_NEAR(HalfOf20(Stack(Slab("plate", 20, 25, 0.05, Finish::kAsSupplied))), 0.2, kExact_mm);
}

TEST(MeasureShare, WhatIsMadeToSuitAsksNothing) {
  const Machine machine = Stack(Slab("plate", 20, 25, 0.2));
  EXPECT_FALSE(ShareOfDistance(machine, machine.parts[0], kZ, 20, 0, {RequirementId("R3")}));
}

TEST(MeasureShare, CloserLimitsThanTheShareLeaveTheRestToTheOthers) {
  const Machine machine = Stack(Slab("plate", 20, 25, 0.025));
  EXPECT_NEAR(HalfOf20(machine), std::sqrt(0.2 * 0.2 - 0.05 * 0.05), kExact_mm);
}

TEST(MeasureShare, PartsThatNothingJoinsShareNothing) {
  Machine machine = Stack(Slab("plate", 20, 25, 0.2));
  machine.joints.clear();
  EXPECT_FALSE(ShareOfDistance(machine, machine.parts[0], kZ, 20, 0));
}

// Read as two depths from an end at 30 beyond it, each half by squares.
TEST(MeasureShare, ADistanceReadAsTwoDepthsIsSharedByThem) {
  const Machine machine = Stack(Slab("plate", 20, 25, 0.2));
  const auto share = ShareOfDepth(machine, machine.parts[0], kZ, 30, 20);
  ASSERT_TRUE(share);
  EXPECT_NEAR(share->half_mm, 0.2 / 2, kExact_mm);
  ASSERT_TRUE(share->reads);
  EXPECT_NEAR(share->reads->between_mm, 20, kExact_mm);
  EXPECT_NEAR(share->reads->half_mm, 0.2 / std::sqrt(2.0), kExact_mm);
}

// Axes to meet within 0.1: half of it each, so that no two ticks add up to more; the page says for
// what.
TEST(MeasureShare, BoresThatAreToMeetAreHeldToHalfOfIt) {
  Machine machine;
  Part part = MakeSawnBlock("body", Vec3(-25, -28, 0), Vec3(25, 28, 87));
  part.features.push_back(Bored(
      "crank",
      {HoleUse::kBore, -Vec3::UnitX(), {Vec3(25, 0, 28)}, Fit(40, "H7", 0, 0.025), 50, true}));
  part.features.push_back(Bored(
      "cylinder", {HoleUse::kBore, -kZ, {Vec3(0, 0, 87)}, Fit(30, "H7", 0, 0.021), 59, true}));
  machine.parts = {part};
  Joint cover;
  cover.fixed = {part.name, FeatureId("right")};
  machine.joints = {cover};
  Requirement r;
  r.name = RequirementId("R2");
  r.kind = RequirementKind::kAxesMeet;
  r.a = {part.name, FeatureId("crank")};
  r.b = {part.name, FeatureId("cylinder")};
  r.upper = 0.1;
  machine.requirements = {r};
  int seen = 0;
  for (const Wanted& w : WantedMeasures(machine, machine.parts[0])) {
    if (w.words.find("right down on the plate") == std::string::npos) continue;
    ++seen;
    EXPECT_NEAR(w.upper_mm - w.lower_mm, 0.1, kExact_mm) << w.words;
    EXPECT_NE(w.after.find("R2 wants it within 0.050 mm"), std::string::npos) << w.after;
    ASSERT_TRUE(w.beside);
    const bool crank = w.feature == FeatureId("crank");
    EXPECT_EQ(w.beside->other, FeatureId(crank ? "cylinder" : "crank"));
    const std::string other = w.beside->other.text();
    EXPECT_EQ(w.beside->cut_already, ", or alike within 0.100 mm with what " + other + " was measured");
    EXPECT_EQ(w.beside->cut_later, "; where it is out, " + other + " is cut as much out the same way, for what counts is that the two are alike within 0.100 mm");
  }
  EXPECT_EQ(seen, 2);
}

Joint On(const PartId& part, const std::string& feature) {
  Joint joint;
  joint.kind = JointKind::kRunningFit;
  joint.fixed = {part, FeatureId(feature)};
  return joint;
}

// Holes 10 and 6 across, 10 apart: 10 + 5 + 3 over pins in both. ISO 2768 m to 30: 0.2.
TEST(MeasureShare, TwoFittedHolesAreMeasuredOverPins) {
  Machine machine;
  Part part = MakeTurned("disc", 36, -20, 8);
  part.features = {
      Bored("shaft_hole", {HoleUse::kBore, -kZ, {Vec3(0, 0, 8)}, Fit(10, "H7", 0, 0.015), 8, true}),
      Bored("pin_hole", {HoleUse::kBore, -kZ, {Vec3(10, 0, 8)}, Fit(6, "H7", 0, 0.012), 8, true})};
  machine.parts = {part};
  machine.joints = {On(part.name, "shaft_hole"), On(part.name, "pin_hole")};
  const std::vector<Wanted> all = WantedMeasures(machine, machine.parts[0]);
  const Wanted* over =
      Find(all, "a 10 mm pin into shaft hole and a 6 mm pin into pin hole; measure over both");
  ASSERT_NE(over, nullptr);
  EXPECT_NEAR(over->lower_mm, 17.8, kExact_mm);
  EXPECT_NEAR(over->upper_mm, 18.2, kExact_mm);
  EXPECT_NE(over->after.find("that makes ________ (10.000 mm drawn) between the axes"), std::string::npos) << over->after;
}

// Pin bore of 5 across a plug, 8.8 below its crown: 8.8 + 2.5 over a pin in it.
TEST(MeasureShare, ACrossHolesPlaceIsMeasuredOverAPinFromTheEndThatMatters) {
  Machine machine;
  Part part = MakeTurned("piston", 25, -30, 8);
  part.features = {
      Outer("outside", -16, 0, Plain(24)), Make("crown", PlanarFace{kZ, Plain(0)}),
      Make("skirt", PlanarFace{-kZ, Plain(16)}),
      Bored(
          "pin_bore",
          {HoleUse::kHole, -Vec3::UnitY(), {Vec3(0, 12, -8.8)}, Fit(5, "H7", 0, 0.012), 24, true})};
  machine.parts = {part};
  machine.joints = {On(part.name, "pin_bore"), On(part.name, "crown")};
  const std::vector<Wanted> all = WantedMeasures(machine, machine.parts[0]);
  const Wanted* over = Find(all, "Put a 5 mm pin into pin bore; crown down on the plate, measure up to its top at both stubs");
  ASSERT_NE(over, nullptr);
  EXPECT_NEAR(over->size_mm, 11.3, kExact_mm);
  EXPECT_EQ(Find(all, "skirt down on the plate"), nullptr);
}

}  // namespace
}  // namespace fitwright::planner
