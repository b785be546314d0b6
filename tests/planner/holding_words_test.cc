// What is said beside device and datum, from setups put together by hand.
#include "fitwright/planner/holding_words.h"

#include <gtest/gtest.h>

#include "fitwright/planner/setup_words.h"
#include "tests/planner/says.h"
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
  Part part = MakeSawnBlock("block", Vec3(-20, -40, 0), Vec3(20, 0, 30));
  PieceState piece;
  piece.part = &part;
  piece.box_P = part.block_P;
  fitwright::Setup setup;
  setup.fixtures = {Box(FixtureRole::kFixedJaw, 0, 20), Box(FixtureRole::kMovingJaw, -60, -40),
                    Box(FixtureRole::kParallel, -5, 0), Box(FixtureRole::kParallel, -40, -35)};
  EXPECT_EQ(ViseAdditions(setup, piece, {}, Vec3::UnitY(), false), " One parallel at each jaw.");
  EXPECT_EQ(ViseAdditions(setup, piece, {}, Vec3::UnitY(), true),
            " One parallel against the fixed jaw, one under the opposite edge of the piece, clear "
            "of the moving jaw.");
  setup.fixtures.back() = Box(FixtureRole::kParallel, -29, -24);  // 11 from the moving jaw
  EXPECT_EQ(ViseAdditions(setup, piece, {}, Vec3::UnitY(), false),
            " The parallels lie against the fixed jaw and 11.0 mm from the moving jaw.");
  piece.made = {FeatureId("right")};
  EXPECT_NE(ViseAdditions(setup, piece, {}, Vec3::UnitY(), false)
                .find("Card between right and the moving jaw"),
            std::string::npos);
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
  setup.fixtures = {Ring(FixtureRole::kChuckBody, -150, -67),
                    Ring(FixtureRole::kChuckJaw, -67, -41)};
  EXPECT_EQ(BarAdditions(setup, piece, true),
            " Push the bar back until its end meets the chuck's body: it stands 44.0 mm out of the "
            "jaws.");
  setup.fixtures[0] = Ring(FixtureRole::kChuckBody, -150, -80);
  EXPECT_EQ(BarAdditions(setup, piece, true), " Let the bar stand 44.0 mm out of the jaws.");
  EXPECT_EQ(BarAdditions(setup, piece, false), "");
}

TEST(HoldingWords, ARoundPieceIsCheckedByTheFinderOnBothSides) {
  EXPECT_EQ(RoundWitness({Vec3(-11.988, -16, -24), Vec3(11.988, 0, 0)}, 10),
            "the finder touches either side of the round alike: at half of it as measured and "
            "5.000 mm more, about 16.988 mm, one of them negative.");
}

// A block 60 wide and 40 deep between jaws 40 high, its bottom on the bed at -20, the jaws' tops
// at 20.
struct InVise {
  Part part = MakeSawnBlock("block", Vec3(-30, -20, -20), Vec3(30, 20, 50));
  PieceState piece;
  fitwright::Setup setup;
  InVise() {
    piece.part = &part;
    piece.box_P = part.block_P;
    setup.parts = {{part.name, Pose::Identity(), true}};
    for (const auto& [role, y0, y1] : {std::tuple{FixtureRole::kFixedJaw, 20.0, 40.0},
                                       {FixtureRole::kMovingJaw, -40.0, -20.0}}) {
      FixtureSolid solid = Box(role, y0, y1);
      std::get<FixtureBox>(solid.shape).box_F.min_mm.z() = -20;
      std::get<FixtureBox>(solid.shape).box_F.max_mm.z() = 20;
      setup.fixtures.push_back(solid);
    }
  }
  InVise(const InVise&) = delete;
  InVise& operator=(const InVise&) = delete;
};

// Mid grip stands at 0. A cross bore of 16 at z -4 takes -12..4: the bar bears 2 mm up and down and
// looks half a millimetre behind the face, so the nearest whole place above is a hair over 4 + 2 =
// 6, 26 over the bed.
TEST(HoldingWords, TheRoundBarLiesWhereTheMetalBehindItIsWhole) {
  InVise held;
  EXPECT_TRUE(Says(RoundBarWords(held.setup, held.piece, 10),
                   "at mid grip; the jaws then stand 50.0 mm apart"));
  held.part.features = {
      Bored("cross", {HoleUse::kBore, Vec3::UnitY(), {Vec3(0, -20, -4)}, Plain(16), 40, true})};
  held.piece.made = {FeatureId("cross")};
  const std::string words = RoundBarWords(held.setup, held.piece, 10);
  EXPECT_TRUE(Says(words, "26 mm above what the piece stands on")) << words;
  // Open from 5 below the jaws' top to 5 above the bed: nothing is left for a bar.
  held.part.features = {
      Bored("cross", {HoleUse::kBore, Vec3::UnitY(), {Vec3(0, -20, 0)}, Plain(36), 40, true})};
  EXPECT_TRUE(Says(RoundBarWords(held.setup, held.piece, 10), "flat strip"))
      << RoundBarWords(held.setup, held.piece, 10);
}

