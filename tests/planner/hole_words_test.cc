// What is said of holes, and how deep their tools go for it: figures by hand.
#include <gtest/gtest.h>

#include "fitwright/planner/process.h"
#include "tests/planner/says.h"
#include "tests/support/process_bench.h"

namespace fitwright::planner {
namespace {

using namespace bench;  // NOLINT: test helpers

const Vec3 kX = Vec3::UnitX();

struct Cutting {
  Shop shop = MakeBenchShop();
  Part part;
  std::vector<FeatureId> made;
  CutContext context;
  Cutting(Part p, const std::string& machine, const Vec3& zero) : part(std::move(p)) {
    context.shop = &shop;
    context.machine = shop.Find(MachineToolId(machine));
    context.made = &made;
    context.clearance_below_mm = 12;
    PieceInSetup in;
    in.part = &part;
    in.X_PS = PoseUp(kZ, kX, zero);
    const double r = part.stock.diameter_mm / 2;
    const bool block = part.envelope == EnvelopeKind::kBlock;
    in.piece_S = BoxIn(
        in.X_PS, block ? part.block_P
                       : Box3{Vec3(-r, -r, part.stock.from_mm), Vec3(r, r, part.stock.to_mm)});
    in.bar_diameter_mm = block ? 0 : part.stock.diameter_mm;
    context.pieces = {in};
  }
  Cutting(const Cutting&) = delete;
  Cutting& operator=(const Cutting&) = delete;
  std::vector<Step> Cut(const std::string& feature) {
    CutRequest request;
    request.features = {{part.name, FeatureId(feature)}};
    const auto result = MakeCut(context, request);
    EXPECT_TRUE(result) << (result ? "" : result.error().message);
    return result ? result->steps : std::vector<Step>{};
  }
};

const Step& Last(const std::vector<Step>& steps, Operation operation) {
  static const Step kNone;
  const Step* last = &kNone;
  for (const Step& step : steps) {
    if (step.operation == operation) last = &step;
  }
  return *last;
}

// A disc 8 thick on a bar that goes on for 20 below it: reamed 8 + 3 of run-out for the reamer's
// lead; the drill 3 further.
TEST(HoleWords, TheDrillGoesOnPastTheReamersEndAndPartingOpensTheHole) {
  Part part = MakeTurned("disc", 36, -20, 8);
  part.features = {
      Outer("rim", 0, 8, Plain(34)),
      Bored("hole", {HoleUse::kBore, -kZ, {Vec3(0, 0, 8)}, Fit(5, "H7", 0, 0.012), 8, true})};
  Cutting cutting(part, "lathe", Vec3(0, 0, 8));
  cutting.context.parted_S_mm = -8.4;
  const auto steps = cutting.Cut("hole");
  const Step& ream = Last(steps, Operation::kReam);
  const Step& drill = Last(steps, Operation::kDrill);
  EXPECT_NEAR(ream.depth_mm, 11, kDial_mm);
  EXPECT_NEAR(drill.depth_mm, 14, kDial_mm);
  EXPECT_TRUE(Says(ream.words, "without stopping, 11 deep, not through yet: parting opens it."))
      << ream.words;
  EXPECT_TRUE(Says(ream.words, "A machine reamer")) << ream.words;
  cutting.context.parted_S_mm.reset();
  EXPECT_TRUE(Says(Last(cutting.Cut("hole"), Operation::kReam).words, "a later cut opens it"));
}

// Down through a boss 10 thick, over a pocket from -10 to -18, into the next: z of both where the
// metal ends.
TEST(HoleWords, ADrillThatLeavesTheMetalOnItsWayIsEasedThere) {
  Part part = MakeSawnBlock("bosses", Vec3(-20, -20, 0), Vec3(20, 20, 30));
  Pocket pocket;
  pocket.centre_P_mm = Vec3(20, 0, 16);
  pocket.into_P = -kX;
  pocket.along_P = Vec3::UnitY();
  pocket.length_mm = 30;
  pocket.width_mm = 8;
  pocket.depth_mm = 35;
  pocket.corner_radius_mm = 2;
  part.features = {Make("pocket", pocket),
                   Bored("pin", {HoleUse::kHole, -kZ, {Vec3(0, 0, 30)}, Plain(5, 0.2), 30, true})};
  Cutting cutting(part, "mill", Vec3(0, 0, 30));
  cutting.context.holding = HoldingKind::kViseBedFirst;
  EXPECT_FALSE(Says(Last(cutting.Cut("pin"), Operation::kDrill).caution, "gap"));
  cutting.made = {FeatureId("pocket")};
  const std::string caution = Last(cutting.Cut("pin"), Operation::kDrill).caution;
  EXPECT_TRUE(Says(caution, "at Z -10.1 mm and starts again at Z -18.1 mm") ||
              Says(caution, "at Z -10.0 mm and starts again at Z -18.0 mm"))
      << caution;
}

// Blind holes from the side, 10 deep, 15 beside the bore's axis: their floor lies 18 from it, their
// nearest point at hypot(18, 13.35) = 22.4. A bore of 40 leaves 2.4 of wall, one of 46 breaks in.
TEST(HoleWords, ABoreBesideABlindHoleDoesNotBreakIntoIt) {
  Part part = MakeSawnBlock("body", Vec3(-28, -40, 0), Vec3(28, 40, 50));
  part.features = {
      Bored("side", {HoleUse::kHole, -kX, {Vec3(28, 15, 25)}, Plain(3.3, 0.1), 10, false}),
      Bored("near", {HoleUse::kBore, -kZ, {Vec3(0, 0, 50)}, Plain(40, 0.1), 50, true}),
      Bored("wide", {HoleUse::kBore, -kZ, {Vec3(0, 0, 50)}, Plain(46, 0.1), 50, true})};
  Cutting cutting(part, "mill", Vec3(0, 0, 50));
  cutting.made = {FeatureId("side")};
  EXPECT_FALSE(Says(Last(cutting.Cut("near"), Operation::kBore).caution, "breaks into"));
  EXPECT_TRUE(Says(Last(cutting.Cut("wide"), Operation::kBore).caution, "It breaks into side"));
}

// A gauge with shoes does not stand in 3 mm over a floor, whatever the limits.
TEST(HoleWords, AShortCounterboreIsLeftToTheCaliper) {
  for (const double deep : {3.0, 12.0}) {
    Part part = MakeSawnBlock("body", Vec3(-30, -30, 0), Vec3(30, 30, 40));
    part.features = {
        Bored("bore", {HoleUse::kBore, -kZ, {Vec3(0, 0, 40)}, Plain(30, 0.1), 40, true}),
        Bored("counterbore", {HoleUse::kBore,
                              -kZ,
                              {Vec3(0, 0, 40)},
                              Plain(36.1, 0.01),
                              deep,
                              false,
                              HoleBottom::kFlat})};
    Cutting cutting(part, "mill", Vec3(0, 0, 40));
    cutting.made = {FeatureId("bore")};
    const Step bored = Last(cutting.Cut("counterbore"), Operation::kBore);
    ASSERT_TRUE(bored.measure);
    EXPECT_EQ(Says(bored.measure->words, "caliper"), deep < 5) << bored.measure->words;
  }
}

TEST(HoleWords, ParallelsAreNamedOnlyWhereADrillComesOutBelow) {
  Part part = MakeSawnBlock("block", Vec3(-25, -28, 0), Vec3(25, 28, 40));
  part.features.push_back(
      Bored("cross", {HoleUse::kHole, -kX, {Vec3(25, 0, 14)}, Plain(20, 0.2), 50, true}));
  part.features.push_back(
      Bored("down", {HoleUse::kHole, -kZ, {Vec3(0, 0, 40)}, Plain(5.5, 0.2), 16, true}));
  part.features.push_back(
      Bored("out", {HoleUse::kHole, -kZ, {Vec3(-15, 20, 40)}, Plain(5.5, 0.2), 40, true}));
  Cutting cutting(part, "mill", Vec3(0, 0, 40));
  cutting.context.holding = HoldingKind::kViseBedFirst;
  cutting.made = {FeatureId("cross")};
  EXPECT_FALSE(Says(Last(cutting.Cut("down"), Operation::kDrill).caution, "parallels"));
  EXPECT_TRUE(
      Says(Last(cutting.Cut("out"), Operation::kDrill).caution, "the parallels clear of it"));
}

// From 25 to 29.6 in cuts of about 0.7: seven, each named, for a boring head's screw is not on the
// readout.
TEST(HoleWords, EveryCutOfABoringHeadHasItsDiameter) {
  Part part = MakeSawnBlock("block", Vec3(-30, -30, 0), Vec3(30, 30, 40));
  part.features.push_back(
      Bored("bore", {HoleUse::kBore, -kZ, {Vec3(0, 0, 40)}, Fit(30, "H7", 0, 0.021), 40, true}));
  Cutting cutting(part, "mill", Vec3(0, 0, 40));
  bool listed = false;
  for (const Step& step : cutting.Cut("bore")) listed |= Says(step.words, "on the diameter: 25.");
  EXPECT_TRUE(listed);
}

}  // namespace
}  // namespace fitwright::planner
