// Squareness looked at before the last cut: figures by hand.
#include "fitwright/planner/check_words.h"

#include <gtest/gtest.h>

#include "tests/planner/says.h"
#include "tests/support/process_bench.h"

namespace fitwright::planner {
namespace {

using namespace bench;  // NOLINT: test helpers

// A bore across in y (made) and one down it; 0.7 mrad: 0.014 in 20, 0.028 over a jaw's 40.
Shop ShopWithIndicator() {
  Shop shop;
  shop.instruments.resize(1);
  shop.instruments[0].kind = InstrumentKind::kIndicator;
  return shop;
}

struct TwoBores {
  Machine machine;
  PieceState piece;
  fitwright::Setup setup;
  FeatureRef down{PartId("body"), FeatureId("down")};
  explicit TwoBores(HoldingKind holding, const std::vector<double>& levels_mm = {}) {
    Part part = MakeSawnBlock("body", Vec3(-25, -28, 0), Vec3(25, 28, 87));
    part.features.push_back(Bored(
        "across",
        {HoleUse::kBore, Vec3::UnitY(), {Vec3(0, -28, 28)}, Fit(40, "H7", 0, 0.025), 56, true}));
    part.features.push_back(Bored(
        "down",
        {HoleUse::kBore, -Vec3::UnitZ(), {Vec3(0, 0, 87)}, Fit(30, "H7", 0, 0.021), 59, true}));
    machine.parts = {part};
    Requirement r;
    r.name = RequirementId("R1");
    r.kind = RequirementKind::kSquare;
    r.a = {part.name, FeatureId("across")};
    r.b = down;
    r.upper = 0.0007;
    machine.requirements = {r};
    piece.part = &machine.parts[0];
    piece.made = {FeatureId("across")};
    setup.holding = holding;
    setup.parts = {{part.name, Pose::Identity(), true}};
    Contact jaw;
    jaw.kind = ContactKind::kFixedJaw;
    jaw.surface = {part.name, FeatureId("front")};
    setup.contacts = {jaw};
    Step face, rough, last;
    face.operation = Operation::kFace;
    face.levels_mm = levels_mm;
    face.features = {{part.name, FeatureId("deck")}};
    rough.operation = last.operation = Operation::kBore;
    last.aim = Aim{};
    setup.steps = {face, rough, last};
    SayBoresSquare(machine, ShopWithIndicator(), piece, down, 1, setup);
  }
};

TEST(CheckWords, WhereTheJawSetsTheLeanTheShimGoesToTheJaw) {
  const TwoBores t(HoldingKind::kViseJawFirst);
  ASSERT_EQ(t.setup.steps.size(), 5u);  // face, rough, look, last, look again
  const std::string& words = t.setup.steps[2].words;  // while the roughing has left something to mend with
  EXPECT_TRUE(Says(t.setup.hold_words, "Before the piece goes in sweep the head over the bare table, then run the indicator by the table's way along two like parallels on the vise's bed")) << t.setup.hold_words;
  EXPECT_TRUE(Says(words, "at most 0.007 mm in 20 mm")) << words;
  EXPECT_TRUE(Says(words, "between front and the fixed jaw") && Says(words, "0.01 mm thick")) << words;
  EXPECT_FALSE(Says(words, "at the end that is too low")) << words;
  EXPECT_TRUE(Says(words, "light cut over deck again")) << words;
  for (const std::size_t cut : {0, 1, 3}) EXPECT_TRUE(t.setup.steps[cut].words.empty()) << cut;
  EXPECT_TRUE(t.setup.steps[1].settles.has_value());
}

// What the requirement allows, 0.014 in 20, on the bore as it is made.
TEST(CheckWords, ItIsReadOnceMoreBeforeThePieceIsLoosened) {
  const TwoBores t(HoldingKind::kViseJawFirst);
  ASSERT_EQ(t.setup.steps[3].operation, Operation::kBore);
  EXPECT_EQ(t.setup.steps[4].operation, Operation::kMeasure);
  EXPECT_TRUE(Says(t.setup.steps[4].words, "read R1 on the bored part") && Says(t.setup.steps[4].words, "0.014 mm in 20 mm")) << t.setup.steps[4].words;
}

// A face of more than one level is not finished before the piece may be tilted.
TEST(CheckWords, TheLastLevelOfAFaceWaitsForTheLook) {
  const TwoBores t(HoldingKind::kViseJawFirst, {1.7, 2});
  EXPECT_TRUE(
      Says(t.setup.steps[0].words, "Keep the last level until R1 has been looked at below; until then a tool that touches the top stands at Z 0.300."))
      << t.setup.steps[0].words;
  EXPECT_EQ(t.setup.steps[3].words, "When it is right take the last level of deck, measured again as it was there: ________.");
  EXPECT_FALSE(Says(t.setup.steps[2].words, "light cut over"));
}

TEST(CheckWords, WhereTheBedSetsItTheShimGoesUnderThePiece) {
  const TwoBores t(HoldingKind::kViseBedFirst);
  EXPECT_TRUE(Says(t.setup.steps[2].words, "a shim under the piece")) << t.setup.steps[2].words;
  EXPECT_FALSE(Says(t.setup.steps[2].words, "strip of paper"));
}

}  // namespace
}  // namespace fitwright::planner
