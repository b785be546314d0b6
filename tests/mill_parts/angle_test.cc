// Sides that stand aslant: the sine bar's stack and its blocks, the coarser ways, holes square to a
// slope.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <numeric>
#include <set>

#include "fitwright/planner/angle_setting.h"
#include "tests/support/corrupt.h"
#include "tests/support/mill_parts.h"

namespace fitwright {
namespace {

using namespace mill_parts;  // NOLINT: test helpers

const double kSlope_rad = std::atan2(6.0, 12.0);

TEST(Angle, ASlopeIsSetByTheSineBarAndItsStackIsTheSine) {
  const Made made = MakeAndReplay(SlopedBlock(), files::DefaultShop());
  ASSERT_TRUE(made.ok) << made.text;
  int set = 0;
  for (const fitwright::Setup& setup : made.plan.setups) {
    if (!setup.angle) continue;
    ++set;
    EXPECT_EQ(setup.angle->by, AngleBy::kSineBar);
    EXPECT_NEAR(setup.angle->angle_deg, kSlope_rad * 180 / std::numbers::pi, 1e-6);
    EXPECT_NEAR(setup.angle->stack_mm, 100 * 6 / std::hypot(6.0, 12.0),
                1e-9);  // the triangle's own sine
    const double sum =
        std::accumulate(setup.angle->blocks_mm.begin(), setup.angle->blocks_mm.end(), 0.0);
    EXPECT_NEAR(sum, setup.angle->stack_mm, 0.0026);  // half the set's step of 0.005
    EXPECT_NE(setup.hold_words.find("26 deg 34 min"), std::string::npos) << setup.hold_words;
  }
  EXPECT_EQ(set, 1) << made.text;
}

TEST(Angle, AHoleSquareToASlopeIsDrilledWithItStandingAslant) {
  const Made made = MakeAndReplay(DrilledSlope(), files::DefaultShop());
  EXPECT_TRUE(made.ok) << made.text;
}

TEST(Angle, EveryWayTheShopHasIsWeighed) {
  const Part part = SlopedBlock();
  planner::PieceState piece = planner::RawPiece(part);
  for (const char* face : {"top", "bottom", "front", "rear", "left", "right"}) {
    const Feature& f = *part.Find(FeatureId(face));
    planner::ApplyCut(piece, f, std::get<PlanarFace>(f.shape).normal_P, 0);
  }
  planner::SetupSketch sketch;
  sketch.part = part.name;
  sketch.up_P = Vec3(1, 0, 2).normalized();
  sketch.cuts = {FeatureId("slope")};
  std::set<AngleBy> seen;
  for (const planner::SetupSketch& v : planner::Variants(sketch, piece, files::DefaultShop())) {
    if (v.angle_by) seen.insert(*v.angle_by);
  }
  EXPECT_EQ(seen, (std::set<AngleBy>{AngleBy::kScribedLine,
                                     AngleBy::kProtractor}));  // the finest goes unsaid
  Shop shop = files::DefaultShop();
  std::erase_if(shop.instruments,
                [](const Instrument& i) { return i.kind == InstrumentKind::kSineBar; });
  EXPECT_EQ(planner::WaysToSet(shop),
            (std::vector<AngleBy>{AngleBy::kProtractor, AngleBy::kScribedLine}));
  EXPECT_FALSE(planner::SetAngle(AngleBy::kSineBar, 0.3, 0, shop));
}

TEST(Angle, LeanIsThatOfTheNearestSide) {
  EXPECT_NEAR(planner::Lean_rad(Vec3(0, 0, 1)), 0, 1e-12);
  EXPECT_NEAR(planner::Lean_rad(Vec3(1, 0, 2).normalized()), kSlope_rad, 1e-12);
  EXPECT_NEAR(planner::Lean_rad(Vec3(-2, 1, 0).normalized()), kSlope_rad, 1e-12);
  EXPECT_EQ(planner::DegreesWords(26.565), "26 deg 34 min");
  EXPECT_EQ(planner::DegreesWords(29.9999), "30 deg 00 min");
}

TEST(Angle, SpoiledPlansAreCaught) {
  const Shop shop = files::DefaultShop();
  const Part part = SlopedBlock();
  const Made made = MakeAndReplay(part, shop);
  ASSERT_TRUE(made.ok) << made.text;
  const auto results = corrupt::RunCorruptions(MachineOf(part), shop, made.plan, {});
  ASSERT_TRUE(results) << Format(results.error());
  int angles = 0;
  for (const corrupt::CorruptionResult& r : *results) {
    EXPECT_TRUE(r.sound()) << r.fault << " at " << r.where << ": " << r.say;
    angles += r.fault == "other_angle_said" || r.fault == "angle_not_said" ||
                      r.fault == "block_too_much" || r.fault == "block_not_in_the_set"
                  ? 1
                  : 0;
  }
  if (corrupt::AllFaultsRun()) {
    EXPECT_EQ(angles, 4);
  }
}

}  // namespace
}  // namespace fitwright