TEST(HoldingWords, AFinderThatDoesNotGoBetweenTheJawsTouchesThePieceFromBehind) {
  EXPECT_EQ(JawZeroWords({10, 35, -5, "front"}), "at the fixed jaw's face set y to -5.000 mm");
  const std::string close = JawZeroWords({10, 8, -5, "front_face"});
  EXPECT_TRUE(Says(close, "front_face above the fixed jaw, from behind") &&
              Says(close, "set y to 5.000 mm"))
      << close;
}

TEST(HoldingWords, ABoreWiderThanHalfTheGripIsNotSquashed) {
  InVise held;
  held.part.features = {
      Bored("bore", {HoleUse::kBore, -Vec3::UnitZ(), {Vec3(0, 0, 50)}, Plain(19), 70, true})};
  held.piece.made = {FeatureId("bore")};
  EXPECT_FALSE(Says(ViseAdditions(held.setup, held.piece, {}, Vec3::UnitY(), false), "No tighter"));
  held.part.features = {
      Bored("bore", {HoleUse::kBore, -Vec3::UnitZ(), {Vec3(0, 0, 50)}, Plain(21), 70, true})};
  EXPECT_TRUE(Says(ViseAdditions(held.setup, held.piece, {}, Vec3::UnitY(), false), "No tighter"));
  held.part.features = {Bored("bore", {HoleUse::kBore,
                                       -Vec3::UnitZ(),
                                       {Vec3(0, 0, 50)},
                                       Plain(21),
                                       29,
                                       false})};  // ends over the jaws
  EXPECT_FALSE(Says(ViseAdditions(held.setup, held.piece, {}, Vec3::UnitY(), false), "No tighter"));
}

TEST(HoldingWords, TheLathesXComesFromTheFirstPassThatThereIs) {
  Part part = MakeTurned("plug", 30, 0, 40);
  part.features.push_back(Outer("head", 0, 20, Plain(28)));
  part.features.push_back(Make("end", PlanarFace{Vec3::UnitZ(), Plain(20)}));
  PieceState piece;
  piece.part = &part;
  Zero zero;
  SayLatheZero(piece, {FeatureId("end"), FeatureId("head")}, zero);
  EXPECT_TRUE(Says(zero.routine, "first pass over head")) << zero.routine;
  SayLatheZero(piece, {FeatureId("end")}, zero);
  EXPECT_TRUE(Says(zero.routine, "x needs no figure")) << zero.routine;
}

// 0.03 per 50 mm of the default shop over 34: 0.0204, printed to the hundredth.
TEST(HoldingWords, ASeatedPieceIsTappedDownAndLookedAt) {
  Part part = MakeTurned("disc", 34, 0, 8);
  part.features = {Make("top", PlanarFace{Vec3::UnitZ(), Plain(8)})};
  PieceState piece;
  piece.part = &part;
  piece.bands = {{0, 8, 34, std::nullopt}};
  piece.made = {FeatureId("top")};
  fitwright::Setup setup;
  setup.opening_mm = 34;
  setup.parts = {{part.name, Pose::Identity(), true}};
  const std::string words = TapDownWords(setup, piece, Shop{});
  EXPECT_TRUE(Says(words, "over top: at most 0.02 mm")) << words;
}

TEST(HoldingWords, TheChuckIsTurnedByTheJawThatLiesAlongASlide) {
  fitwright::Setup setup;
  FixtureSolid jaw;
  jaw.role = FixtureRole::kChuckJaw;
  jaw.grip_normal_S = Vec3(1, 0, 0);  // presses towards +x: it stands at X-
  setup.fixtures = {jaw};
  EXPECT_TRUE(Says(JawTurnWords(setup, true), "one jaw points to X-"));
  EXPECT_EQ(JawTurnWords(setup, false), "");
}

TEST(DialWords, HandDialsAreSpokenToAndReadoutsAreNot) {
  MachineTool mill;
  mill.kind = MachineToolKind::kMill;
  fitwright::Setup setup;
  setup.zero.x_from = {PartId("block"), FeatureId("left")};
  EXPECT_EQ(DialWords(mill, setup, true), "");
  mill.readout = false;
  EXPECT_TRUE(Says(DialWords(mill, setup, true), "from the side that the zero was taken from"));
  EXPECT_TRUE(Says(DialWords(mill, setup, true), "Know each screw's lash"));
  EXPECT_FALSE(Says(DialWords(mill, setup, false), "Know each screw's lash"));
  setup.zero.x_from = {};  // nothing is set
  EXPECT_EQ(DialWords(mill, setup, true), "");
  mill.kind = MachineToolKind::kLathe;
  EXPECT_TRUE(Says(DialWords(mill, setup, true), "halve the steps in X"));
}

}  // namespace
}  // namespace fitwright::planner
