// V-blocks: what is held in them, and where blocks and clamps stand, against the geometry of a
// round in a V of 90 degrees.
#include <gtest/gtest.h>

#include <cmath>

#include "tests/support/corrupt.h"
#include "tests/support/mill_parts.h"

namespace fitwright {
namespace {

using namespace mill_parts;  // NOLINT: test helpers

constexpr double kExact_mm = 1e-9;  // closed forms in doubles

const Setup& VeeSetup(const Made& made) {
  const fitwright::Setup* setup = FindSetup(made.plan, HoldingKind::kVBlock);
  EXPECT_NE(setup, nullptr) << made.text;
  return *setup;
}

struct Wall {
  Vec3 normal = Vec3::Zero();
  double offset = 0;
  double from = 0;
  double to = 0;
};

std::vector<Wall> WallsOf(const fitwright::Setup& setup) {
  std::vector<Wall> walls;
  for (const FixtureSolid& f : setup.fixtures) {
    if (!f.supports || !f.grip_normal_S) continue;
    const auto& box = std::get<FixtureBox>(f.shape);
    const Vec3 face =
        box.X_SF * Vec3(box.box_F.min_mm.x(), box.box_F.min_mm.y(), box.box_F.max_mm.z());
    const double a = (box.X_SF * box.box_F.min_mm).x();
    const double b = (box.X_SF * box.box_F.max_mm).x();
    walls.push_back({*f.grip_normal_S, f.grip_normal_S->dot(face), std::min(a, b), std::max(a, b)});
  }
  return walls;
}

TEST(VeeBlocks, AShaftLongerThanTheViseOpensIsMadeInThem) {
  const Made made = MakeAndReplay(Shaft(), files::DefaultShop());
  ASSERT_TRUE(made.ok) << made.text;
  int lying = 0;
  for (const fitwright::Setup& setup : made.plan.setups)
    lying += setup.holding == HoldingKind::kVBlock ? 1 : 0;
  EXPECT_EQ(lying, 2) << made.text;  // two sides are cut
}

TEST(VeeBlocks, WallsTouchTheRoundAndClampsStandOnItsTop) {
  const Made made = MakeAndReplay(Shaft(), files::DefaultShop());
  ASSERT_TRUE(made.ok) << made.text;
  const fitwright::Setup& setup = VeeSetup(made);
  const Vec3 axis_S = setup.parts.front().X_PS.inverse() * Vec3::Zero();
  const std::vector<Wall> walls = WallsOf(setup);
  ASSERT_GE(walls.size(), 2U);
  for (const Wall& w : walls) {
    EXPECT_NEAR(w.normal.dot(axis_S) - w.offset, 8, kExact_mm);  // the radius from the axis
    EXPECT_NEAR(w.normal.z(), std::sqrt(0.5), kExact_mm);
  }
  for (const FixtureSolid& f : setup.fixtures) {
    if (f.role != FixtureRole::kClamp) continue;
    EXPECT_NEAR(std::get<FixtureBox>(f.shape).box_F.min_mm.z(), axis_S.z() + 8, kExact_mm);
  }
  EXPECT_EQ(setup.opening_mm, 16);
}

TEST(VeeBlocks, NothingIsDrilledIntoABlock) {
  for (const Part& part : {Shaft(), CrossPin()}) {
    planner::PieceState piece = planner::RawPiece(part);
    for (const char* face : {"near_end", "far_end"})
      planner::ApplyCut(piece, *part.Find(FeatureId(face)),
                        std::get<PlanarFace>(part.Find(FeatureId(face))->shape).normal_P, 0);
    planner::SetupSketch sketch;
    sketch.part = part.name;
    sketch.up_P = Vec3::UnitX();
    sketch.cuts = {FeatureId("cross_hole")};
    sketch.machine = MachineToolId("mill");
    sketch.device = HoldingDeviceId("v_block");
    sketch.holding = HoldingKind::kVBlock;
    sketch.jaw_P = -Vec3::UnitZ();
    const auto held =
        planner::MakeHolding(sketch, {{part.name, piece}}, MachineOf(part), files::DefaultShop());
    ASSERT_TRUE(held) << held.error().message;
    const auto& hole = std::get<Hole>(part.Find(FeatureId("cross_hole"))->shape);
    const double x = (held->setup.parts.front().X_PS.inverse() * hole.entries_P_mm.front()).x();
    for (const Wall& w : WallsOf(held->setup)) {
      EXPECT_TRUE(w.to <= x - hole.diameter.upper_mm / 2 ||
                  w.from >= x + hole.diameter.upper_mm / 2)
          << part.name.text();
    }
  }
}

TEST(VeeBlocks, StandInTheViseThatIsUpAlready) {
  const Shop shop = files::DefaultShop();
  EXPECT_EQ(planner::MountedDevice(HoldingDeviceId("v_block"), shop), HoldingDeviceId("mill_vise"));
  EXPECT_EQ(planner::MountedDevice(HoldingDeviceId("v_block"), WithoutVise(shop)),
            HoldingDeviceId("v_block"));
  const Made made = MakeAndReplay(CrossPin(), WithoutVise(shop));
  ASSERT_TRUE(made.ok) << made.text;
  EXPECT_NE(FindSetup(made.plan, HoldingKind::kVBlock), nullptr) << made.text;
}

TEST(VeeBlocks, SpoiledPlansAreCaught) {
  const Shop shop = files::DefaultShop();
  const Part part = Shaft();
  const Made made = MakeAndReplay(part, shop);
  ASSERT_TRUE(made.ok) << made.text;
  const auto results = corrupt::RunCorruptions(MachineOf(part), shop, made.plan, {});
  ASSERT_TRUE(results) << Format(results.error());
  int vee = 0;
  for (const corrupt::CorruptionResult& r : *results) {
    EXPECT_TRUE(r.sound()) << r.fault << " at " << r.where << ": " << r.say;
    vee += r.fault == "clamp_beside_block" || r.fault == "other_round_in_vee" ||
                   r.fault == "one_block_low"
               ? 1
               : 0;
  }
  if (corrupt::AllFaultsRun()) {
    EXPECT_GE(vee, 3);
  }
}

}  // namespace
}  // namespace fitwright
