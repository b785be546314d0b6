#include "fitwright/solid/cutters.h"

#include <gtest/gtest.h>

#include <cmath>

#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/primitives.h"
#include "tests/solid/sample_parts.h"
#include "tests/solid/shapes.h"

namespace fitwright::solid {
namespace {

// The same for volumes up to 2e5 mm3, at the quadrature's 1e-9 and no more.
constexpr double kNear_mm3 = 2e-4;

Tool MakeTool(ToolKind kind, double diameter, double flute, double point_deg = 180) {
  Tool tool;
  tool.name = ToolId("tool");
  tool.kind = kind;
  tool.diameter_mm = diameter;
  tool.flute_mm = flute;
  tool.point_deg = point_deg;
  return tool;
}

PathPiece MakePath(PathKind kind, std::vector<Vec3> points, double from_z = 0, double set = 0) {
  PathPiece piece;
  piece.kind = kind;
  piece.points_S_mm = std::move(points);
  piece.from_z_mm = from_z;
  piece.set_diameter_mm = set;
  return piece;
}

Solid Swept(const Tool& tool, const PathPiece& piece) {
  const Result<std::vector<Solid>> swept = MakeSweptCutter(tool, piece);
  EXPECT_TRUE(swept.has_value()) << (swept ? "" : Format(swept.error()));
  for (const Solid& one : *swept) EXPECT_TRUE(IsValid(one));
  return *Fuse(*swept);
}

TEST(Plunge, DrillHasItsCone) {
  const Tool drill = MakeTool(ToolKind::kDrill, 6, 50, 118);
  const double cone = CalcPointLength_mm(6, 118);
  EXPECT_NEAR(cone, 3 / std::tan(59 * kRadPerDeg), 1e-12);
  const Solid swept = Swept(drill, MakePath(PathKind::kPlunge, {{5, 7, -20 - cone}}, 2));
  const double expected = Area(6) * cone / 3 + Area(6) * (22 + 50);
  EXPECT_NEAR(CalcVolume_mm3(swept), expected, kRelative * expected);
  const Box3 box = CalcBox(swept);
  EXPECT_NEAR(box.min_mm.z(), -20 - cone, 1e-6);
  EXPECT_NEAR(box.min_mm.x(), 2, 1e-6);
}

TEST(Plunge, FlatToolsAndSetDiameters) {
  const Solid mill =
      Swept(MakeTool(ToolKind::kSlotDrill, 8, 20), MakePath(PathKind::kPlunge, {{0, 0, -3}}, 1));
  EXPECT_NEAR(CalcVolume_mm3(mill), Area(8) * 24, kRelative * Area(8) * 24);
  Tool head = MakeTool(ToolKind::kBoringHead, 60, 40, 118);
  const Solid bore = Swept(head, MakePath(PathKind::kPlunge, {{0, 0, -50}}, 1, 40.0125));
  EXPECT_NEAR(CalcVolume_mm3(bore), Area(40.0125) * 91, kRelative * Area(40.0125) * 91);
}

TEST(Plunge, OneSolidForEachHole) {
  const auto swept =
      MakeSweptCutter(MakeTool(ToolKind::kDrill, 3, 30, 118),
                      MakePath(PathKind::kPlunge, {{0, 0, -5}, {10, 0, -5}, {20, 0, -6}}, 1));
  ASSERT_EQ(swept->size(), 3u);
}

TEST(Mill, SlotAndCornerByClosedForm) {
  const Tool mill = MakeTool(ToolKind::kEndMill, 10, 25);
  const Solid slot = Swept(mill, MakePath(PathKind::kMill, {{0, 0, -4}, {30, 0, -4}}));
  const double slot_area = 300 + Area(10);
  EXPECT_NEAR(CalcVolume_mm3(slot), slot_area * 25, kRelative * slot_area * 25);
  // Two arms square to each other: both slots less the overlap: a square 5 x 5 corner, two quarter
  // discs and one three-quarter... the overlap of two obrounds about the corner is the disc there
  // plus the 5 x 5 square less the disc's quarter in it.
  const Solid corner =
      Swept(mill, MakePath(PathKind::kMill, {{0, 0, -4}, {30, 0, -4}, {30, 30, -4}}));
  const double overlap = 0.75 * Area(10) + 25;
  EXPECT_NEAR(CalcVolume_mm3(corner), (2 * slot_area - overlap) * 25, kNear_mm3);
}

TEST(Mill, ClosedLoopAndThereAndBack) {
  const Tool mill = MakeTool(ToolKind::kEndMill, 6, 20);
  const Solid loop = Swept(
      mill, MakePath(PathKind::kMill, {{0, 0, 0}, {20, 0, 0}, {20, 10, 0}, {0, 10, 0}, {0, 0, 0}}));
  const double outside = 20 * 10 + 2 * 3 * (20 + 10) + Area(6);
  const double inside = (20 - 6) * (10 - 6);
  EXPECT_NEAR(CalcVolume_mm3(loop), (outside - inside) * 20, kNear_mm3);
  const Solid back = Swept(mill, MakePath(PathKind::kMill, {{0, 0, 0}, {20, 0, 0}, {-5, 0, 0}}));
  EXPECT_NEAR(CalcVolume_mm3(back), (25 * 6 + Area(6)) * 20, kNear_mm3);
}

TEST(Mill, DownThenAlong) {
  const Tool mill = MakeTool(ToolKind::kSlotDrill, 6, 20);
  const Solid swept =
      Swept(mill, MakePath(PathKind::kMill, {{0, 0, 5}, {0, 0, -2}, {10, 0, -2}, {10, 0, 5}}));
  EXPECT_NEAR(CalcVolume_mm3(swept), (60 + Area(6)) * 20 + 2 * Area(6) * 7, kNear_mm3);
}

TEST(Mill, ChamferMillLeavesASlope) {
  // Point 90, tip 2 below the top, on the edge's line: a 45 degree chamfer of 2.
  Tool mill = MakeTool(ToolKind::kChamferMill, 12, 10, 90);
  const Solid block = Box(Vec3(0, 0, -20), Vec3(30, 20, 0));
  const auto swept = MakeSweptCutter(mill, MakePath(PathKind::kMill, {{-10, 0, -2}, {40, 0, -2}}));
  ASSERT_TRUE(swept.has_value());
  EXPECT_NEAR(CalcVolume_mm3(*Cut(block, *swept)), 12000 - 0.5 * 2 * 2 * 30, 1e-6);
}

TEST(Mill, SlopingLinesAreRefused) {
  const auto swept = MakeSweptCutter(MakeTool(ToolKind::kEndMill, 6, 20),
                                     MakePath(PathKind::kMill, {{0, 0, 0}, {10, 0, -1}}));
  ASSERT_FALSE(swept.has_value());
  EXPECT_EQ(swept.error().code, ErrorCode::kOutOfRange);
  EXPECT_NE(swept.error().message.find("tool tool"), std::string::npos);
}

// A knife tool: corner at the origin, body away from the work in +x and +z.
Tool MakeKnife() {
  Tool tool;
  tool.name = ToolId("knife");
  tool.kind = ToolKind::kTurningTool;
  tool.section_T_mm = {{0, 0}, {20, 0}, {20, 30}, {0, 3}};
  return tool;
}

TEST(Turn, CylinderAndShoulder) {
  const Solid bar = *MakeCylinder({Vec3::Zero(), Vec3::UnitZ()}, 0, 60, 30);
  const auto swept = MakeSweptCutter(
      MakeKnife(), MakePath(PathKind::kTurn, {{10, 0, 65}, {10, 0, 20}, {18, 0, 20}}));
  ASSERT_TRUE(swept.has_value()) << Format(swept.error());
  const Result<Solid> turned = Cut(bar, *swept);
  ASSERT_TRUE(turned.has_value());
  const double expected = Area(30) * 20 + Area(20) * 40;
  EXPECT_NEAR(CalcVolume_mm3(*turned), expected, 1e-8 * expected);
  EXPECT_TRUE(IsValid(*turned));
  EXPECT_EQ(CountFaces(*turned), 5u);
}

TEST(Turn, FacingToTheMiddleLeavesNoPip) {
  const Solid bar = *MakeCylinder({Vec3::Zero(), Vec3::UnitZ()}, 0, 60, 30);
  Tool facing = MakeKnife();
  facing.section_T_mm = {{0, 0}, {30, 3}, {30, 20}, {0, 20}};
  const auto swept =
      MakeSweptCutter(facing, MakePath(PathKind::kTurn, {{17, 0, 58}, {-0.2, 0, 58}}));
  ASSERT_TRUE(swept.has_value()) << Format(swept.error());
  const Solid faced = *Cut(bar, *swept);
  EXPECT_NEAR(CalcVolume_mm3(faced), Area(30) * 58, 1e-8 * Area(30) * 58);
  EXPECT_EQ(CountFaces(faced), 3u);
}

TEST(Turn, PartingLeavesTwoPieces) {
  const Solid bar = *MakeCylinder({Vec3::Zero(), Vec3::UnitZ()}, 0, 60, 30);
  Tool parting = MakeKnife();
  parting.kind = ToolKind::kPartingTool;
  parting.section_T_mm = {{0, 0}, {25, 0}, {25, 3}, {0, 3}};
  const Solid two =
      *Cut(bar, *MakeSweptCutter(parting, MakePath(PathKind::kTurn, {{16, 0, 20}, {-0.1, 0, 20}})));
  EXPECT_EQ(CountPieces(two), 2u);
  EXPECT_NEAR(CalcVolume_mm3(two), Area(30) * 57, 1e-8 * Area(30) * 57);
}

TEST(Turn, InsideGrooveWithAConcaveSection) {
  // A bar 8 thick along z with a cutting tooth 2 wide that stands 3 out of it: an L.
  Tool hook;
  hook.name = ToolId("hook");
  hook.kind = ToolKind::kInternalGroovingTool;
  hook.section_T_mm = {{0, 0}, {0, 2}, {-3, 2}, {-3, 40}, {-8, 40}, {-8, 0}};
  const Solid tube = *MakeRing({Vec3::Zero(), Vec3::UnitZ()}, 0, 20, 40, 26);
  // Tooth tip out to 13.6, so that the bar (3 behind it) clears the bore.
  const auto swept = MakeSweptCutter(hook, MakePath(PathKind::kTurn, {{12, 0, 5}, {13.6, 0, 5}}));
  ASSERT_TRUE(swept.has_value()) << Format(swept.error());
  const Solid grooved = *Cut(tube, *swept);
  const double expected = (Area(40) - Area(26)) * 20 - (Area(27.2) - Area(26)) * 2;
  EXPECT_NEAR(CalcVolume_mm3(grooved), expected, 1e-8 * expected);
}

TEST(Turn, TaperFollowsThePath) {
  const Solid bar = *MakeCylinder({Vec3::Zero(), Vec3::UnitZ()}, 0, 40, 30);
  Tool knife = MakeKnife();
  const Solid tapered = *Cut(
      bar, *MakeSweptCutter(knife, MakePath(PathKind::kTurn, {{4.9, 0, 40.1}, {15.1, 0, 29.9}})));
  // 45 degrees through (5, 40) and (15, 30): a frustum on a cylinder; the tool's flank (0,0)-(0,3)
  // is steeper and takes nothing more.
  const double expected = Area(30) * 30 + kPi * 10 * (25 + 75 + 225) / 3;
  EXPECT_NEAR(CalcVolume_mm3(tapered), expected, 1e-8 * expected);
}

TEST(Saw, TakesAllBeyond) {
  Tool saw = MakeTool(ToolKind::kHacksaw, 0, 0);
  const Solid bar = Box(Vec3(-10, -10, 0), Vec3(10, 10, 100));
  const Solid sawn =
      *Cut(bar, *MakeSweptCutter(saw, MakePath(PathKind::kSaw, {{0, 0, 70}, {0, 0, 1}})));
  EXPECT_NEAR(CalcVolume_mm3(sawn), 400 * 70, 1e-6);
}

TEST(Sweep, WhatTakesNothing) {
  EXPECT_TRUE(
      MakeSweptCutter(MakeTool(ToolKind::kTap, 3, 10), MakePath(PathKind::kPlunge, {{0, 0, -5}}))
          ->empty());
  EXPECT_TRUE(
      MakeSweptCutter(MakeTool(ToolKind::kDrill, 3, 10), MakePath(PathKind::kPlunge, {}))->empty());
  EXPECT_FALSE(
      MakeSweptCutter(MakeTool(ToolKind::kDrill, 0, 10), MakePath(PathKind::kPlunge, {{0, 0, 0}}))
          .has_value());
  EXPECT_FALSE(MakeSweptCutter(MakeTool(ToolKind::kTurningTool, 0, 0),
                               MakePath(PathKind::kTurn, {{0, 0, 0}}))
                   .has_value());
  EXPECT_FALSE(
      MakeSweptCutter(MakeTool(ToolKind::kHacksaw, 0, 0), MakePath(PathKind::kSaw, {{0, 0, 0}}))
          .has_value());
}

TEST(Holder, ShankAndHolderFollowTheTip) {
  Tool tool = MakeTool(ToolKind::kEndMill, 10, 25);
  tool.shank_mm = 12;
  tool.stick_out_mm = 40;
  tool.holder_diameter_mm = 50;
  tool.holder_length_mm = 60;
  const auto swept = MakeSweptHolder(tool, MakePath(PathKind::kMill, {{0, 0, -4}, {30, 0, -4}}));
  ASSERT_EQ(swept->size(), 2u);
  EXPECT_NEAR(CalcVolume_mm3((*swept)[0]), (360 + Area(12)) * 15, kNear_mm3);
  EXPECT_NEAR(CalcBox((*swept)[0]).min_mm.z(), 21, 1e-6);
  EXPECT_NEAR(CalcVolume_mm3((*swept)[1]), (1500 + Area(50)) * 60, kNear_mm3);
  EXPECT_NEAR(CalcBox((*swept)[1]).min_mm.z(), 36, 1e-6);
  EXPECT_TRUE(MakeSweptHolder(MakeKnife(), MakePath(PathKind::kTurn, {{1, 0, 1}}))->empty());
}

TEST(Fixture, BoxesStandInTheirOwnFrameAndRingsOnTheirAxis) {
  FixtureSolid jaw;
  Pose X_SF = Pose::Identity();
  X_SF.linear() = Eigen::AngleAxisd(2 * kPi / 3, Vec3::UnitZ()).toRotationMatrix();
  jaw.shape = FixtureBox{{Vec3(10, -4, 0), Vec3(30, 4, 12)}, X_SF};
  const Solid made = *MakeFixture(jaw);
  EXPECT_NEAR(CalcVolume_mm3(made), 20 * 8 * 12, 1e-9);
  EXPECT_LT((CalcCentroid_mm(made) - X_SF * Vec3(20, 0, 6)).norm(), 1e-9);
  jaw.shape = FixtureCylinder{{Vec3::Zero(), Vec3::UnitZ()}, -10, 5, 60, 24};
  EXPECT_NEAR(CalcVolume_mm3(*MakeFixture(jaw)), (Area(60) - Area(24)) * 15, 1e-6);
}

// Turning a pierced bush out of bar with tools alone gives the design solid.
TEST(Sweep, TurnedAndDrilledLinerIsTheDesign) {
  const Part liner = testing::MakeLiner();
  const Solid design = *MakeDesign(liner);
  Pose X_PS =
      Pose::Identity();  // spindle along the part's axis, the lead's end towards the tailstock
  X_PS.linear() = Eigen::AngleAxisd(kPi, Vec3::UnitX()).toRotationMatrix();
  Solid piece = Moved(*MakeStock(liner), X_PS.inverse());
  Tool knife = MakeKnife();
  Tool facing = MakeKnife();
  facing.section_T_mm = {{0, 0}, {30, 3}, {30, 20}, {0, 20}};
  Tool parting = MakeKnife();
  parting.section_T_mm = {{0, 0}, {25, 0}, {25, -3}, {0, -3}};
  Tool bar;
  bar.name = ToolId("bar");
  bar.kind = ToolKind::kBoringBar;
  bar.section_T_mm = {{0, 0}, {-1, 2}, {-1, 80}, {-6, 80}, {-6, 0}};
  const double r = 0.5 * 24.0105;
  const double out = 0.5 * 29.9865;
  const std::vector<std::pair<Tool, PathPiece>> steps = {
      {facing, MakePath(PathKind::kTurn, {{22, 0, 34}, {-0.2, 0, 34}})},
      {knife, MakePath(PathKind::kTurn, {{18, 0, 36}, {18, 0, -8}})},
      {knife, MakePath(PathKind::kTurn, {{out, 0, 36}, {out, 0, 0}, {19, 0, 0}})},
      {MakeTool(ToolKind::kDrill, 20, 90, 118), MakePath(PathKind::kPlunge, {{0, 0, -15}}, 36)},
      {bar, MakePath(PathKind::kTurn, {{r, 0, 36}, {r, 0, -5}})},
      {bar, MakePath(PathKind::kTurn, {{r + 0.5 + 0.1, 0, 34.3}, {r - 0.1, 0, 32.2}})},
      {parting, MakePath(PathKind::kTurn, {{20, 0, -3.03}, {5, 0, -3.03}})}};
  for (const auto& [tool, path] : steps) {
    const auto swept = MakeSweptCutter(tool, path);
    ASSERT_TRUE(swept.has_value()) << Format(swept.error());
    const Result<Solid> next = Cut(piece, *swept);
    ASSERT_TRUE(next.has_value()) << tool.name.text();
    piece = *next;
  }
  const Solid made = Moved(*KeepPieceAt(piece, Vec3(13, 0, 20)), X_PS);
  EXPECT_TRUE(IsValid(made));
  EXPECT_LT(*CalcSymmetricDifference_mm3(made, design), 1e-6);
}

}  // namespace
}  // namespace fitwright::solid
