// What is measured beside the sizes that are worked to: values by hand, places by what can be
// reached.
#include "fitwright/planner/measuring.h"

#include <gtest/gtest.h>

#include "fitwright/planner/process.h"
#include "tests/planner/find_wanted.h"
#include "tests/support/process_bench.h"

namespace fitwright::planner {
namespace {

using namespace fitwright::bench;

// Spigot end at -10, flange from 0, a seat 32 deep to a shoulder at 22, a ring groove in the seat.
Part Housing() {
  Part part = MakeTurned("housing", 60, -13, 57);
  const Vec3 z = Vec3::UnitZ();
  Groove groove;
  groove.internal = true;
  groove.from_mm = -9;
  groove.to_mm = -7.7;
  groove.diameter = Plain(27.2, 0.2);
  HoleWish seat{HoleUse::kBore,   z, {Vec3(0, 0, -10)}, Fit(26, "H7", 0, 0.021), 32, false,
                HoleBottom::kFlat};
  part.features = {Outer("spigot", -10, 0, Fit(40, "g6", -0.025, -0.009)),
                   Outer("flange", 0, 24, Plain(54)),
                   Make("spigot_end", PlanarFace{-z, Plain(10)}),
                   Make("flange_face", PlanarFace{-z, Plain(0)}),
                   Make("shoulder", PlanarFace{-z, Plain(-22, 0.05)}),
                   Bored("seat", seat),
                   Make("groove", groove)};
  return part;
}

Step Finishing(const Part& part, Operation operation, const std::vector<std::string>& features) {
  Step step;
  step.operation = operation;
  step.finishes = true;
  for (const std::string& f : features) step.features.push_back({part.name, FeatureId(f)});
  step.measure = MeasureLine{step.features.front(), InstrumentId("caliper"), "its own size", 1, 2};
  return step;
}

TEST(Measuring, DepthsRunFromTheEndToEveryShoulder) {
  Machine machine;
  machine.parts = {Housing()};
  const std::vector<Wanted> all = WantedMeasures(machine, machine.parts[0]);
  const Wanted* seat = Find(all, "from spigot end down to shoulder");
  ASSERT_NE(seat, nullptr);
  EXPECT_NEAR(seat->lower_mm, 31.95,
              1e-9);  // the shoulder's own limits, closer than ISO 2768 m's 0.3
  EXPECT_NEAR(seat->upper_mm, 32.05, 1e-9);
  const Wanted* flange = Find(all, "from spigot end down to flange face");
  ASSERT_NE(flange, nullptr);
  EXPECT_NEAR(flange->size_mm, 10, 1e-9);
  // No caliper goes to the floor of a groove inside: it is read off the dial, on the diameter.
  const Wanted* dial = Find(all, "beside groove");
  ASSERT_NE(dial, nullptr);
  EXPECT_NEAR(dial->lower_mm, 27.0 - 26.0105, 1e-9);
  EXPECT_NEAR(dial->upper_mm, 27.4 - 26.0105, 1e-9);
  EXPECT_NE(Find(all, "a slip 1.30 mm thick just goes in"), nullptr);
  // From the end at -10 to the groove's outer wall at -9.
  const Wanted* lip = Find(all, "Its circlip in groove once more, drawn against the side towards the mouth: measure from spigot end down to it");
  ASSERT_NE(lip, nullptr);
  EXPECT_NEAR(lip->size_mm, 1.0, 1e-9);
}

TEST(Measuring, EachComesRightAfterTheCutThatMakesItDueAndWhatIsOutOfReachAtTheEnd) {
  Machine machine;
  machine.parts = {Housing()};
  const Part& part = machine.parts[0];
  const Shop shop = MakeBenchShop();
  PieceStates pieces;
  pieces[part.name].part = &part;
  for (const Feature& f : part.features) {
    if (f.name != FeatureId("groove")) pieces[part.name].made.push_back(f.name);
  }
  fitwright::Setup setup;
  setup.machine = MachineToolId("lathe");
  setup.parts = {{part.name, PoseUp(-Vec3::UnitZ(), Vec3::UnitX(), Vec3(0, 0, -10)), true}};
  setup.steps = {Finishing(part, Operation::kFace, {"spigot_end"}),
                 Finishing(part, Operation::kTurn, {"spigot", "flange_face"}),
                 Finishing(part, Operation::kBore, {"seat", "shoulder"})};
  AddMeasuring(shop, pieces, {{part.name, WantedMeasures(machine, part)}}, {}, setup);
  ASSERT_GE(setup.steps.size(), 5U);
  EXPECT_EQ(setup.steps[2].operation, Operation::kMeasure);
  ASSERT_TRUE(setup.steps[2].measure);
  EXPECT_NE(setup.steps[2].measure->words.find("flange face with the caliper"), std::string::npos);
  EXPECT_EQ(setup.steps[3].operation, Operation::kBore);
  EXPECT_NE(setup.steps[4].measure->words.find("shoulder"), std::string::npos);
  EXPECT_EQ(setup.steps[4].measure->words.find("Out of"), std::string::npos);

  // Turned round, the same depths look at the jaws.
  setup.parts[0].X_PS = PoseUp(Vec3::UnitZ(), Vec3::UnitX(), Vec3(0, 0, 24));
  setup.steps = {Finishing(part, Operation::kBore, {"seat", "shoulder"})};
  AddMeasuring(shop, pieces, {{part.name, WantedMeasures(machine, part)}}, {}, setup);
  ASSERT_GE(setup.steps.size(), 2U);
  EXPECT_NE(setup.steps.back().measure->words.find("Out of the machine"), std::string::npos);
}

TEST(Measuring, NothingIsMeasuredFromAFaceThatIsNotMadeYet) {
  Machine machine;
  machine.parts = {Housing()};
  const Part& part = machine.parts[0];
  PieceStates pieces;
  pieces[part.name].part = &part;
  pieces[part.name].made = {FeatureId("seat"), FeatureId("shoulder")};
  fitwright::Setup setup;
  setup.machine = MachineToolId("lathe");
  setup.parts = {{part.name, PoseUp(-Vec3::UnitZ(), Vec3::UnitX(), Vec3(0, 0, -10)), true}};
  setup.steps = {Finishing(part, Operation::kBore, {"seat", "shoulder"})};
  AddMeasuring(MakeBenchShop(), pieces, {{part.name, WantedMeasures(machine, part)}}, {}, setup);
  for (const Step& step : setup.steps) {
    if (!step.measure) continue;
    EXPECT_EQ(step.measure->words.find("spigot end"), std::string::npos) << step.measure->words;
  }
}

// Bore 40 H7, its axis 59 below the top: the near wall stands at 59 - 40.0125 / 2.
TEST(Measuring, ABoresPlaceIsReadUpToItsNearWallWithTheSumPrinted) {
  Machine machine;
  Part part = MakeSawnBlock("body", Vec3(-25, -28, 0), Vec3(25, 28, 87));
  part.features.push_back(Bored(
      "crank",
      {HoleUse::kBore, -Vec3::UnitX(), {Vec3(25, 0, 28)}, Fit(40, "H7", 0, 0.025), 50, true}));
  machine.parts = {part};
  Joint spigot;
  spigot.kind = JointKind::kSpigotInBore;
  spigot.fixed = {part.name, FeatureId("crank")};
  Joint cover;
  cover.fixed = {part.name, FeatureId("top")};
  machine.joints = {spigot, cover};
  const std::vector<Wanted> all = WantedMeasures(machine, machine.parts[0]);
  ASSERT_EQ(all.size(), 1U);  // the other faces seat nothing
  EXPECT_NEAR(all[0].size_mm, 38.99375, 1e-9);
  EXPECT_NEAR(all[0].upper_mm - all[0].lower_mm, 0.6, 1e-9);  // ISO 2768 m, 30 to 120
  EXPECT_NE(all[0].after.find("lowest line 25 mm from its mouth (a flat scriber stands on its edges in the hollow), less the shank; with half the bore as measured, about 20.006 mm, added, that makes ________ (59.000 mm drawn) from top"), std::string::npos)
      << all[0].after;
  // A bore that comes down into it takes the wall in the middle: it is read near an end.
  machine.parts[0].features.push_back(Bored("cylinder", {HoleUse::kBore, -Vec3::UnitZ(), {Vec3(0, 0, 87)}, Fit(30, "H7", 0, 0.021), 50, true}));
  EXPECT_NE(WantedMeasures(machine, machine.parts[0]).front().after.find("lowest line 5 mm from its mouth"), std::string::npos);
  // One as wide as that takes all of it: the far wall, from below.
  std::get<Hole>(machine.parts[0].features.back().shape).diameter = Plain(49);
  const Wanted far = WantedMeasures(machine, machine.parts[0]).front();
  EXPECT_NEAR(far.size_mm, 79.00625, 1e-9);
  EXPECT_NE(far.words.find("far wall"), std::string::npos);
}

// Something seats on both sides beside the bore: it is measured from the one that is there first.
TEST(Measuring, ABoresPlaceIsToldByTheFirstOfTwoOppositeFaces) {
  Machine machine;
  Part part = MakeSawnBlock("body", Vec3(-25, -28, 0), Vec3(25, 28, 87));
  part.features.push_back(Bored(
      "crank",
      {HoleUse::kBore, -Vec3::UnitX(), {Vec3(25, 0, 28)}, Fit(40, "H7", 0, 0.025), 50, true}));
  machine.parts = {part};
  for (const char* name : {"crank", "left", "right"}) {
    Joint joint;
    joint.fixed = {part.name, FeatureId(name)};
    machine.joints.push_back(joint);
  }
  const std::vector<Wanted> all = WantedMeasures(machine, machine.parts[0]);
  ASSERT_EQ(all.size(), 2U);
  const auto measured_after = [&](const std::vector<std::string>& made, const std::string& cut) {
    PieceStates pieces;
    pieces[part.name].part = &machine.parts[0];
    for (const std::string& name : made) pieces[part.name].made.push_back(FeatureId(name));
    fitwright::Setup setup;
    setup.machine = MachineToolId("mill");
    setup.parts = {{part.name, Pose::Identity(), true}};
    setup.steps = {Finishing(machine.parts[0], Operation::kFace, {cut})};
    Shop shop = MakeBenchShop();
    shop.instruments.push_back(
        {InstrumentId("height"), InstrumentKind::kHeightGauge, "height gauge", 0, 200, 0, 0, {}});
    AddMeasuring(shop, pieces, {{part.name, all}}, {}, setup);
    std::string words;
    for (const Step& step : setup.steps) {
      if (step.measure && step.measure->words.find("near wall") != std::string::npos)
        words += step.measure->words + "\n";
    }
    return words;
  };
  EXPECT_NE(measured_after({"right", "crank"}, "crank").find("right down on the plate"),
            std::string::npos);
  EXPECT_EQ(measured_after({"right", "crank", "left"}, "left"), "");  // it was told then
  const std::string both = measured_after({"left", "right", "crank"}, "crank");
  EXPECT_EQ(std::count(both.begin(), both.end(), '\n'), 1) << both;
}

// A pocket takes both walls of a slot but for its round ends.
TEST(Measuring, ASlotWithoutTwoWallsIsNotMeasuredAcross) {
  const auto cut = [](bool with_pocket) {
    Part part = MakeSawnBlock("block", Vec3(-20, -20, 0), Vec3(20, 20, 30));
    Slot slot;
    slot.centre_P_mm = Vec3(0, 6.5, 30);
    slot.length_mm = 11.4;
    slot.width = Plain(4);
    slot.depth_mm = 5;
    part.features.push_back(Make("slot", slot));
    Pocket pocket;
    pocket.centre_P_mm = Vec3(0, 0, 30);
    pocket.along_P = Vec3::UnitY();
    pocket.length_mm = 18.3;
    pocket.width_mm = 8.4;
    pocket.corner_radius_mm = 2;
    pocket.depth_mm = 5;
    if (with_pocket) part.features.push_back(Make("pocket", pocket));
    const Shop shop = MakeBenchShop();
    CutContext context;
    context.shop = &shop;
    context.machine = shop.Find(MachineToolId("mill"));
    PieceInSetup in;
    in.part = &part;
    in.X_PS = PoseUp(Vec3::UnitZ(), Vec3::UnitX(), Vec3(0, 0, 30));
    in.piece_S = BoxIn(in.X_PS, part.block_P);
    context.pieces = {in};
    CutRequest request;
    request.features = {{part.name, FeatureId("slot")}};
    const auto made = MakeCut(context, request);
    EXPECT_TRUE(made);
    return made ? made->steps.back() : Step{};
  };
  EXPECT_TRUE(cut(false).measure);
  const Step open = cut(true);
  EXPECT_FALSE(open.measure);
  EXPECT_NE(open.words.find("No two straight walls"), std::string::npos);
}

}  // namespace
}  // namespace fitwright::planner
