// What the vise holds and how it is spoken of: jaws that bear opposite each other, parallels under metal, rows that cut.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "fitwright/planner/holding.h"
#include "fitwright/planner/vise_strips.h"
#include "tests/support/mill_parts.h"

namespace fitwright {
namespace {

using namespace mill_parts;  // NOLINT: test helpers
using ::testing::HasSubstr;

// An L, 50 long: a foot 8 thick, a wall 8 thick that stands up at y = 0 to 8.
Part AnglePiece() {
  Part part = MakeSawnBlock("angle_piece", Vec3(0, 0, 0), Vec3(50, 22, 24));
  StepCut step;
  step.into_P = -Vec3::UnitZ();
  step.removed_P = {{0, 8, 8}, {50, 22, 24}};
  part.features.push_back(Make("inside", step));
  return part;
}

planner::PieceState StepMade(const Part& part) {
  planner::PieceState piece = planner::RawPiece(part);
  for (const char* name : {"top", "front", "rear", "left", "right"}) {
    const Feature& f = *part.Find(FeatureId(name));
    planner::ApplyCut(piece, f, std::get<PlanarFace>(f.shape).normal_P, 0);
  }
  planner::ApplyCut(piece, *part.Find(FeatureId("inside")), Vec3::UnitZ(), 0);
  return piece;
}

Result<planner::HeldPiece> HeldUpsideDown(const Part& part, const Vec3& jaw_P) {
  planner::SetupSketch sketch;
  sketch.part = part.name;
  sketch.machine = MachineToolId("mill");
  sketch.device = HoldingDeviceId("mill_vise");
  sketch.holding = HoldingKind::kViseBedFirst;
  sketch.up_P = -Vec3::UnitZ();
  sketch.jaw_P = jaw_P;
  sketch.cuts = {FeatureId("bottom")};
  const planner::PieceStates pieces = {{part.name, StepMade(part)}};
  return planner::MakeHolding(sketch, pieces, MachineOf(part), files::DefaultShop());
}

// Stood on its wall, the foot's edge is held high and the wall low: the jaws would turn it over.
TEST(Vise, JawsBearOppositeEachOther) {
  const Part part = AnglePiece();
  const auto across = HeldUpsideDown(part, Vec3::UnitY());
  ASSERT_FALSE(across);
  EXPECT_THAT(across.error().message, HasSubstr("at different heights"));
  const auto along = HeldUpsideDown(part, Vec3::UnitX());
  ASSERT_TRUE(along) << Format(along.error());
}

// Upside down with the wall's edge against a jaw: what rests is the wall, 8 wide.
TEST(Vise, ParallelsLieUnderMetal) {
  const Part part = AnglePiece();
  const planner::PieceState piece = StepMade(part);
  Pose X_PS = Pose::Identity();
  X_PS.linear().col(0) = Vec3::UnitX();
  X_PS.linear().col(1) = -Vec3::UnitY();
  X_PS.linear().col(2) = -Vec3::UnitZ();
  const Box3 box_S{{0, -22, -24}, {50, 0, 0}};
  const Box3 rest_S = planner::BesideSteps(box_S, piece, X_PS);
  EXPECT_NEAR(rest_S.min_mm.y(), -8, 1e-9);
  EXPECT_NEAR(rest_S.max_mm.y(), 0, 1e-9);
  EXPECT_NEAR(planner::BesideSteps(box_S, planner::RawPiece(part), X_PS).min_mm.y(), -22, 1e-9);
}

// 14 wide, by a cutter of 20: two rows of seven each, none beside the metal.
TEST(Vise, TheRowsOfAStepShareItsWidth) {
  const Made made = MakeAndReplay(AnglePiece(), files::DefaultShop());
  ASSERT_TRUE(made.ok) << made.text;
  for (const fitwright::Setup& setup : made.plan.setups) {
    for (const Step& step : setup.steps) {
      if (step.operation != Operation::kMill) continue;
      ASSERT_EQ(step.path.size(), 2U);
      const Vec3 rows = setup.parts.front().X_PS.linear() * (step.path[0].points_S_mm.front() - step.path[1].points_S_mm.front());
      EXPECT_NEAR(std::abs(rows.y()), 7, 1e-6) << step.words;
    }
  }
}

}  // namespace
}  // namespace fitwright
