#include "fitwright/review/review.h"

#include <gtest/gtest.h>

#include "fitwright/review/bores.h"
#include "spoiled_example.h"
#include "tests/review/named.h"

namespace fitwright::review {
namespace {

TEST(Review, SoundExamplesGiveNoFinding) {
  for (const char* example : {"bushed-block", "compressor-core", "airbrush-compressor"}) {
    const auto findings = ReviewSpoiled(example, {});
    EXPECT_TRUE(findings.empty()) << example << Listed(findings);
  }
}

struct PlantedFault {
  std::string example;
  std::vector<Change> changes;
  Expected expected;
};

const std::string kCompressor = "compressor-core";
const std::string kBlock = "bushed-block";

std::vector<PlantedFault> PlantedFaults() {
  const std::string body = "parts/body.toml";
  const std::string machine = "machine.toml";
  return {
      {kCompressor,
       {{body, "from = \"+x\"\nat = [0, 28]\ncircle", "from = \"+x\"\nat = [0, 29]\ncircle"}},
       {Rule::kPatternsDoNotLineUp, "joint front_screws", "1.000 mm"}},
      {kCompressor,
       {{machine, "at = [25, 0, 28]", "at = [25.5, 0, 28]"}},
       {Rule::kFacesApart, "joint front_face", "0.500 mm apart"}},
      {kCompressor,
       {{machine, "at = [0, 0, 84]", "at = [0, 0.2, 84]"}},
       {Rule::kAxesApart, "joint liner_fit", "0.200 mm"}},
      {kBlock,
       {{"parts/bush.toml", "fit = \"g6\"", "fit = \"p6\""}},
       {Rule::kSpigotTooBig, "joint bush_spigot", "spigot 25.0"}},
      {kBlock,
       {{"parts/block.toml", "thread_depth = 7", "thread_depth = 8.5"}},
       {Rule::kThreadTooDeep, "block.top_holes", "leaves 0.50 mm"}},
      {kBlock,
       {{"parts/bush.toml", "diameter = 3.2", "diameter = 3.05"}},
       {Rule::kHoleTooSmall, "bush.screw_holes", "screw of 3 mm"}},
      {kBlock,
       {{"parts/bush.toml", "to = 6\ndiameter = 44", "to = 6\ndiameter = 39.6"}},
       {Rule::kHeadOverlaps, "bush.screw_holes", "hangs over the edge"}},
      // Drawn by the general tolerance m: 30 +-0.2.
      {kCompressor,
       {{body, "diameter = 30\nfit = \"H7\"\n", "diameter = 30\n"}},
       {Rule::kFitMissing, "body.cylinder_bore", "29.800 to 30.200"}},
      {kCompressor,
       {{"parts/liner.toml", "from = -1\nto = 0\ndiameter = 29.4",
         "from = -9\nto = -8\ndiameter = 29.4"}},
       {Rule::kNoRelief, "liner.outside", "liner.flange_under does not seat"}},
      {kCompressor,
       {{machine, "thread = \"M3\", length = 16", "thread = \"M3\", length = 15"}},
       {Rule::kLengthNotSold, "joint front_screws", "M3 x 15"}},
      // Inch screws come in inch lengths: 5/8 is 15.875 mm; the least inside of the foot's hole
      // must clear 4.166 mm, and the head of 0.270 in stands where the metric one did.
      {kBlock,
       {{"parts/block.toml", "thread = \"M4\"", "thread = \"#8-32 unc\""},
        {machine, "thread = \"M4\", length = 16", "thread = \"8-32\", length = 16"}},
       {Rule::kLengthNotSold, "joint foot_screws", "#8-32 UNC x 16"}},
      // 47 x sin(4.5 deg) = 3.688.
      {kCompressor,
       {{body, "count = 6, first = 30", "count = 40, first = 30"},
        {"parts/front_housing.toml", "count = 6, first = 30", "count = 40, first = 30"}},
       {Rule::kHeadOverlaps, "front_housing.screw_holes", "3.69 mm apart"}},
      // The chambers' middles 15.8 apart, each 15 wide.
      {kWhole,
       {{"parts/head.toml", "at = [9.5, 0]\nalong", "at = [6.3, 0]\nalong"}},
       {Rule::kWallThin, "head.inlet_chamber", "0.80 mm"}},
      {kWhole,
       {{"parts/piston.toml", "from = 13.3\nto = 14.5", "from = 12.9\nto = 14.1"}},
       {Rule::kWallThin, "piston.ring_groove_1", "0.60 mm"}},
      {kWhole,
       {{"parts/ring.toml", "diameter = 22\n", "diameter = 23.4\n"}},
       {Rule::kWallThin, "ring.inside", "least 0.50 mm"}},
      {kWhole,
       {{"parts/gasket_plate.toml", "points = [[18, 18],", "points = [[18.5, 18],"}},
       {Rule::kPatternsDoNotLineUp, "joint head_screws", "0.500 mm"}},
      {kWhole,
       {{machine, "between = [\"gasket_head.screw_holes\", \"valve_plate.screw_holes\", ",
         "between = ["}},
       {Rule::kStackUnclear, "joint head_screws", "20.60 mm"}},
      {kBlock,
       {{"parts/foot.toml", "through = true", "depth = 9.2"}},
       {Rule::kPointBreaksOut, "foot.screw_holes", "far side"}},
  };
}

TEST(Review, EachFaultIsNamed) {
  for (const PlantedFault& fault : PlantedFaults()) {
    const auto findings = ReviewSpoiled(fault.example, fault.changes);
    EXPECT_TRUE(Names(findings, fault.expected)) << fault.changes.front().to << Listed(findings);
  }
}

// A bracket with a window from 5 to 30 up, screwed down through the window's floor: 25 are free
// above it, and a screw M4 x 25 with its head of 4 needs 29 (ISO 4762).
TEST(Review, ScrewThatCannotBePutIn) {
  Part base;
  base.name = PartId("base");
  base.material = "steel";
  base.block_P = {Vec3(-20, -20, -30), Vec3(20, 20, 0)};
  Hole tapped;
  tapped.entries_P_mm = {Vec3::Zero()};
  tapped.diameter = {3.3, 3.3, 3.3, LimitsOrigin::kLimits, ""};
  tapped.depth_mm = 25;
  tapped.thread = InternalThread{"M4", 4, 0.7, 22};
  base.features = {Named("tapped", tapped)};
  Part bracket = base;
  bracket.name = PartId("bracket");
  bracket.block_P = {Vec3(-20, -20, 0), Vec3(20, 20, 40)};
  Hole clear = tapped;
  clear.entries_P_mm = {Vec3(0, 0, 5)};
  clear.diameter = {4.5, 4.5, 4.5, LimitsOrigin::kLimits, ""};
  clear.depth_mm = 5;
  clear.through = true;
  clear.thread.reset();
  Pocket window;
  window.into_P = -Vec3::UnitX();
  window.centre_P_mm = Vec3(20, 0, 17.5);
  window.along_P = Vec3::UnitY();
  window.length_mm = 30;
  window.width_mm = 25;
  window.depth_mm = 30;
  bracket.features = {Named("clear", clear), Named("window", window)};
  Machine machine;
  machine.parts = {base, bracket};
  for (const Part& part : machine.parts)
    machine.uses.push_back({part.name, 1, Pose::Identity(), {}});
  Joint joint;
  joint.name = JointId("screw");
  joint.kind = JointKind::kScrewedPattern;
  joint.fixed = {PartId("base"), FeatureId("tapped")};
  joint.moving = {PartId("bracket"), FeatureId("clear")};
  joint.screw = Screw{"M4", 25, 4, 0.7};
  machine.joints = {joint};
  const Expected no_room{Rule::kNoKeyRoom, "bracket.clear", "bracket leaves 25.00 mm"};
  EXPECT_TRUE(Names(Review(machine), no_room)) << Listed(Review(machine));
  machine.joints[0].screw->length_mm = 20;
  EXPECT_FALSE(Names(Review(machine), no_room));
}

Part PlateWithTwoHoles(double centres_mm) {
  Part part;
  part.name = PartId("disc");
  part.block_P = {Vec3(-17, -17, 0), Vec3(17, 17, 8)};
  for (const auto& [name, x, diameter] :
       {std::tuple("shaft_hole", 0.0, 10.0), std::tuple("pin_hole", centres_mm, 6.0)}) {
    Hole hole;
    hole.entries_P_mm = {Vec3(x, 0, 8)};
    hole.diameter = {diameter, diameter, diameter, LimitsOrigin::kLimits, ""};
    hole.depth_mm = 8;
    hole.through = true;
    part.features.push_back({FeatureId(name), hole, Finish::kAsMachined, false, ""});
  }
  return part;
}

TEST(Bores, WallBetweenParallelHoles) {
  // 10 and 6 across at 10.000 centres leave 10 - 5 - 3 = 2.0; at 8.000 they touch.
  for (const auto& [centres, wall] : {std::pair(10.0, 2.0), std::pair(8.0, 0.0)}) {
    const Part part = PlateWithTwoHoles(centres);
    const auto bores = BoresOf(part);
    ASSERT_EQ(bores.size(), 2U);
    EXPECT_NEAR(CalcWall_mm(bores[0], bores[1]), wall, 1e-9);  // a sampled point lies in the plane
    EXPECT_NEAR(CalcWall_mm(bores[1], bores[0]), wall, 1e-9);
  }
}

TEST(Bores, DistanceOfPointsFromADrilledHole) {
  Bore bore;
  bore.into = -Vec3::UnitZ();
  bore.radius_mm = 2;
  bore.depth_mm = 10;
  bore.cone_mm = 1;
  EXPECT_NEAR(DistanceTo(bore, Vec3(5, 0, -5)), 3, 1e-12);   // beside
  EXPECT_NEAR(DistanceTo(bore, Vec3(0, 0, 3)), 3, 1e-12);    // above the entry
  EXPECT_NEAR(DistanceTo(bore, Vec3(1, 0, -5)), -1, 1e-12);  // inside
  EXPECT_NEAR(DistanceTo(bore, Vec3(5, 0, 4)), 5, 1e-12);    // 3, 4, 5 from the rim
  EXPECT_NEAR(DistanceTo(bore, Vec3(0, 0, -11)), 0, 1e-12);  // the tip
  EXPECT_LT(DistanceTo(bore, Vec3(0, 0, -10.5)), 0);         // inside the cone
  EXPECT_NEAR(DistanceTo(bore, Vec3(0, 0, -12)), 1, 1e-12);  // beyond the tip
}

}  // namespace
}  // namespace fitwright::review
