// Blocks under a piece in the mill's chuck, and faces that must be parallel for it; figures by hand.
#include "fitwright/planner/seat_blocks.h"

#include <gtest/gtest.h>

#include "fitwright/planner/level_faces.h"
#include "tests/support/process_bench.h"

namespace fitwright::planner {
namespace {

using namespace fitwright::bench;

// Seated at -24 in three jaws, of which one points to +x; gripped on 54.
fitwright::Setup Seated(const Shop& shop) {
  fitwright::Setup setup;
  setup.number = 5;
  setup.machine = MachineToolId("mill");
  setup.holding = HoldingKind::kThreeJawShort;
  setup.opening_mm = 54;
  setup.parts = {{PartId("housing"), Pose::Identity(), true}};
  Contact seat;
  seat.kind = ContactKind::kChuckFace;
  seat.surface = {PartId("housing"), FeatureId("flange_face")};
  seat.point_P_mm = Vec3(20, 0, -24);
  setup.contacts = {seat};
  setup.zero.z_from = {PartId("housing"), FeatureId("nose_end")};
  FixtureSolid jaw;
  jaw.role = FixtureRole::kChuckJaw;
  FixtureBox box;
  box.box_F.min_mm = Vec3(17, -8, -40);
  box.box_F.max_mm = Vec3(30, 8, -14);
  jaw.shape = box;
  jaw.grip_normal_S = -Vec3::UnitX();
  setup.fixtures = {jaw};
  Step drill;
  drill.operation = Operation::kDrill;
  for (const Tool& tool : shop.tools) {
    if (tool.kind == ToolKind::kDrill && drill.tool.empty()) drill.tool = tool.name;
  }
  PathPiece plunge;
  plunge.kind = PathKind::kPlunge;
  plunge.points_S_mm = {Vec3(20.352, 11.75, -25.961), Vec3(20.352, -11.75, -25.961)};
  drill.path = {plunge};
  setup.steps = {drill};
  return setup;
}

// A spigot hangs 10 below the seat: 12 with room. The nearest drill comes out 11.75 beside the jaw's middle.
TEST(SeatBlocks, AreHigherThanWhatHangsAndNarrowerThanTheDrillsLeave) {
  const Shop shop = MakeBenchShop();
  fitwright::Setup setup = Seated(shop);
  const double wide = std::floor(2 * (11.75 - shop.Find(setup.steps.front().tool)->diameter_mm / 2 - 2));
  PieceInSetup piece;
  piece.piece_S = {Vec3(-27, -27, -34), Vec3(27, 27, 0)};
  piece.rounds_S = {{-34, -24, 40}, {-24, -14, 54}, {-14, 0, 36}};
  PieceInSetup flat = piece;
  flat.piece_S.min_mm.z() = -24;
  flat.rounds_S.erase(flat.rounds_S.begin());
  const std::string words = SeatBlockWords(shop, setup, piece);
  EXPECT_NE(words.find(fmt::format("Blocks under it: the jaws' height less 10.0 mm, so that no more of these stands over the seat, and at least 12 mm high and at most {:.0f} mm wide", wide)), std::string::npos) << words;
  // 54 less 40 is 7 on a side, half a millimetre of it left free.
  const std::string hanging = " What hangs below the seat is 40.0 mm across and 10.0 mm long: steps, blocks or ring reach in from the edge by no more than 6.5 mm and are higher than that, else it stands on them.";
  EXPECT_NE(words.find("Steps of the jaws that are wider will not do: a drill would meet them." + hanging), std::string::npos) << words;
  // Without a spigot the drill's point, 1.961 below the seat, sets the height.
  EXPECT_NE(SeatBlockWords(shop, setup, flat).find("at least 4 mm high"), std::string::npos);
  setup.steps.clear();
  EXPECT_EQ(SeatBlockWords(shop, setup, piece).find("wide"), std::string::npos);
  setup.machine = MachineToolId("lathe");
  EXPECT_EQ(SeatBlockWords(shop, setup, piece), hanging + " Blocks or ring: the jaws' height less 10.0 mm, all alike, so that no more of these stands over the seat.");
  EXPECT_TRUE(SeatBlockWords(shop, setup, flat).empty());
}

// 0.03 in 50 are 0.03 from side to side of 54: the faces are to be alike within half of that before it is seated.
TEST(LevelFaces, AreMeasuredAtFourPlacesBeforeTheyAreSeatedOn) {
  const Shop shop = MakeBenchShop();
  Plan plan;
  plan.setups = {fitwright::Setup{}, Seated(shop)};
  Step over;
  over.operation = Operation::kMeasure;
  over.measure = MeasureLine{{PartId("housing"), FeatureId("nose_end")}, InstrumentId("caliper"),
                             OverWords(FeatureId("flange_face"), FeatureId("nose_end")) + " with the caliper", 23.8, 24.2};
  Step other = over;
  other.measure->words = OverWords(FeatureId("spigot_end"), FeatureId("nose_end")) + " with the caliper";
  plan.setups[0].steps = {over, other};
  AskForLevelFaces(shop, plan);
  const MeasureLine& line = *plan.setups[0].steps[0].measure;
  EXPECT_NE(line.words.find("from flange face over to nose end with the mic_25, at four places round it, alike within 0.015 mm, else foil as thin as that (kitchen foil is 0.01 to 0.02 mm; paper is too thick) under the thick side, z found again and a light cut over nose end: setup 5 seats on the one"),
            std::string::npos)
      << line.words;
  EXPECT_EQ(line.instrument, InstrumentId("mic_25"));
  EXPECT_EQ(plan.setups[0].steps[1].measure->words, other.measure->words);
}

// Nothing measures over both: they are looked at on the plate when the second of them is made.
TEST(LevelFaces, AreLookedAtOnThePlateWhereNothingClosesOverBoth) {
  const Shop shop = MakeBenchShop();
  Plan plan;
  plan.setups = {fitwright::Setup{}, fitwright::Setup{}, Seated(shop)};
  for (std::size_t i = 0; i < 2; ++i) {
    Step cut;
    cut.finishes = true;
    cut.features = {{PartId("housing"), FeatureId(i == 0 ? "flange_face" : "nose_end")}};
    plan.setups[i].id = SetupId(i == 0 ? "s01" : "s02");
    plan.setups[i].steps = {cut};
  }
  AskForLevelFaces(shop, plan);
  EXPECT_EQ(plan.setups[0].steps.size(), 1u);
  ASSERT_EQ(plan.setups[1].steps.size(), 2u);
  const Step& step = plan.setups[1].steps[1];
  EXPECT_EQ(step.id, StepId("s02.2"));
  EXPECT_EQ(plan.setups[1].time_min, shop.times.measure);
  EXPECT_NE(step.words.find("flange face down on the plate, on three blocks of one height where anything hangs below it; the indicator over nose end at four places: alike within 0.015 mm"),
            std::string::npos)
      << step.words;
}

}  // namespace
}  // namespace fitwright::planner