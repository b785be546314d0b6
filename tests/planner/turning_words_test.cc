// What is said of turning up to the jaws, to suit a mate, and of rings that are parted off: figures
// by hand.
#include <gtest/gtest.h>

#include "fitwright/planner/process.h"
#include "tests/planner/says.h"
#include "tests/support/process_bench.h"

namespace fitwright::planner {
namespace {

using namespace bench;  // NOLINT: test helpers

struct Turning {
  Shop shop = MakeBenchShop();
  Part part;
  std::vector<FeatureId> made;
  CutContext context;
  Turning(Part p, double zero) : part(std::move(p)) {
    context.shop = &shop;
    context.machine = shop.Find(MachineToolId("lathe"));
    context.made = &made;
    context.holding = HoldingKind::kThreeJawShort;
    PieceInSetup in;
    in.part = &part;
    in.X_PS = PoseUp(Vec3::UnitZ(), Vec3::UnitX(), Vec3(0, 0, zero));
    const double r = part.stock.diameter_mm / 2;
    in.piece_S =
        BoxIn(in.X_PS, Box3{Vec3(-r, -r, part.stock.from_mm), Vec3(r, r, part.stock.to_mm)});
    in.bar_diameter_mm = part.stock.diameter_mm;
    context.pieces = {in};
  }
  Turning(const Turning&) = delete;
  Turning& operator=(const Turning&) = delete;
  CutRequest Ask(const std::string& feature) const {
    CutRequest request;
    request.features = {{part.name, FeatureId(feature)}};
    return request;
  }
  Step Cut(const CutRequest& request) const {
    const auto result = MakeCut(context, request);
    EXPECT_TRUE(result) << (result ? "" : result.error().message);
    return result ? result->steps.back() : Step{};
  }
};

// A flange from 0 to 24 over a spigot that the jaws hold to 2 below it: a quarter of that is run
// past the end.
TEST(TurningWords, UpToTheJawsThereIsAStopAndTheJawsAreNamed) {
  Part part = MakeTurned("housing", 60, -10, 24);
  part.features = {Outer("flange", 0, 24, Plain(54))};
  Turning turning(part, 24);
  turning.context.jaws_S_mm = -26;
  const Step close = turning.Cut(turning.Ask("flange"));
  EXPECT_TRUE(Says(close.words,
                   "Carriage stop at Z -24.5, set with the lathe stopped and the spindle turned "
                   "once by hand past the tool: power off a "
                   "millimetre short of it, the rest by hand."))
      << close.words;
  EXPECT_TRUE(Says(close.caution, "The jaws turn 1.5 mm behind the end of this cut."))
      << close.caution;
  EXPECT_NEAR(close.path.front().points_S_mm.back().z(), -24.5, kDial_mm);
  turning.context.jaws_S_mm = -40;
  const Step far = turning.Cut(turning.Ask("flange"));
  EXPECT_FALSE(Says(far.words, "Carriage stop")) << far.words;
  EXPECT_FALSE(Says(far.caution, "jaws turn")) << far.caution;
  EXPECT_NEAR(far.path.front().points_S_mm.back().z(), -25, kDial_mm);
}

TEST(TurningWords, ASizeToSuitHasNoSecondFigureInItsHeading) {
  Part part = MakeTurned("piston", 25, -20, 18);
  part.features = {Outer("outside", 0, 16, Plain(23.965, 0.02))};
  Turning turning(part, 16);
  CutRequest request = turning.Ask("outside");
  request.aim = AimKind::kFitToMeasured;
  Aim aim;
  aim.kind = AimKind::kFitToMeasured;
  aim.mate = FeatureRef{PartId("liner"), FeatureId("bore")};
  aim.target_mm = 23.981;
  request.given_aim = aim;
  const Step step = turning.Cut(request);
  EXPECT_TRUE(Says(step.words, "Turn outside to suit, about 23.981, down to Z -17")) << step.words;
  EXPECT_FALSE(Says(step.words, "23.965")) << step.words;
}

// Bore 22 in 26 over 2 is a ring; in 34 it is a disc; 26 over 40 it is a tube. What is left over
// for facing is no part of the drawn outside.
TEST(TurningWords, OnlyAThinAndShortRingSprings) {
  struct Case {
    double outside_mm, length_mm;
    bool ring;
  };
  for (const Case& c : {Case{26, 2, true}, Case{34, 2, false}, Case{26, 40, false}}) {
    Part part = MakeTurned("ring", c.outside_mm + 2, -20, c.length_mm);
    part.features = {Outer("outside", 0, c.length_mm, Plain(c.outside_mm)),
                     Bored("bore", {HoleUse::kBore,
                                    -Vec3::UnitZ(),
                                    {Vec3(0, 0, c.length_mm)},
                                    Plain(22, 0.1),
                                    c.length_mm,
                                    true})};
    Turning turning(part, c.length_mm);
    turning.made = {FeatureId("outside"), FeatureId("bore")};
    const auto cut = MakePartOff(turning.context, -c.length_mm - 0.4);
    ASSERT_TRUE(cut) << cut.error().message;
    EXPECT_EQ(Says(cut->steps.back().caution, "thin ring"), c.ring)
        << c.outside_mm << " " << c.length_mm;
  }
}

}  // namespace
}  // namespace fitwright::planner
