// Chains of single cuts: order, tools, speeds on the machine's steps, depths, readings in the sense
// of the dials, aims. That the paths make the features is proved on solids in tests/process_solid.
#include "fitwright/planner/process.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "fitwright/planner/tool_choice.h"
#include "tests/planner/says.h"
#include "tests/support/process_bench.h"

namespace fitwright::planner {
namespace {

using namespace bench;  // NOLINT: test helpers

const Vec3 kX = Vec3::UnitX();
const Vec3 kY = Vec3::UnitY();

// A shop, a part, a setup with the given side up and zero at a point of P.
struct Bench {
  Shop shop = MakeBenchShop();
  Part part;
  std::vector<FeatureId> made;
  CutContext context;

  Bench(Part p, const std::string& machine, const Vec3& up, const Vec3& x, const Vec3& zero)
      : part(std::move(p)) {
    context.shop = &shop;
    context.machine = shop.Find(MachineToolId(machine));
    context.made = &made;
    context.clearance_below_mm = 12;
    PieceInSetup in;
    in.part = &part;
    in.X_PS = PoseUp(up, x, zero);
    const double r = part.stock.diameter_mm / 2;
    const Box3 box = part.envelope == EnvelopeKind::kBlock
                         ? part.block_P
                         : Box3{Vec3(-r, -r, part.stock.from_mm), Vec3(r, r, part.stock.to_mm)};
    in.piece_S = BoxIn(in.X_PS, box);
    in.bar_diameter_mm = part.envelope == EnvelopeKind::kBlock ? 0 : part.stock.diameter_mm;
    context.pieces = {in};
  }
  Bench(const Bench&) = delete;
  Bench& operator=(const Bench&) = delete;

