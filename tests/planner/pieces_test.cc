// What features need and leave, on small parts made here.
#include "fitwright/planner/pieces.h"

#include <gtest/gtest.h>

#include "fitwright/planner/route.h"
#include "fitwright/planner/route_internal.h"

namespace fitwright::planner {
namespace {

Feature Outside(const std::string& name, double from, double to, double d) {
  OuterDiameter shape;
  shape.from_mm = from;
  shape.to_mm = to;
  shape.diameter = {d, d, d, LimitsOrigin::kGeneralTolerance, {}};
  return {FeatureId(name), shape, Finish::kAsMachined, false, {}};
}

Feature Face(const std::string& name, const Vec3& normal, double at) {
  return {FeatureId(name), PlanarFace{normal, {at, at, at, LimitsOrigin::kGeneralTolerance, {}}}, Finish::kAsMachined, false, {}};
}

// Spigot 40 x 10, flange 54 x 10, nose 36 x 14 along +z, in a bar 60 that sticks out 3 at each end.
Part FlangedBush() {
  Part part;
  part.name = PartId("bush");
  part.envelope = EnvelopeKind::kTurned;
  part.stock.form = StockForm::kRound;
  part.stock.diameter_mm = 60;
  part.stock.from_mm = -3;
  part.stock.to_mm = 37;
  part.features = {Outside("spigot", 0, 10, 40), Outside("flange", 10, 20, 54), Outside("nose", 20, 34, 36),
                   Face("spigot_end", -Vec3::UnitZ(), 0), Face("flange_face", -Vec3::UnitZ(), -10),
                   Face("nose_end", Vec3::UnitZ(), 34)};
  return part;
}

TEST(Pieces, AnOutsideIsReachedFromTheEndThatHasNoLargerDiameterBefore) {
  const Part bush = FlangedBush();
  EXPECT_EQ(ToolSides(bush, *bush.Find(FeatureId("spigot"))).size(), 1U);
  EXPECT_LT(ToolSides(bush, *bush.Find(FeatureId("spigot"))).front().z(), 0);
  EXPECT_EQ(ToolSides(bush, *bush.Find(FeatureId("flange"))).size(), 2U);
  EXPECT_GT(ToolSides(bush, *bush.Find(FeatureId("nose"))).front().z(), 0);
}

TEST(Pieces, AShoulderComesWithItsDiameterAndAnEndFaceDoesNot) {
  const Part bush = FlangedBush();
  EXPECT_TRUE(IsCarried(bush, *bush.Find(FeatureId("flange_face"))));
  EXPECT_FALSE(IsCarried(bush, *bush.Find(FeatureId("spigot_end"))));
  EXPECT_FALSE(IsCarried(bush, *bush.Find(FeatureId("nose_end"))));
}

// A fine bore's last cut takes the burr of the counterbore at its mouth away; a plain hole carries its counterbore's pilot.
TEST(Pieces, ACounterboreComesBeforeAFinerBoreAndAfterAPlainHole) {
  const auto round = [](const std::string& name, HoleUse use, double d, double width) {
    Hole hole;
    hole.use = use;
    hole.into_P = -Vec3::UnitZ();
    hole.entries_P_mm = {Vec3::Zero()};
    hole.diameter = {d, d - width / 2, d + width / 2, LimitsOrigin::kLimits, {}};
    hole.depth_mm = use == HoleUse::kCounterbore ? 3 : 40;
    return Feature{FeatureId(name), hole, Finish::kAsMachined, false, {}};
  };
  for (const bool fine : {true, false}) {
    Part part;
    part.features = {round("bore", fine ? HoleUse::kBore : HoleUse::kHole, 30, 0.021), round("sink", HoleUse::kCounterbore, 36, 0.1)};
    std::vector<FeatureId> cuts = {FeatureId("bore"), FeatureId("sink")};
    SortCuts(part, cuts);
    EXPECT_EQ(cuts.front(), FeatureId(fine ? "sink" : "bore"));
  }
}

TEST(Pieces, TurningFromOneEndLeavesTheOtherRaw) {
  const Part bush = FlangedBush();
  PieceState piece = RawPiece(bush);
  ApplyCut(piece, *bush.Find(FeatureId("spigot_end")), -Vec3::UnitZ(), 0);
  ApplyCut(piece, *bush.Find(FeatureId("flange")), -Vec3::UnitZ(), 0);
  ApplyCut(piece, *bush.Find(FeatureId("spigot")), -Vec3::UnitZ(), 0);
  ASSERT_EQ(piece.bands.size(), 3U);
  EXPECT_DOUBLE_EQ(piece.bands[0].diameter_mm, 40);
  EXPECT_DOUBLE_EQ(piece.bands[1].diameter_mm, 54);
  EXPECT_EQ(piece.bands[1].feature, FeatureId("flange"));
  EXPECT_DOUBLE_EQ(piece.bands[2].diameter_mm, 60);
  EXPECT_DOUBLE_EQ(piece.bands[2].to_mm, 37);
  EXPECT_FALSE(piece.bands[2].feature);
  EXPECT_TRUE(piece.IsMade(FeatureId("flange_face")));
  const Box3 box = BoxOf(piece);
  EXPECT_DOUBLE_EQ(box.min_mm.z(), 0);
  EXPECT_DOUBLE_EQ(box.max_mm.z(), 37);
  EXPECT_NEAR(box.max_mm.x(), 30, 1e-9);
}

TEST(Pieces, AFaceLeftOverSizeIsNotMade) {
  Part block;
  block.name = PartId("block");
  block.block_P = {{0, 0, 0}, {10, 20, 30}};
  block.stock.box_P = {{-2, -2, -2}, {12, 22, 32}};
  block.features = {Face("top", Vec3::UnitZ(), 30)};
  PieceState piece = RawPiece(block);
  ApplyCut(piece, block.features[0], Vec3::UnitZ(), 0.3);
  EXPECT_FALSE(piece.IsMade(FeatureId("top")));
  EXPECT_DOUBLE_EQ(ExtentOf(piece, Vec3::UnitZ()).second, 30.3);
  ApplyCut(piece, block.features[0], Vec3::UnitZ(), 0);
  EXPECT_EQ(FinishedFace(piece, Vec3::UnitZ()), FeatureId("top"));
  EXPECT_FALSE(FinishedFace(piece, -Vec3::UnitZ()));
}

// An L of 8 mm walls, by its corners: along (0, 2, 1) the edge of the foot stands highest, not the corner that is gone.
TEST(Pieces, AlongASlantACornerThatAStepTookDoesNotCount) {
  Part angle;
  angle.name = PartId("angle");
  angle.block_P = {{0, 0, 0}, {50, 22, 24}};
  angle.stock.box_P = angle.block_P;
  StepCut step;
  step.into_P = -Vec3::UnitZ();
  step.removed_P = {{0, 8, 8}, {50, 22, 24}};
  angle.features = {{FeatureId("inside"), step, Finish::kAsMachined, false, {}}};
  PieceState piece = RawPiece(angle);
  const Vec3 up = Vec3(0, 2, 1).normalized();
  EXPECT_NEAR(ExtentOf(piece, up).second, (2 * 22 + 24) / std::sqrt(5.0), 1e-9);
  ApplyCut(piece, angle.features[0], Vec3::UnitZ(), 0);
  EXPECT_NEAR(ExtentOf(piece, up).second, (2 * 22 + 8) / std::sqrt(5.0), 1e-9);
  EXPECT_NEAR(ExtentOf(piece, -up).second, 0, 1e-9);
  EXPECT_DOUBLE_EQ(ExtentOf(piece, Vec3::UnitZ()).second, 24);
}

TEST(Pieces, ASlantingChamferIsCutWithItsOwnNormalUp) {
  Part block;
  block.name = PartId("foot");
  block.block_P = {{0, 0, 0}, {50, 22, 24}};
  block.stock.box_P = block.block_P;
  block.features = {Face("base_top", Vec3::UnitZ(), 8), Face("outer", Vec3::UnitY(), 22),
                    {FeatureId("slope"), EdgeChamfer{FeatureId("base_top"), FeatureId("outer"), 3, 6}, Finish::kAsMachined, false, {}}};
  const Vec3 up = ToolSides(block, block.features[2]).front();
  // 3 in along the top, 6 down the side: 63.43 degrees from the top.
  EXPECT_NEAR(std::acos(up.z()) * 180 / kPi, 63.4349, 1e-3);
}

}  // namespace
}  // namespace fitwright::planner
