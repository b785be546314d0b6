// A bore cut in a ring while three jaws press on it, against builds worked out the slow way.
#include <gtest/gtest.h>

#include "fitwright/trade/materials.h"
#include "fitwright/trade/rings.h"
#include "tests/support/slow_builds.h"

namespace fitwright::variation {
namespace {

using namespace fitwright::testing;

constexpr double kOuter_mm = 24;
constexpr double kInner_mm = 19;
constexpr double kGrip_mm = 8;
constexpr double kLong_mm = 16;
constexpr double kMedian_N = 600;
constexpr double kLogSigma = 0.5;

Shop ShopWithJawForce() {
  Shop shop = ShopWithOnly({{"jaw_force", kLogSigma}});
  Spread& row = shop.spreads.at("jaw_force");
  row.usual.mean = kMedian_N;
  row.careful = row.worn = row.usual;
  return shop;
}

// Bored right through in one setup; the jaws hold over 8 mm in the middle of the length, or off the end of it.
struct BoredRing {
  Machine machine;
  Plan plan;
};
BoredRing MakeRing(double grip_at_mm, ContactKind kind) {
  BoredRing made;
  Part ring = SuppliedRound("ring", MakeSize(kOuter_mm, kOuter_mm), MakeSize(kInner_mm, kInner_mm), kLong_mm);
  ring.features[1].finish = Finish::kAsMachined;
  ring.turning_axis_P = Axis3{Vec3::Zero(), Vec3::UnitZ()};
  const Part pin = SuppliedRound("pin", MakeSize(kInner_mm - 0.05, kInner_mm - 0.05), std::nullopt, kLong_mm);
  made.machine.parts = {ring, pin};
  made.machine.uses = {StandsAt("ring", {0, 0, 0}), StandsAt("pin", {0, 0, 0})};
  made.machine.requirements = {Required("fit", RequirementKind::kClearance, "pin.outside", "ring.bore", 0.037, 0.063)};
  PlanBuilder b;
  Setup& setup = b.AddSetup("ring", "lathe", HoldingKind::kThreeJaw, "chuck", SetupPose(Vec3::UnitX(), Vec3::UnitZ(), {0, 0, kLong_mm}));
  setup.opening_mm = kOuter_mm;
  setup.grip_depth_mm = kGrip_mm;
  b.Touch(ContactKind::kChuckFace, "low_end", {8, 0, 0}, Vec3::UnitZ());
  b.Touch(ContactKind::kChuckFace, "low_end", {-4, 7, 0}, Vec3::UnitZ());
  b.Touch(ContactKind::kChuckFace, "low_end", {-4, -7, 0}, Vec3::UnitZ());
  b.Touch(kind, "outside", {-kOuter_mm / 2, 0, grip_at_mm}, Vec3::UnitX());
  b.Touch(kind, "outside", {0, -kOuter_mm / 2, grip_at_mm}, Vec3::UnitY());
  b.Cut(Operation::kBore, "bore");
  made.plan = b.plan;
  return made;
}

TEST(ThreeJaws, ARingBoredBetweenThemHasLobesThatTakeFromTheClearanceAndAddToIt) {
  const BoredRing made = MakeRing(8, ContactKind::kChuckGrip);
  const Odds odds = FastOdds(made.machine, ShopWithJawForce(), made.plan);
  // Steel, 205 GPa in the table of materials.
  const double lobes_mm_N = trade::ThreeForceLobes_mm_N(kOuter_mm, kInner_mm, kGrip_mm, trade::FindMaterial("steel")->modulus_MPa);
  const SlowTally slow = Build(31,
                               [&](SlowRandom& r) {
                                 const double lobes = kMedian_N * std::exp(r.Normal(kLogSigma)) * lobes_mm_N;
                                 SlowValue value = Judged(0.05 - lobes, 0.037, 0.063);
                                 value.met = value.met && 0.05 + lobes <= 0.063;
                                 return value;
                               });
  EXPECT_LT(odds.requirements[0].chance.odds, 0.9);
  EXPECT_GT(odds.requirements[0].chance.odds, 0.3);
  ExpectSame(odds.requirements[0], slow, 1e-9);
}

TEST(ThreeJaws, BesideThemAndOutsideThemItStaysRound) {
  // All of the grip lies beyond the piece's end.
  const BoredRing beside = MakeRing(-5, ContactKind::kChuckGrip);
  EXPECT_EQ(FastOdds(beside.machine, ShopWithJawForce(), beside.plan).requirements[0].chance.odds, 1);
  // A mandrel presses from inside.
  const BoredRing mandrel = MakeRing(8, ContactKind::kOuterCentred);
  EXPECT_EQ(FastOdds(mandrel.machine, ShopWithJawForce(), mandrel.plan).requirements[0].chance.odds, 1);
}

}  // namespace
}  // namespace fitwright::variation
