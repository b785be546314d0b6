#include "fitwright/solid/build.h"

#include <gtest/gtest.h>

#include <cmath>

#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/primitives.h"
#include "tests/solid/sample_parts.h"
#include "tests/solid/shapes.h"

namespace fitwright::solid {
namespace {

using testing::Add;
using testing::Plain;

double DrilledVolume(double d, double depth, double point_deg) {
  return Area(d) * (depth + 0.5 * d / std::tan(0.5 * point_deg * kRadPerDeg) / 3);
}

class EveryPart : public ::testing::TestWithParam<int> {};
TEST_P(EveryPart, IsOneValidPieceInsideItsStock) {
  const Part part = testing::AllParts()[static_cast<std::size_t>(GetParam())];
  const Result<Solid> design = MakeDesign(part);
  ASSERT_TRUE(design.has_value()) << Format(design.error());
  EXPECT_TRUE(IsValid(*design));
  EXPECT_EQ(CountPieces(*design), 1u);
  const Result<Solid> stock = MakeStock(part);
  ASSERT_TRUE(stock.has_value());
  EXPECT_NEAR(*CalcCommonVolume_mm3(*design, *stock), CalcVolume_mm3(*design), 1e-3);
}

// Another way to the same solid: the bar, cut to length and then without one feature's volume after
// the other, in the reverse of the sheet's order.
TEST_P(EveryPart, IsItsStockWithoutEveryFeature) {
  const Part part = testing::AllParts()[static_cast<std::size_t>(GetParam())];
  const Solid design = *MakeDesign(part);
  const Box3 box = CalcBox(*MakeEnvelope(part));
  Solid piece = *MakeStock(part);
  for (int i = 0; i < 3; ++i) {
    piece = *Cut(piece, {*MakeBeyond(box.max_mm, Vec3::Unit(i))});
    piece = *Cut(piece, {*MakeBeyond(box.min_mm, -Vec3::Unit(i))});
  }
  for (auto feature = part.features.rbegin(); feature != part.features.rend(); ++feature) {
    // Faces within the part (floors, shoulders) are made by what they bound.
    if (std::holds_alternative<PlanarFace>(feature->shape)) continue;
    const Result<Solid> volume = MakeFeatureVolume(part, *feature);
    ASSERT_TRUE(volume.has_value()) << Format(volume.error());
    const Result<Solid> next = Cut(piece, {*volume});
    ASSERT_TRUE(next.has_value()) << feature->name.text();
    piece = *next;
  }
  const Result<double> difference = CalcSymmetricDifference_mm3(piece, design);
  ASSERT_TRUE(difference.has_value()) << Format(difference.error());
  EXPECT_LT(*difference, 1e-4);
}
INSTANTIATE_TEST_SUITE_P(All, EveryPart, ::testing::Range(0, 8), [](const auto& made) {
  return testing::AllParts()[static_cast<std::size_t>(made.param)].name.text();
});

TEST(Build, BlockVolumeByClosedForm) {
  const Part part = testing::MakeBushedBlock();
  const double r = 0.5 * 25.0105;
  const double ring = 2 * kPi * (r + 0.5 / 3) * 0.5 * 0.5 * 0.5;
  const double expected = 60.0 * 50 * 40 - Area(25.0105) * 40 - ring -
                          6 * DrilledVolume(2.5, 9, 118) - 2 * DrilledVolume(3.3, 10, 118);
  EXPECT_NEAR(CalcVolume_mm3(*MakeDesign(part)), expected, 1e-9 * expected);
}

TEST(Build, HousingVolumeByClosedForm) {
  const double spigot = 39.983;
  const double seat = 26.0105;
  // Segment of a circle beyond half = 16.5 from the centre, twice, 8 long.
  const double half = 16.5;
  const double segment = 18 * 18 * std::acos(half / 18) - half * std::sqrt(18 * 18 - half * half);
  const double expected = Area(spigot) * 10 + Area(54) * 10 + Area(36) * 14 -
                          (Area(spigot) - Area(39.4)) * 1 - Area(seat) * 32 - Area(22.5) * 2 -
                          (Area(27.2) - Area(seat)) * 1.3 - 6 * Area(3.2) * 10 - 2 * segment * 8;
  EXPECT_NEAR(CalcVolume_mm3(*MakeDesign(testing::MakeHousing())), expected, 1e-9 * expected);
}

TEST(Build, FootVolumeByClosedFormAndItsMirrorTheSame) {
  const double slot = (Area(5.5) + (12 - 5.5) * 5.5) * 8;
  const double expected = 50.0 * (22 * 24 - 14 * 16) - 2 * Area(4.5) * 8 - slot - 0.5 * 3 * 6 * 50;
  const double left = CalcVolume_mm3(*MakeDesign(testing::MakeFoot(1)));
  // The slope runs from 3 in (y = 47) down to 6 deep; the slot ends at y = 44.25: they do not meet.
  EXPECT_NEAR(left, expected, 1e-9 * expected);
  EXPECT_NEAR(CalcVolume_mm3(*MakeDesign(testing::MakeFoot(-1))), left, 1e-9 * left);
}

TEST(Build, LinerVolumeByClosedForm) {
  const double outside = 29.9865;
  const double bore = 24.0105;
  const double ring = 2 * kPi * (0.5 * bore + 0.5 / 3) * 0.5 * 1.5 * 0.5;
  const double expected = Area(outside) * 34 + Area(36) * 3.03 - Area(bore) * 37.03 - ring;
  EXPECT_NEAR(CalcVolume_mm3(*MakeDesign(testing::MakeLiner())), expected, 1e-9 * expected);
}

TEST(Build, OrderOfFeaturesDoesNotMatter) {
  Part part = testing::MakeBody();
  const Solid forward = *MakeDesign(part);
  std::reverse(part.features.begin(), part.features.end());
  EXPECT_LT(*CalcSymmetricDifference_mm3(forward, *MakeDesign(part)), 1e-6);
}

TEST(Build, BossStandsOnItsBlock) {
  Part part = testing::MakeBlockPart("cover", {Vec3(0, 0, 0), Vec3(30, 30, 10)});
  const Axis3 axis{Vec3(15, 15, 10), Vec3::UnitZ()};
  Add(part, "boss", OuterDiameter{false, axis, 0, 6, Plain(12)});
  Add(part, "rim", RoundChamfer{FeatureId("boss"), false, 1, 1});
  const Result<Solid> design = MakeDesign(part);
  ASSERT_TRUE(design.has_value()) << Format(design.error());
  const double rim = 2 * kPi * (6 - 1.0 / 3) * 0.5;
  const double expected = 9000 + Area(12) * 6 - rim;
  EXPECT_NEAR(CalcVolume_mm3(*design), expected, 1e-9 * expected);
  EXPECT_EQ(CountPieces(*design), 1u);
}

TEST(Build, RimChamferAtBothEnds) {
  Part part = testing::MakeTurnedPart("pin", 12, -1, 31);
  testing::AddOuter(part, "body", 0, 30, Plain(10));
  Add(part, "start", RoundChamfer{FeatureId("body"), true, 2, 1});
  Add(part, "end", RoundChamfer{FeatureId("body"), false, 0.5, 0.5});
  const double start = 2 * kPi * (5 - 1.0 / 3) * 0.5 * 2;
  const double end = 2 * kPi * (5 - 0.5 / 3) * 0.5 * 0.25;
  const double expected = Area(10) * 30 - start - end;
  EXPECT_NEAR(CalcVolume_mm3(*MakeDesign(part)), expected, 1e-9 * expected);
}

TEST(Build, ThroughChamferAtTheFarEnd) {
  Part part = testing::MakeBlockPart("plate", {Vec3(0, 0, 0), Vec3(20, 20, 6)});
  Add(part, "bore", testing::MakeHole(-Vec3::UnitZ(), {{10, 10, 6}}, Plain(8), 6, true));
  Add(part, "far", RoundChamfer{FeatureId("bore"), false, 1, 1});
  const double ring = 2 * kPi * (4 + 1.0 / 3) * 0.5;
  const double expected = 2400 - Area(8) * 6 - ring;
  EXPECT_NEAR(CalcVolume_mm3(*MakeDesign(part)), expected, 1e-9 * expected);
}

TEST(Build, FeatureVolumes) {
  const Part body = testing::MakeBody();
  // Stock stands 2 proud all round.
  EXPECT_NEAR(CalcVolume_mm3(*MakeFeatureVolume(body, *body.Find(FeatureId("top")))), 54 * 60 * 2,
              1e-6);
  const Part housing = testing::MakeHousing();
  EXPECT_NEAR(CalcVolume_mm3(*MakeFeatureVolume(housing, *housing.Find(FeatureId("nose")))),
              (Area(60) - Area(36)) * 14, 1e-6 * Area(60) * 14);
  // Holes run out 1 mm into the air they open to.
  EXPECT_NEAR(CalcVolume_mm3(*MakeFeatureVolume(body, *body.Find(FeatureId("left_holes")))),
              2 * DrilledVolume(3.3, 11, 118), 1e-6);
}

TEST(Build, FaultsNamePartAndFeature) {
  Part part = testing::MakeBlockPart("plate", {Vec3(0, 0, 0), Vec3(20, 20, 6)});
  Add(part, "lead", RoundChamfer{FeatureId("nowhere"), true, 1, 1});
  const Result<Solid> missing = MakeDesign(part);
  ASSERT_FALSE(missing.has_value());
  EXPECT_EQ(missing.error().code, ErrorCode::kUnknownFeature);
  EXPECT_NE(missing.error().message.find("plate, feature lead"), std::string::npos);

  part.features.back().shape = RoundChamfer{FeatureId("top"), true, 1, 1};
  EXPECT_EQ(MakeDesign(part).error().code, ErrorCode::kWrongFeatureKind);
  part.features.back().shape = EdgeChamfer{FeatureId("top"), FeatureId("bottom"), 1, 1};
  EXPECT_EQ(MakeDesign(part).error().code, ErrorCode::kWrongFeatureKind);
  part.features.back().shape = Groove{false, false, {}, 1, 2, Plain(5)};
  EXPECT_EQ(MakeDesign(part).error().code, ErrorCode::kWrongFeatureKind);
  part.features.back().shape = StepCut{-Vec3::UnitZ(), {Vec3(-1, -1, -1), Vec3(30, 30, 30)}};
  EXPECT_EQ(MakeDesign(part).error().code, ErrorCode::kOutOfRange);
  part.features.back().shape = testing::MakeHole(-Vec3::UnitZ(), {{10, 10, 6}}, Plain(0), 6, true);
  const Result<Solid> nothing = MakeDesign(part);
  EXPECT_EQ(nothing.error().code, ErrorCode::kOutOfRange);
  EXPECT_NE(nothing.error().message.find("feature lead"), std::string::npos);
  EXPECT_EQ(MakeDesign(testing::MakeTurnedPart("pin", 10, 0, 5)).error().code,
            ErrorCode::kOutOfRange);
}

}  // namespace
}  // namespace fitwright::solid
