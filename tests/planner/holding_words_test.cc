// What is said beside device and datum, from setups put together by hand.
#include "fitwright/planner/holding_words.h"

#include <gtest/gtest.h>

#include "tests/support/process_bench.h"

namespace fitwright::planner {
namespace {

using namespace fitwright::bench;

FixtureSolid Box(FixtureRole role, double y0, double y1) {
  FixtureSolid solid;
  solid.role = role;
  solid.shape = FixtureBox{{Vec3(-50, y0, -20), Vec3(50, y1, 0)}, Pose::Identity()};
  return solid;
}

FixtureSolid Ring(FixtureRole role, double from, double to) {
  FixtureSolid solid;
  solid.role = role;
  FixtureCylinder ring;
  ring.from_mm = from;
  ring.to_mm = to;
  solid.shape = ring;
  return solid;
}

// Jaws at y = 0 and -40 with the piece between them.
TEST(HoldingWords, ParallelsAreSaidByTheirPlaceInTheVise) {
  Part part = MakeBlock("block", Vec3(-20, -40, 0), Vec3(20, 0, 30));
  PieceState piece;
  piece.part = &part;
  piece.box_P = part.block_P;
  fitwright::Setup setup;
  setup.fixtures = {Box(FixtureRole::kFixedJaw, 0, 20), Box(FixtureRole::kMovingJaw, -60, -40),
                    Box(FixtureRole::kParallel, -5, 0), Box(FixtureRole::kParallel, -40, -35)};
  EXPECT_EQ(ViseAdditions(setup, piece, Vec3::UnitY()), " One parallel at each jaw.");
  setup.fixtures.back() = Box(FixtureRole::kParallel, -29, -24);  // 11 from the moving jaw
  EXPECT_EQ(ViseAdditions(setup, piece, Vec3::UnitY()),
            " The parallels lie against the fixed jaw and 11.0 mm from the moving jaw.");
  piece.made = {FeatureId("right")};
  EXPECT_NE(ViseAdditions(setup, piece, Vec3::UnitY()).find("Card between right and the moving jaw"), std::string::npos);
}

// A bar from -13 to 57 with its end at -13 outside: 26 mm of its 70 in the jaws, 44 out.
TEST(HoldingWords, ARawBarIsPushedBackToTheChuckAndStandsOutByWhatIsLeft) {
  Part part = MakeTurned("housing", 60, -13, 57);
  PieceState piece;
  piece.part = &part;
  piece.bands = {{-13, 57, 60, std::nullopt}};
  fitwright::Setup setup;
  setup.parts = {{part.name, PoseUp(-Vec3::UnitZ(), Vec3::UnitX(), Vec3(0, 0, -10)), true}};
  // In S the bar runs from -67 to 3.
  setup.fixtures = {Ring(FixtureRole::kChuckBody, -150, -67), Ring(FixtureRole::kChuckJaw, -67, -41)};
  EXPECT_EQ(BarAdditions(setup, piece, true),
            " Push the bar back until its end meets the chuck's body: it stands 44.0 mm out of the jaws.");
  setup.fixtures[0] = Ring(FixtureRole::kChuckBody, -150, -80);
  EXPECT_EQ(BarAdditions(setup, piece, true), " Let the bar stand 44.0 mm out of the jaws.");
  EXPECT_EQ(BarAdditions(setup, piece, false), "");
}

TEST(HoldingWords, ARoundPieceIsCheckedByTheFinderOnBothSides) {
  EXPECT_EQ(RoundWitness({Vec3(-11.988, -16, -24), Vec3(11.988, 0, 0)}, 10),
            "the finder touches either side of the round at 16.988 in x, one of them negative.");
}

}  // namespace
}  // namespace fitwright::planner
