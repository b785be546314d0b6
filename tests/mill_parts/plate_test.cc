// The angle plate: proposed where the vise does not hold, its solids against its own sizes, spoiled
// plans.
#include <gtest/gtest.h>

#include "tests/support/corrupt.h"
#include "tests/support/mill_parts.h"

namespace fitwright {
namespace {

using namespace mill_parts;  // NOLINT: test helpers

TEST(AnglePlate, ATallBlockIsMadeAgainstItWhereThereIsNoVise) {
  const Made made = MakeAndReplay(TallBlock(), WithoutVise(files::DefaultShop()));
  ASSERT_TRUE(made.ok) << made.text;
  const fitwright::Setup* setup = FindSetup(made.plan, HoldingKind::kAnglePlate);
  ASSERT_NE(setup, nullptr) << made.text;
  const Shop shop = files::DefaultShop();
  const HoldingDevice& plate = *shop.Find(HoldingDeviceId("angle_plate"));
  int seen = 0;
  for (const FixtureSolid& f : setup->fixtures) {
    if (f.role != FixtureRole::kFixedJaw) continue;
    const Vec3 size = std::get<FixtureBox>(f.shape).box_F.size_mm();
    EXPECT_NEAR(size.x(), plate.jaw_width_mm, 1e-9);  // exact arithmetic
    EXPECT_NEAR(size.z(), plate.jaw_height_mm, 1e-9);
    ++seen;
  }
  EXPECT_EQ(seen, 1);
}

// With the vise there the tall block is weighed in both.
TEST(AnglePlate, IsWeighedAgainstTheViseForTallWork) {
  const Part part = TallBlock();
  const planner::PieceState piece = planner::RawPiece(part);
  planner::SetupSketch sketch;
  sketch.part = part.name;
  sketch.up_P = Vec3::UnitZ();
  sketch.cuts = {FeatureId("holes")};
  bool plate = false;
  bool vise = false;
  for (const planner::SetupSketch& variant :
       planner::Variants(sketch, piece, files::DefaultShop())) {
    plate |= variant.holding == HoldingKind::kAnglePlate;
    vise |= variant.holding == HoldingKind::kViseJawFirst;
  }
  EXPECT_TRUE(plate);
  EXPECT_TRUE(vise);
}

TEST(AnglePlate, SpoiledPlansAreCaught) {
  const Shop shop = WithoutVise(files::DefaultShop());
  const Part part = TallBlock();
  const Made made = MakeAndReplay(part, shop);
  ASSERT_TRUE(made.ok) << made.text;
  const auto results = corrupt::RunCorruptions(MachineOf(part), shop, made.plan, {});
  ASSERT_TRUE(results) << Format(results.error());
  EXPECT_GT(results->size(), 20U / corrupt::ShardsHere(1));
  for (const corrupt::CorruptionResult& r : *results)
    EXPECT_TRUE(r.sound()) << r.fault << " at " << r.where << ": " << r.say;
}

}  // namespace
}  // namespace fitwright