  MachineTool& machine() {
    for (MachineTool& m : shop.machines) {
      if (&m == context.machine) return m;
    }
    return shop.machines.front();
  }
  CutRequest Ask(const std::string& feature) const {
    CutRequest request;
    request.features = {{part.name, FeatureId(feature)}};
    return request;
  }
  CutResult Cut(const CutRequest& request) const {
    const auto result = MakeCut(context, request);
    EXPECT_TRUE(result.has_value()) << (result ? "" : Format(result.error()));
    return result ? *result : CutResult{};
  }
  CutResult Cut(const std::string& feature) const { return Cut(Ask(feature)); }
  std::string WhyNot(const CutRequest& request) const {
    const auto result = MakeCut(context, request);
    EXPECT_FALSE(result.has_value());
    if (result) return "it was cut";
    EXPECT_EQ(result.error().code, ErrorCode::kNoPlan);
    return result.error().message;
  }
  std::string WhyNot(const std::string& feature) const { return WhyNot(Ask(feature)); }
};

std::vector<Operation> Operations(const CutResult& result) {
  std::vector<Operation> operations;
  for (const Step& s : result.steps) operations.push_back(s.operation);
  return operations;
}

Part TappedBlock() {
  Part part = MakeSawnBlock("block", Vec3(-25, -28, 0), Vec3(25, 28, 40));
  part.features.push_back(
      Threaded("taps", "M3", 3, 0.5, 7,
               {HoleUse::kHole,
                -kZ,
                {Vec3(18, 18, 40), Vec3(-18, -18, 40), Vec3(-18, 18, 40), Vec3(18, -18, 40)},
                Plain(2.5),
                9,
                false,
                HoleBottom::kPoint118}));
  return part;
}

TEST(Process, ATappedPatternIsSpottedDrilledAndTappedOneStepEach) {
  Bench bench(TappedBlock(), "mill", kZ, kX, Vec3(0, 0, 40));
  const CutResult cut = bench.Cut("taps");
  EXPECT_EQ(Operations(cut), (std::vector{Operation::kSpot, Operation::kDrill, Operation::kTap}));
  EXPECT_FALSE(cut.steps[0].finishes);
  EXPECT_FALSE(cut.steps[1].finishes);
  EXPECT_TRUE(cut.steps[2].finishes);
  const Step& drill = cut.steps[1];
  EXPECT_EQ(drill.tool, ToolId("drill_2.5"));
  EXPECT_DOUBLE_EQ(drill.depth_mm, 9);
  EXPECT_DOUBLE_EQ(drill.levels_mm.back(), 9);
  EXPECT_GT(drill.levels_mm.size(), 1U);  // deeper than three diameters: pecked
  // The tip stands a point's length below the full depth: 9 + 1.25 / tan 59 deg.
  EXPECT_NEAR(drill.path.front().points_S_mm.front().z(), -9 - 1.25 / std::tan(59 * kRadPerDeg),
              1e-9);
  EXPECT_NEAR(drill.coordinates.front().z_mm, drill.path.front().points_S_mm.front().z(), kDial_mm);
  // Second tap's lead of 2 would leave no room for chips in 9 for 7: the plug tap ends it.
  const Step& tap = cut.steps[2];
  EXPECT_EQ(tap.tool, ToolId("M3 plug tap"));
  EXPECT_DOUBLE_EQ(tap.rpm, 0);  // by hand
  EXPECT_DOUBLE_EQ(tap.depth_mm, 7);
  EXPECT_DOUBLE_EQ(tap.path.front().points_S_mm.front().z(), -8);
  EXPECT_NE(tap.words.find("four M3"), std::string::npos) << tap.words;
}

TEST(Process, HolesAreVisitedTheShortWayAndKeepTheirNumbers) {
  Bench bench(TappedBlock(), "mill", kZ, kX, Vec3(0, 0, 40));
  const Step spot = bench.Cut("taps").steps.front();
  ASSERT_EQ(spot.coordinates.size(), 4U);
  EXPECT_EQ(spot.coordinates[0].hole, "1");
  double way = 0;
  for (std::size_t i = 1; i < 4; ++i)
    way += std::hypot(spot.coordinates[i].x_mm - spot.coordinates[i - 1].x_mm,
                      spot.coordinates[i].y_mm - spot.coordinates[i - 1].y_mm);
  EXPECT_NEAR(way, 3 * 36, 1e-9);
  for (const Coordinate& c : spot.coordinates) {
    const auto& entries = std::get<Hole>(bench.part.Find(FeatureId("taps"))->shape).entries_P_mm;
    const Vec3& p = entries[static_cast<std::size_t>(std::stoi(c.hole) - 1)];
    EXPECT_NEAR(c.x_mm, p.x(), kDial_mm);
    EXPECT_NEAR(c.y_mm, p.y(), kDial_mm);
  }
}

TEST(Process, OnlyTheHolesAskedForAreCut) {
  Bench bench(TappedBlock(), "mill", kZ, kX, Vec3(0, 0, 40));
  CutRequest request = bench.Ask("taps");
  request.holes = {2};
  const CutResult cut = bench.Cut(request);
  for (const Step& step : cut.steps) {
    ASSERT_EQ(step.coordinates.size(), 1U);
    EXPECT_EQ(step.coordinates.front().hole, "3");
    EXPECT_EQ(step.holes, std::vector{2});
  }
  EXPECT_LT(cut.minutes, bench.Cut("taps").minutes);
}

TEST(Process, ReadingsFollowTheSenseOfEachDial) {
  Bench bench(TappedBlock(), "mill", kZ, kX, Vec3(-25, -28, 40));
  const Coordinate plus = bench.Cut("taps").steps.front().coordinates.front();
  EXPECT_NEAR(plus.x_mm, 43, kDial_mm);
  EXPECT_NEAR(plus.y_mm, 46, kDial_mm);
  bench.machine().x_sense = -1;
  bench.machine().z_sense = -1;
  const Coordinate minus = bench.Cut("taps").steps.front().coordinates.front();
  EXPECT_NEAR(minus.x_mm, -43, kDial_mm);
  EXPECT_NEAR(minus.y_mm, 46, kDial_mm);
  EXPECT_NEAR(minus.z_mm, -plus.z_mm, kDial_mm);
}

TEST(Process, LatheReadingsAreDiametersWhereTheDialReadsSo) {
  Part part = MakeTurned("bush", 30, -20, 22);
  part.features = {Outer("outside", 0, 20, Plain(26))};
  Bench bench(part, "lathe", kZ, kX, Vec3(0, 0, 20));
  const Step turn = bench.Cut("outside").steps.front();
  EXPECT_NEAR(turn.coordinates.front().x_mm, 26, kDial_mm);
  bench.machine().x_reads_diameter = false;
  EXPECT_NEAR(bench.Cut("outside").steps.front().coordinates.front().x_mm, 13, kDial_mm);
  bench.machine().x_sense = -1;
  EXPECT_NEAR(bench.Cut("outside").steps.front().coordinates.front().x_mm, -13, kDial_mm);
}

TEST(Process, EveryPointOfThePathHasItsReading) {
  Part part = TappedBlock();
  part.stock.box_P.max_mm.z() = 42;
  Bench bench(part, "mill", kZ, kX, Vec3(3, 4, 40));
  bench.context.pieces.front().piece_S.max_mm.z() = 2;
  for (const char* name : {"top", "taps"}) {
    for (const Step& step : bench.Cut(name).steps) {
      std::vector<Vec3> points;
      for (const PathPiece& piece : step.path)
        points.insert(points.end(), piece.points_S_mm.begin(), piece.points_S_mm.end());
      ASSERT_EQ(points.size(), step.coordinates.size()) << step.words;
      for (std::size_t i = 0; i < points.size(); ++i) {
        const Coordinate& c = step.coordinates[i];
        EXPECT_NEAR((points[i] - Vec3(c.x_mm, c.y_mm, c.z_mm)).norm(), 0, kDial_mm);
      }
      EXPECT_DOUBLE_EQ(step.levels_mm.back(), step.depth_mm) << step.words;
    }
  }
}

TEST(Process, SpeedsAreStepsOfTheMachineAndWithinTheTools) {
  Part part = TappedBlock();
  part.features.push_back(Bored("bore", {HoleUse::kBore,
                                         -kZ,
                                         {Vec3(0, 0, 40)},
                                         Fit(40, "H7", 0, 0.025),
                                         40,
                                         true,
                                         HoleBottom::kFlat}));
  Bench bench(part, "mill", kZ, kX, Vec3(0, 0, 40));
  bench.context.pieces.front().piece_S.max_mm.z() = 2;
  for (const char* name : {"top", "taps", "bore"}) {
    for (const Step& step : bench.Cut(name).steps) {
      const Tool& tool = *bench.shop.Find(step.tool);
      const auto& steps = bench.context.machine->speeds_rpm;
      if (step.operation == Operation::kTap) continue;
      EXPECT_NE(std::find(steps.begin(), steps.end(), step.rpm), steps.end()) << step.words;
      EXPECT_LE(step.rpm, tool.rpm_max > 0 ? tool.rpm_max : 1e9) << step.words;
      EXPECT_GT(step.feed_mm_min, 0) << step.words;
      EXPECT_LE(step.feed_mm_min, bench.context.machine->feed_max_mm_min + 0.06) << step.words;
      EXPECT_GT(step.time_min, bench.shop.times.tool_change) << step.words;
    }
  }
}

TEST(Process, AHardMaterialTurnsSlowerThanASoftOne) {
  Bench soft(TappedBlock(), "mill", kZ, kX, Vec3(0, 0, 40));
  Part steel_part = TappedBlock();
  steel_part.material = "steel";
  std::get<Hole>(steel_part.features.back().shape).thread.reset();
  std::get<Hole>(steel_part.features.back().shape).diameter = Plain(8);
  Bench hard(steel_part, "mill", kZ, kX, Vec3(0, 0, 40));
  EXPECT_LT(hard.Cut("taps").steps.back().rpm, soft.Cut("taps").steps[1].rpm);
}

TEST(Process, ATapWithoutRoomForItsLeadIsRefused) {
  Part part = TappedBlock();
  std::get<Hole>(part.features.back().shape).depth_mm = 7.5;
  Bench bench(part, "mill", kZ, kX, Vec3(0, 0, 40));
  EXPECT_NE(bench.WhyNot("taps").find("lead"), std::string::npos);
  Part tight = TappedBlock();
  std::get<Hole>(tight.features.back().shape).depth_mm = 8.2;
  Bench close(tight, "mill", kZ, kX, Vec3(0, 0, 40));
  EXPECT_EQ(close.Cut("taps").warnings.size(), 1U);  // it fits, without room for chips
}

TEST(Process, AMissingTapIsToBeBought) {
  Part part = TappedBlock();
  std::get<Hole>(part.features.back().shape).thread->designation = "M3.5";
  Bench bench(part, "mill", kZ, kX, Vec3(0, 0, 40));
  const auto result = MakeCut(bench.context, bench.Ask("taps"));
  ASSERT_FALSE(result.has_value());
  EXPECT_NE(result.error().remedy.find("M3.5"), std::string::npos);
}

Part BoredBlock(double d, double depth = 40) {
  Part part = MakeSawnBlock("block", Vec3(-35, -28, 0), Vec3(35, 28, depth));
  part.features.push_back(Bored("bore", {HoleUse::kBore,
                                         -kZ,
                                         {Vec3(0, 0, depth)},
                                         Fit(d, "H7", 0, 0.025),
                                         depth,
                                         true,
                                         HoleBottom::kFlat}));
  return part;
}

TEST(Process, ABoreOnTheMillIsDrilledInStepsThenBoredRoughAndFine) {
  Bench bench(BoredBlock(40), "mill", kZ, kX, Vec3(0, 0, 40));
  CutRequest request = bench.Ask("bore");
  request.aim = AimKind::kBringToSize;
  const CutResult cut = bench.Cut(request);
  EXPECT_EQ(Operations(cut), (std::vector{Operation::kSpot, Operation::kDrill, Operation::kDrill,
                                          Operation::kBore, Operation::kBore}));
  EXPECT_LT(bench.shop.Find(cut.steps[1].tool)->diameter_mm,
            bench.shop.Find(cut.steps[2].tool)->diameter_mm);
  EXPECT_NEAR(cut.steps[3].path.front().set_diameter_mm, 40.0125 - 0.4, 1e-9);
  EXPECT_NEAR(cut.steps[4].path.front().set_diameter_mm, 40.0125, 1e-9);
  ASSERT_TRUE(cut.steps[4].aim.has_value());
  EXPECT_FALSE(cut.steps[3].aim.has_value());
  EXPECT_NE(cut.steps[4].caution.find("reverse"), std::string::npos);
  ASSERT_TRUE(cut.steps[4].measure.has_value());
  EXPECT_EQ(cut.steps[4].measure->instrument, InstrumentId("bore_gauge"));
}

TEST(Process, BoresAreAimedSmallAndShaftsBigInsideTheLimits) {
  Bench mill(BoredBlock(40), "mill", kZ, kX, Vec3(0, 0, 40));
  CutRequest request = mill.Ask("bore");
  request.aim = AimKind::kBringToSize;
  const Aim bore = *mill.Cut(request).steps.back().aim;
  EXPECT_LT(bore.target_mm, 40.0125);
  EXPECT_GT(bore.target_mm, 40.0);
  // s = 0.010 / 2, ln 20 = 2.9957, width 0.025: 40.0125 - 0.000025 * 2.9957 / 0.025 = 40.0095.
  EXPECT_NEAR(bore.target_mm, 40.0095, 1e-4);

  Part shaft_part = MakeTurned("shaft", 45, -20, 22);
  shaft_part.features = {Outer("outside", 0, 20, Fit(40, "g6", -0.025, -0.009))};
  Bench lathe(shaft_part, "lathe", kZ, kX, Vec3(0, 0, 20));
  CutRequest turn = lathe.Ask("outside");
  turn.aim = AimKind::kBringToSize;
  const Step step = lathe.Cut(turn).steps.back();
  EXPECT_GT(step.aim->target_mm, 39.983);
  EXPECT_LT(step.aim->target_mm, 39.991);
  EXPECT_DOUBLE_EQ(step.aim->lower_mm, 39.975);
  // One shot is aimed at the middle.
  EXPECT_DOUBLE_EQ(lathe.Cut("outside").steps.back().aim->target_mm, 39.983);
  // The path makes the middle whatever the aim.
  EXPECT_NEAR(step.path.front().points_S_mm.front().x(), 39.983 / 2, 1e-9);
}

TEST(Process, AGivenAimIsKept) {
  Part part = MakeTurned("piston", 25, -20, 18);
  part.features = {Outer("outside", 0, 16, Plain(23.975, 0.02))};
  Bench bench(part, "lathe", kZ, kX, Vec3(0, 0, 16));
  CutRequest request = bench.Ask("outside");
  request.aim = AimKind::kFitToMeasured;
  Aim aim;
  aim.kind = AimKind::kFitToMeasured;
  aim.mate = FeatureRef{PartId("liner"), FeatureId("bore")};
  aim.target_mm = 23.97;
  request.given_aim = aim;
  const Step step = bench.Cut(request).steps.back();
  EXPECT_DOUBLE_EQ(step.aim->target_mm, 23.97);
  EXPECT_NE(step.words.find("Measure the bore of the liner first"), std::string::npos);
}

TEST(Process, WhatIsMadeToAMateIsMeasuredWithTheFinestInstrument) {
  Part part = MakeTurned("piston", 25, -20, 18);
  part.features = {Outer("outside", 0, 16, Plain(23.975, 0.2))};
  Bench bench(part, "lathe", kZ, kX, Vec3(0, 0, 16));
  const Step alone = bench.Cut("outside").steps.back();
  ASSERT_TRUE(alone.measure);
  EXPECT_NE(alone.measure->instrument.text().find("caliper"), std::string::npos)
      << alone.measure->words;
  CutRequest request = bench.Ask("outside");
  request.aim = AimKind::kFitToMeasured;
  Aim aim;
  aim.kind = AimKind::kFitToMeasured;
  aim.target_mm = 23.97;
  aim.lower_mm = 23.92;
  aim.upper_mm = 24.02;
  request.given_aim = aim;
  request.measure_finely = true;
  const Step fitted = bench.Cut(request).steps.back();
  ASSERT_TRUE(fitted.measure);
  EXPECT_NE(fitted.measure->instrument.text().find("mic_"), std::string::npos)
      << fitted.measure->words;
  EXPECT_DOUBLE_EQ(fitted.measure->lower_mm, 23.92);
  EXPECT_DOUBLE_EQ(fitted.measure->upper_mm, 24.02);
}

TEST(Process, ABoreTooDeepForTheStiffestBarIsRefused) {
  Bench bench(BoredBlock(40, 70), "mill", kZ, kX, Vec3(0, 0, 70));
  EXPECT_NE(bench.WhyNot("bore").find("4 diameters out"), std::string::npos);
}

TEST(Process, AHoleIntoWhatIsNotCutYetIsNotCalledThrough) {
  Part part = MakeSawnBlock("block", Vec3(-25, -28, 0), Vec3(25, 28, 60));
  part.features.push_back(
      Bored("cross", {HoleUse::kHole, -kX, {Vec3(25, 0, 20)}, Plain(20, 0.2), 50, true}));
  part.features.push_back(
      Bored("down", {HoleUse::kHole, -kZ, {Vec3(0, 0, 60)}, Plain(5, 0.2), 30, true}));
  Bench bench(part, "mill", kZ, kX, Vec3(0, 0, 60));
  const auto drill = [&] {
    for (const Step& step : bench.Cut("down").steps) {
      if (step.operation == Operation::kDrill) return step;
    }
    return Step{};
  };
  EXPECT_NE(drill().words.find("not through yet"), std::string::npos) << drill().words;
  EXPECT_EQ(drill().caution.find("breaks through"), std::string::npos);
  const std::vector<FeatureId> made = {FeatureId("cross")};
  bench.context.made = &made;
  EXPECT_NE(drill().words.find("right through"), std::string::npos) << drill().words;
}

TEST(Process, AThroughHoleNeedsRoomBelow) {
  Bench bench(BoredBlock(40), "mill", kZ, kX, Vec3(0, 0, 40));
  bench.context.clearance_below_mm = 0;
  EXPECT_NE(bench.WhyNot("bore").find("run out"), std::string::npos);
  // Room for the run-out of the boring tool, but not for the point of the largest drill: a smaller
  // one.
  bench.context.clearance_below_mm = 6;
  const CutResult cut = bench.Cut("bore");
  for (const Step& step : cut.steps)
    EXPECT_GE(step.path.front().points_S_mm.front().z(), -46 - 1e-9) << step.words;
}

TEST(Process, AReamedHoleIsDrilledUnderSizeFirst) {
  Part part = MakeSawnBlock("block", Vec3(-25, -28, 0), Vec3(25, 28, 20));
  part.features.push_back(Bored("pin", {HoleUse::kHole,
                                        -kZ,
                                        {Vec3(0, 0, 20)},
                                        Fit(5, "H7", 0, 0.012),
                                        20,
                                        true,
                                        HoleBottom::kPoint118}));
  Bench bench(part, "mill", kZ, kX, Vec3(0, 0, 20));
  const CutResult cut = bench.Cut("pin");
  EXPECT_EQ(Operations(cut), (std::vector{Operation::kSpot, Operation::kDrill, Operation::kReam}));
  EXPECT_EQ(cut.steps[1].tool, ToolId("drill_4.8"));
  EXPECT_NEAR(cut.steps[2].path.front().set_diameter_mm, 5.006, 1e-9);
}

TEST(Process, ACounterboreFollowsItsHole) {
  Part part = MakeSawnBlock("block", Vec3(-25, -28, 0), Vec3(25, 28, 20));
  part.features.push_back(
      Bored("screws",
            {HoleUse::kHole, -kZ, {Vec3(0, 0, 20)}, Plain(3.2), 20, true, HoleBottom::kPoint118}));
  part.features.push_back(Bored(
      "heads",
      {HoleUse::kCounterbore, -kZ, {Vec3(0, 0, 20)}, Plain(6.5), 4, false, HoleBottom::kFlat}));
  Bench bench(part, "mill", kZ, kX, Vec3(0, 0, 20));
  EXPECT_NE(bench.WhyNot("heads").find("hole"), std::string::npos);
  bench.made = {FeatureId("screws")};
  const CutResult cut = bench.Cut("heads");
  ASSERT_EQ(cut.steps.size(), 1U);
  EXPECT_EQ(cut.steps.front().operation, Operation::kCounterbore);
}

TEST(Process, TheSpotGoesAwayWithTheDrilling) {
  Bench bench(TappedBlock(), "mill", kZ, kX, Vec3(0, 0, 40));
  const Step spot = bench.Cut("taps").steps.front();
  // A 90 degree point makes a dimple twice as wide as deep.
  EXPECT_LT(2 * -spot.path.front().points_S_mm.front().z(), 2.5);
  EXPECT_GT(2 * -spot.path.front().points_S_mm.front().z(), 1.2);
}

// A cover on a block: 3.2 clearance holes over M3.
struct Covered {
  Part cover;
  Bench bench;
  explicit Covered(double clearance)
      : cover(MakeCover(clearance)), bench(TappedBlock(), "mill", kZ, kX, Vec3(0, 0, 40)) {
    PieceInSetup mate;
    mate.part = &cover;
    mate.X_PS = bench.context.pieces.front().X_PS;
    mate.piece_S = BoxIn(mate.X_PS, cover.block_P);
    bench.context.pieces.push_back(mate);
  }
  static Part MakeCover(double clearance) {
    Part part = MakeSawnBlock("cover", Vec3(-25, -28, 40), Vec3(25, 28, 46));
    part.features.push_back(Bored(
        "holes", {HoleUse::kHole,
                  -kZ,
                  {Vec3(18, 18, 46), Vec3(-18, -18, 46), Vec3(-18, 18, 46), Vec3(18, -18, 46)},
                  Plain(clearance),
                  6,
                  true,
                  HoleBottom::kPoint118}));
    return part;
  }
  CutRequest Ask() const {
    CutRequest request = bench.Ask("taps");
    request.technique = Technique::kSpotThrough;
    request.through = FeatureRef{PartId("cover"), FeatureId("holes")};
    return request;
  }
};

TEST(Process, SpottingThroughFillsTheMatesHoleAndLeavesASmallDimple) {
  const Covered covered(3.2);
  const CutResult cut = covered.bench.Cut(covered.Ask());
  EXPECT_EQ(Operations(cut),
            (std::vector{Operation::kSpotThrough, Operation::kDrill, Operation::kTap}));
  const Step& spot = cut.steps.front();
  EXPECT_EQ(spot.tool, ToolId("drill_3.2"));
  ASSERT_TRUE(spot.through.has_value());
  EXPECT_EQ(spot.through->text(), "cover.holes");
  const double deep = -spot.path.front().points_S_mm.front().z();
  EXPECT_GT(deep, 0.3);
  EXPECT_LT(2 * deep * std::tan(59 * kRadPerDeg), 2.5);  // narrower than the tapping drill
  EXPECT_GT(spot.path.front().from_z_mm, 6);             // comes from above the cover
  EXPECT_LT(cut.steps[1].path.front().from_z_mm, 6);     // the cover is off again
}

TEST(Process, SpottingThroughNamesTheHolesItDoes) {
  const Covered covered(3.2);
  CutRequest request = covered.Ask();
  EXPECT_NE(covered.bench.Cut(request).steps.front().words.find("the four"), std::string::npos);
  request.holes = {2};
  EXPECT_NE(covered.bench.Cut(request).steps.front().words.find("hole 3"), std::string::npos);
  request.holes = {0, 1, 3};
  EXPECT_NE(covered.bench.Cut(request).steps.front().words.find("the other three"),
            std::string::npos);
}

TEST(Process, TheInstrumentIsTheSimplestThatIsGoodEnough) {
  Part part = MakeTurned("bush", 60, -20, 22);
  part.features = {Outer("loose", 0, 10, Plain(54, 0.3)),
                   Outer("tight", 10, 20, Fit(40, "h6", -0.016, 0))};
  Bench bench(part, "lathe", kZ, kX, Vec3(0, 0, 20));
  EXPECT_EQ(bench.Cut("loose").steps.back().measure->instrument, InstrumentId("caliper"));
  const CutResult tight = bench.Cut("tight");
  EXPECT_EQ(tight.steps.back().measure->instrument, InstrumentId("mic_50"));
  EXPECT_TRUE(tight.warnings.empty());
  std::get<OuterDiameter>(bench.part.features[1].shape).diameter.lower_mm = 39.992;
  EXPECT_EQ(bench.Cut("tight").warnings.size(), 1U);  // nothing in the shop is good to 0.002
}

TEST(Process, SpottingThroughALooseHoleIsRefused) {
  const Covered covered(3.6);
  EXPECT_NE(covered.bench.WhyNot(covered.Ask()).find("fills"), std::string::npos);
}

TEST(Process, AFaceAcrossTwoPartsIsOneStepOverBoth) {
  Part left = MakeSawnBlock("left", Vec3(-30, 0, 0), Vec3(30, 20, 20));
  Part right = MakeSawnBlock("right", Vec3(-30, 20, 0), Vec3(30, 60, 20));
  Bench bench(left, "mill", kZ, kX, Vec3(0, 0, 20));
  PieceInSetup mate;
  mate.part = &right;
  mate.X_PS = bench.context.pieces.front().X_PS;
  mate.piece_S = BoxIn(mate.X_PS, right.block_P);
  mate.piece_S.max_mm.z() = 0.4;
  bench.context.pieces.front().piece_S.max_mm.z() = 0.3;
  bench.context.pieces.push_back(mate);
  CutRequest request = bench.Ask("top");
  request.features.push_back({PartId("right"), FeatureId("top")});
  request.technique = Technique::kMachineTogether;
  const CutResult cut = bench.Cut(request);
  ASSERT_EQ(cut.steps.size(), 1U);
  EXPECT_EQ(cut.steps.front().features.size(), 2U);
  EXPECT_NEAR(cut.steps.front().depth_mm, 0.4, 1e-9);
  double most_y = -1e9;
  double least_y = 1e9;
  const double r = bench.shop.Find(cut.steps.front().tool)->diameter_mm / 2;
  for (const PathPiece& row : cut.steps.front().path) {
    for (const Vec3& p : row.points_S_mm) {
      most_y = std::max(most_y, p.y() + r);
      least_y = std::min(least_y, p.y() - r);
    }
  }
  EXPECT_GE(most_y, 60);
  EXPECT_LE(least_y, 0);
}

TEST(Process, MetalLeftOnIsNotFinishedAndNotMeasured) {
  Bench bench(TappedBlock(), "mill", kZ, kX, Vec3(0, 0, 40));
  bench.context.pieces.front().piece_S.max_mm.z() = 2;
  CutRequest request = bench.Ask("top");
  request.leave_mm = 0.3;
  const Step step = bench.Cut(request).steps.back();
  EXPECT_FALSE(step.finishes);
  EXPECT_FALSE(step.aim.has_value());
  EXPECT_NEAR(step.path.back().points_S_mm.front().z(), 0.3, 1e-9);
}

TEST(Process, AFaceDeeperThanTheFlutesIsReachedInLevels) {
  Bench bench(TappedBlock(), "mill", kZ, kX, Vec3(0, 0, 40));
  std::erase_if(bench.shop.tools, [](const Tool& t) { return t.kind == ToolKind::kEndMill; });
  bench.context.pieces.front().piece_S.max_mm.z() = 9;
  const Step step = bench.Cut("top").steps.back();
  int levels = 1;  // 9 mm with flutes of 4
  for (std::size_t i = 1; i < step.path.size(); ++i) {
    const double drop =
        step.path[i - 1].points_S_mm.front().z() - step.path[i].points_S_mm.front().z();
    EXPECT_GE(drop, 0);
    EXPECT_LE(drop, 4);
    if (drop > 0) ++levels;
  }
  EXPECT_GE(levels, 3);
  EXPECT_NEAR(step.path.back().points_S_mm.front().z(), 0, 1e-9);
}

TEST(Process, WrongWayUpIsRefusedByBothQuestions) {
  Bench bench(TappedBlock(), "mill", -kZ, kX, Vec3(0, 0, 0));
  std::string why;
  EXPECT_FALSE(CanCut(bench.context, *bench.part.Find(FeatureId("taps")), &why));
  EXPECT_NE(why.find("above"), std::string::npos);
  bench.WhyNot("taps");
  EXPECT_TRUE(CanCut(bench.context, *bench.part.Find(FeatureId("bottom")), nullptr));
  EXPECT_FALSE(CanCut(bench.context, *bench.part.Find(FeatureId("top")), nullptr));
}

TEST(Process, CanCutNeverSaysNoWhereMakeCutSucceeds) {
  Part part = BoredBlock(40);
  part.features.push_back(Bored("screws", {HoleUse::kHole,
                                           -kZ,
                                           {Vec3(28, 20, 40), Vec3(-28, 20, 40)},
                                           Plain(4.5),
                                           40,
                                           true,
                                           HoleBottom::kPoint118}));
  part.features.push_back(Make("step", StepCut{-kZ, {Vec3(-35, -28, 30), Vec3(-28, 28, 40)}}));
  for (const Vec3& up : {kX, Vec3(-kX), kY, Vec3(-kY), kZ, Vec3(-kZ)}) {
    for (const char* machine : {"mill", "lathe"}) {
      Bench bench(part, machine, up, std::abs(up.x()) > 0.5 ? kY : kX, Vec3(0, 0, 20));
      bench.context.pieces.front().piece_S.max_mm.z() += 1;
      for (const Feature& f : bench.part.features) {
        const bool made = MakeCut(bench.context, bench.Ask(f.name.text())).has_value();
        EXPECT_TRUE(!made || CanCut(bench.context, f, nullptr))
            << f.name.text() << " " << machine << " " << up.transpose();
      }
    }
  }
}

TEST(Process, AThroughHoleMayComeFromItsFarSide) {
  Part part = MakeSawnBlock("block", Vec3(-25, -28, 0), Vec3(25, 28, 20));
  part.features.push_back(
      Bored("screws",
            {HoleUse::kHole, -kZ, {Vec3(10, 0, 20)}, Plain(4.5), 20, true, HoleBottom::kPoint118}));
  Bench bench(part, "mill", -kZ, kX, Vec3(0, 0, 0));
  const Step drill = bench.Cut("screws").steps.back();
  EXPECT_NEAR(drill.coordinates.front().x_mm, 10, kDial_mm);
  EXPECT_LT(drill.path.front().points_S_mm.front().z(), -21);
}

TEST(Process, UnknownFeaturesAreNamed) {
  Bench bench(TappedBlock(), "mill", kZ, kX, Vec3(0, 0, 40));
  const auto result = MakeCut(bench.context, bench.Ask("nowhere"));
  ASSERT_FALSE(result.has_value());
  EXPECT_EQ(result.error().code, ErrorCode::kUnknownFeature);
  EXPECT_EQ(result.error().value, "nowhere");
}

TEST(Process, AShoulderIsFacedWithItsDiameterAndAFreeEndIsPassed) {
  Part part = MakeTurned("bush", 60, -20, 32);
  part.features = {Outer("spigot", 20, 30, Plain(40)), Outer("flange", 10, 20, Plain(54)),
                   Outer("nose", 0, 10, Plain(36))};
  Bench bench(part, "lathe", kZ, kX, Vec3(0, 0, 30));
  const Step spigot = bench.Cut("spigot").steps.front();
  ASSERT_EQ(spigot.path.front().points_S_mm.size(), 3U);
  EXPECT_NEAR(spigot.path.front().points_S_mm[1].z(), -10, 1e-9);
  EXPECT_GT(spigot.path.front().points_S_mm[2].x(), 30);
  const Step flange = bench.Cut("flange").steps.front();
  ASSERT_EQ(flange.path.front().points_S_mm.size(), 2U);
  EXPECT_LT(flange.path.front().points_S_mm[1].z(), -20);
  EXPECT_NE(bench.WhyNot("nose").find("larger"), std::string::npos);
}

TEST(Process, FacingGoesPastTheCentreSoThatNoPipIsLeft) {
  Part part = MakeTurned("bush", 30, -20, 23);
  part.features = {Outer("outside", 0, 20, Plain(26)), Face("end", kZ, 20)};
  Bench bench(part, "lathe", kZ, kX, Vec3(0, 0, 20));
  const Step face = bench.Cut("end").steps.front();
  EXPECT_DOUBLE_EQ(face.depth_mm, 3);
  EXPECT_LT(face.path.back().points_S_mm.back().x(), -3 * 1.05 / 12);
  EXPECT_NEAR(face.path.back().points_S_mm.back().z(), 0, 1e-9);
  EXPECT_NE(face.caution.find("key"), std::string::npos);
}

TEST(Process, ABlockInTheLatheTurnsSlowlyAndSaysSo) {
  Bench bench(BoredBlock(40), "lathe", kZ, kX, Vec3(0, 0, 40));
  bench.context.holding = HoldingKind::kFourJaw;
  bench.context.pieces.front().piece_S.max_mm.z() = 1;
  const Step face = bench.Cut("top").steps.front();
  EXPECT_LE(face.rpm, 400);
  EXPECT_NE(face.caution.find("balance"), std::string::npos);
  // From beyond the farthest corner.
  EXPECT_GT(face.path.front().points_S_mm.front().x(), std::hypot(35.0, 28.0));
}

TEST(Process, PartingOffLeavesTheEndWhereItIsAskedFor) {
  Part part = MakeTurned("bush", 30, -20, 20);
  part.features = {Outer("outside", 0, 20, Plain(30))};
  Bench bench(part, "lathe", kZ, kX, Vec3(0, 0, 20));
  const auto cut = MakePartOff(bench.context, -20.3);
  ASSERT_TRUE(cut.has_value());
  const Step& step = cut->steps.front();
  EXPECT_EQ(step.operation, Operation::kPartOff);
  // The 2 mm tool's left corner stands its width beyond the end.
  EXPECT_NEAR(step.coordinates.front().z_mm, -22.3, kDial_mm);
  EXPECT_NE(step.words.find("-22.3"), std::string::npos) << step.words;
  Bench mill(part, "mill", kZ, kX, Vec3(0, 0, 20));
  EXPECT_FALSE(MakePartOff(mill.context, -20.3).has_value());
}

TEST(Process, BoresOneBehindTheOtherArePilotedOnce) {
  Part part = MakeTurned("housing", 60, -40, 36);
  part.features = {
      Outer("outside", 0, 34, Plain(54)),
      Bored("seat", {HoleUse::kBore,
                     -kZ,
                     {Vec3(0, 0, 34)},
                     Fit(26, "H7", 0, 0.021),
                     32,
                     false,
                     HoleBottom::kFlat}),
      Bored("neck",
            {HoleUse::kBore, -kZ, {Vec3(0, 0, 2)}, Plain(22.5), 2, true, HoleBottom::kFlat})};
  Bench bench(part, "lathe", kZ, kX, Vec3(0, 0, 34));
  bench.context.pieces.front().piece_S.max_mm.z() = 0;
  const auto drills = [&](const char* name) {
    const CutResult cut = bench.Cut(name);
    return std::count_if(cut.steps.begin(), cut.steps.end(),
                         [](const Step& s) { return s.operation == Operation::kDrill; });
  };
  EXPECT_EQ(drills("seat"), 2);
  EXPECT_EQ(drills("neck"), 2);  // whichever comes first drills for both
  bench.made = {FeatureId("seat")};
  EXPECT_EQ(drills("neck"), 0);
  bench.made = {FeatureId("neck")};
  EXPECT_EQ(drills("seat"), 0);
}

TEST(Process, AHonedBoreIsBoredSmallThenHoned) {
  Part part = MakeTurned("liner", 40, -60, 38);
  part.material = "cast iron";
  Feature bore = Bored("bore", {HoleUse::kBore,
                                -kZ,
                                {Vec3(0, 0, 37)},
                                Fit(24, "H7", 0, 0.021),
                                37,
                                true,
                                HoleBottom::kFlat});
  bore.finish = Finish::kHoned;
  part.features = {Outer("outside", 0, 37, Plain(30)), bore};
  Bench bench(part, "lathe", kZ, kX, Vec3(0, 0, 37));
  const CutResult cut = bench.Cut("bore");
  EXPECT_EQ(cut.steps.back().operation, Operation::kHone);
  EXPECT_NEAR(cut.steps[cut.steps.size() - 2].path.front().points_S_mm.front().x(),
              (24.0105 - 0.03) / 2, 1e-9);
  EXPECT_FALSE(cut.steps[cut.steps.size() - 2].aim.has_value());
  EXPECT_TRUE(cut.steps.back().aim.has_value());
  // The stones run out into the bar behind.
  EXPECT_LT(cut.steps.back().path.front().points_S_mm.front().z(), -37 - 5);
}

TEST(Process, ACutThatWouldRunIntoThePartIsRefused) {
  // The seat's floor must be faced with a bar whose back clears the far side; a bore that ends in a
  // wall 3 mm behind it leaves no room for a drill's run-out.
  Part part = MakeSawnBlock("block", Vec3(-25, -28, 0), Vec3(25, 28, 40));
  part.features.push_back(
      Bored("cross",
            {HoleUse::kHole, -kX, {Vec3(25, 0, 20)}, Plain(5.5), 50, true, HoleBottom::kPoint118}));
  part.features.push_back(Bored(
      "into",
      {HoleUse::kHole, -kZ, {Vec3(0, 0, 40)}, Plain(5.5), 20.5, true, HoleBottom::kPoint118}));
  Bench bench(part, "mill", kZ, kX, Vec3(0, 0, 40));
  EXPECT_NE(bench.WhyNot("into").find("run into"), std::string::npos);
}

TEST(Process, ASlotWithoutItsCutterIsDrilledAtBothEndsFirst) {
  Part part = MakeSawnBlock("block", Vec3(-25, -28, 0), Vec3(25, 28, 8));
  Slot slot;
  slot.centre_P_mm = Vec3(4, 0, 8);
  slot.length_mm = 12;
  slot.width = Plain(5.5);
  slot.depth_mm = 8;
  slot.through = true;
  part.features.push_back(Make("slot", slot));
  slot.width = Plain(5);
  slot.centre_P_mm.y() = 15;
  part.features.push_back(Make("plain", slot));
  Bench bench(part, "mill", kZ, kX, Vec3(0, 0, 8));
  const CutResult ends = bench.Cut("slot");
  EXPECT_EQ(Operations(ends), (std::vector{Operation::kSpot, Operation::kDrill, Operation::kMill}));
  ASSERT_EQ(ends.steps[1].coordinates.size(), 2U);
  EXPECT_NEAR(std::abs(ends.steps[1].coordinates[1].x_mm - ends.steps[1].coordinates[0].x_mm), 6.5,
              kDial_mm);
  EXPECT_EQ(Operations(bench.Cut("plain")), std::vector{Operation::kMill});
}

TEST(Process, RememberedCutsAreTheSameCuts) {
  Bench bench(TappedBlock(), "mill", kZ, kX, Vec3(0, 0, 40));
  const CutResult afresh = bench.Cut("taps");
  CutMemo memo;
  bench.context.memo = &memo;
  for (int i = 0; i < 2; ++i) {
    const CutResult kept = bench.Cut("taps");
    ASSERT_EQ(kept.steps.size(), afresh.steps.size());
    EXPECT_DOUBLE_EQ(kept.minutes, afresh.minutes);
    EXPECT_EQ(kept.steps.back().words, afresh.steps.back().words);
  }
  EXPECT_EQ(memo.size(), 1U);
  bench.context.clearance_below_mm = 3;
  bench.Cut("taps");
  EXPECT_EQ(memo.size(), 2U);
  CutRequest some = bench.Ask("taps");
  some.holes = {1};
  EXPECT_EQ(bench.Cut(some).steps.front().coordinates.size(), 1U);
  EXPECT_EQ(memo.size(), 3U);
}

TEST(ToolChoice, PassesEndWithALightOne) {
  EXPECT_EQ(PassLevels(2, 1, 0.2), (std::vector<double>{0.9, 1.8, 2}));
  EXPECT_EQ(PassLevels(0.15, 1, 0.2), std::vector<double>{0.15});
  EXPECT_EQ(PassLevels(1, 1, 0), std::vector<double>{1});
}

TEST(ToolChoice, AWeakMotorTakesThinnerPasses) {
  const Shop shop = MakeBenchShop();
  MachineTool mill = shop.machines.front();
  const Tool* tool = shop.Find(ToolId("end_mill_20_38"));
  ASSERT_NE(tool, nullptr);
  const trade::Material& steel = *trade::FindMaterial("steel");
  const CutWish wish{trade::CutKind::kMillSide, 20, 16};
  const auto strong = ChooseSettings(mill, steel, *tool, wish);
  mill.power_W = 150;
  const auto weak = ChooseSettings(mill, steel, *tool, wish);
  ASSERT_TRUE(strong && weak);
  EXPECT_LT(weak->depth_mm, strong->depth_mm);
}

TEST(ToolChoice, AMachineThatIsFarTooFastIsRefused) {
  const Shop shop = MakeBenchShop();
  MachineTool press = shop.machines.front();
  press.speeds_rpm = {800, 1600};
  const Tool* drill = shop.Find(ToolId("drill_25"));
  const trade::Material& steel = *trade::FindMaterial("steel");
  EXPECT_FALSE(ChooseSettings(press, steel, *drill, {trade::CutKind::kDrill, 25}).has_value());
  press.speeds_rpm = {300, 600};
  const auto slow = ChooseSettings(press, steel, *drill, {trade::CutKind::kDrill, 25});
  ASSERT_TRUE(slow.has_value());
  EXPECT_TRUE(slow->faster_than_wished);
}

}  // namespace
}  // namespace fitwright::planner
