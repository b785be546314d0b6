// The paths that a cut prescribes, swept on solids, make the feature exactly as designed: each part
// is cut from its stock, feature by feature, and the solid made is compared with the design's.
#include <gtest/gtest.h>

#include <algorithm>

#include "fitwright/planner/pieces.h"
#include "fitwright/planner/process.h"
#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/cutters.h"
#include "fitwright/solid/measure.h"
#include "tests/support/process_bench.h"

namespace fitwright::planner {
namespace {

using namespace bench;  // NOLINT: test helpers

constexpr double kMade_mm3 = 0.01;    // what the replay allows a whole part
constexpr double kTakes_mm3 = 0.001;  // a cutting step takes at least this

struct Round {
  std::string machine;
  Vec3 up_P;
  Vec3 x_P;
  std::vector<std::string> cuts;
  std::optional<double> part_off_P;  // the plane -up . p = -value: where the far end is parted off
};

class Maker {
 public:
  Maker(const Shop& shop, const Part& part) : shop_(shop), part_(part), piece_(RawPiece(part)) {
    const auto stock = solid::MakeStock(part);
    EXPECT_TRUE(stock.has_value());
    made_ = *stock;
  }

  void Do(const Round& round) {
    for (const std::string& name : round.cuts) {
      CutContext context = Context(round);
      CutRequest request;
      request.features = {{part_.name, FeatureId(name)}};
      const auto result = MakeCut(context, request);
      ASSERT_TRUE(result.has_value()) << Format(result.error());
      for (const Step& step : result->steps) Sweep(step, context.pieces.front().X_PS, name);
      ASSERT_TRUE(result->steps.back().finishes) << name;
      ApplyCut(piece_, *part_.Find(FeatureId(name)), round.up_P, 0);
    }
    if (!round.part_off_P) return;
    const CutContext context = Context(round);
    const auto result = MakePartOff(context, *round.part_off_P);
    ASSERT_TRUE(result.has_value()) << Format(result.error());
    for (const Step& step : result->steps) Sweep(step, context.pieces.front().X_PS, "part off");
    ApplyPartOff(piece_, Face("parted", -round.up_P, -*round.part_off_P), 0);
  }

  double Difference_mm3() const {
    const auto design = solid::MakeDesign(part_);
    EXPECT_TRUE(design.has_value()) << (design ? "" : Format(design.error()));
    const auto difference = solid::CalcSymmetricDifference_mm3(made_, *design);
    EXPECT_TRUE(difference.has_value());
    return difference ? *difference : 1e9;
  }

 private:
  CutContext Context(const Round& round) const {
    CutContext context;
    context.shop = &shop_;
    context.machine = shop_.Find(MachineToolId(round.machine));
    context.holding =
        round.machine == "lathe" ? HoldingKind::kThreeJaw : HoldingKind::kViseBedFirst;
    context.clearance_below_mm = 12;
    context.made = &piece_.made;
    PieceInSetup in;
    in.part = &part_;
    in.X_PS = PoseUp(round.up_P, round.x_P, Vec3::Zero());
    in.piece_S = BoxIn(in.X_PS, BoxOf(piece_));
    for (const Band& band : piece_.bands)
      in.bar_diameter_mm = std::max(in.bar_diameter_mm, band.diameter_mm);
    context.pieces.push_back(in);
    return context;
  }

  void Sweep(const Step& step, const Pose& X_PS, const std::string& name) {
    const Tool* tool = shop_.Find(step.tool);
    ASSERT_NE(tool, nullptr) << step.tool.text();
    std::vector<solid::Solid> cutters;
    for (const PathPiece& piece : step.path) {
      const auto swept = solid::MakeSweptCutter(*tool, piece);
      ASSERT_TRUE(swept.has_value()) << Format(swept.error());
      for (const solid::Solid& s : *swept) cutters.push_back(solid::Moved(s, X_PS));
      const auto shank = solid::MakeSweptHolder(*tool, piece);
      ASSERT_TRUE(shank.has_value());
      for (const solid::Solid& s : *shank) shanks_.push_back(solid::Moved(s, X_PS));
    }
    if (step.operation == Operation::kTap) return shanks_.clear();
    const double before = solid::CalcVolume_mm3(made_);
    const auto cut = solid::Cut(made_, cutters);
    ASSERT_TRUE(cut.has_value()) << Format(cut.error());
    made_ = *cut;
    if (step.operation == Operation::kPartOff) {
      // The piece that comes off is the one towards the tailstock.
      const auto off = solid::KeepPieceAt(made_, X_PS * Vec3(0, 0, 1000));
      ASSERT_TRUE(off.has_value()) << Format(off.error());
      made_ = *off;
    }
    EXPECT_GT(before - solid::CalcVolume_mm3(made_), kTakes_mm3) << name << ": " << step.words;
    for (const solid::Solid& shank : shanks_) {
      const auto common = solid::CalcCommonVolume_mm3(made_, shank);
      ASSERT_TRUE(common.has_value());
      EXPECT_LT(*common, kMade_mm3)
          << name << ": shank or holder of " << tool->words << " in the work: " << step.words;
    }
    shanks_.clear();
  }

  const Shop& shop_;
  const Part& part_;
  PieceState piece_;
  solid::Solid made_;
  std::vector<solid::Solid> shanks_;
};

const Vec3 kX = Vec3::UnitX();
const Vec3 kY = Vec3::UnitY();
const Vec3 kZ = Vec3::UnitZ();

std::vector<Round> SquareUp() {
  return {{"mill", kZ, kX, {"top"}, {}},   {"mill", -kZ, kX, {"bottom"}, {}},
          {"mill", kX, kY, {"front"}, {}}, {"mill", -kX, kY, {"rear"}, {}},
          {"mill", kY, kX, {"left"}, {}},  {"mill", -kY, kX, {"right"}, {}}};
}

void MakeAll(const Part& part, const std::vector<Round>& rounds) {
  const Shop shop = MakeBenchShop();
  Maker maker(shop, part);
  for (const Round& round : rounds) {
    maker.Do(round);
    if (testing::Test::HasFatalFailure()) return;
  }
  EXPECT_LT(maker.Difference_mm3(), kMade_mm3);
}

TEST(ExactCuts, ABlockIsSquaredOnTheMill) {
  MakeAll(MakeSawnBlock("block", Vec3(-25, -28, 0), Vec3(25, 28, 40)), SquareUp());
}

TEST(ExactCuts, HolesBoresAndCounterboresOnTheMill) {
  Part part = MakeSawnBlock("block", Vec3(-30, -28, 0), Vec3(30, 28, 40));
  part.features.push_back(Bored("bore", {HoleUse::kBore,
                                         -kZ,
                                         {Vec3(0, 0, 40)},
                                         Fit(30, "H7", 0, 0.021),
                                         40,
                                         true,
                                         HoleBottom::kFlat}));
  part.features.push_back(Bored("counterbore", {HoleUse::kCounterbore,
                                                -kZ,
                                                {Vec3(0, 0, 40)},
                                                Plain(36.1, 0.05),
                                                3,
                                                false,
                                                HoleBottom::kFlat}));
  part.features.push_back(
      Threaded("taps", "M3", 3, 0.5, 7,
               {HoleUse::kHole,
                -kZ,
                {Vec3(22, 20, 40), Vec3(-22, 20, 40), Vec3(-22, -20, 40), Vec3(22, -20, 40)},
                Plain(2.5),
                9,
                false,
                HoleBottom::kPoint118}));
  part.features.push_back(Bored("pin", {HoleUse::kHole,
                                        -kZ,
                                        {Vec3(24, 0, 40)},
                                        Fit(5, "H7", 0, 0.012),
                                        40,
                                        true,
                                        HoleBottom::kPoint118}));
  part.features.push_back(Bored("screws", {HoleUse::kHole,
                                           -kZ,
                                           {Vec3(-24, 8, 40), Vec3(-24, -8, 40)},
                                           Plain(4.5),
                                           40,
                                           true,
                                           HoleBottom::kPoint118}));
  part.features.push_back(Bored("heads", {HoleUse::kCounterbore,
                                          -kZ,
                                          {Vec3(-24, 8, 40), Vec3(-24, -8, 40)},
                                          Plain(6.5),
                                          4,
                                          false,
                                          HoleBottom::kFlat}));
  std::vector<Round> rounds = SquareUp();
  rounds.push_back({"mill", kZ, kX, {"bore", "counterbore", "taps", "pin", "screws", "heads"}, {}});
  MakeAll(part, rounds);
}

TEST(ExactCuts, ABoreThatRunsIntoAnotherStopsShortOfItsFarWall) {
  Part part = MakeSawnBlock("body", Vec3(-25, -28, 0), Vec3(25, 28, 70));
  part.features.push_back(Bored("crank", {HoleUse::kBore,
                                          -kX,
                                          {Vec3(25, 0, 28)},
                                          Fit(40, "H7", 0, 0.025),
                                          50,
                                          true,
                                          HoleBottom::kFlat}));
  part.features.push_back(Make("lead", RoundChamfer{FeatureId("crank"), true, 0.5, 0.5}));
  // To where the whole circle has run out into the crank bore: z = 28 + sqrt(20^2 - 15^2).
  part.features.push_back(Bored("cylinder", {HoleUse::kBore,
                                             -kZ,
                                             {Vec3(0, 0, 70)},
                                             Fit(30, "H7", 0, 0.021),
                                             29,
                                             true,
                                             HoleBottom::kFlat}));
  std::vector<Round> rounds = SquareUp();
  rounds.push_back({"mill", kX, kY, {"crank", "lead"}, {}});
  rounds.push_back({"mill", kZ, kX, {"cylinder"}, {}});
  MakeAll(part, rounds);
}

TEST(ExactCuts, ABlockIsBoredAndFacedInTheLathe) {
  Part part = MakeSawnBlock("body", Vec3(-25, -28, 0), Vec3(25, 28, 40));
  part.features.push_back(Bored("bore", {HoleUse::kBore,
                                         -kX,
                                         {Vec3(25, 0, 20)},
                                         Fit(30, "H7", 0, 0.021),
                                         50,
                                         true,
                                         HoleBottom::kFlat}));
  part.features.push_back(Make("lead", RoundChamfer{FeatureId("bore"), true, 0.5, 0.5}));
  // The lathe's axis is the bore's.
  Part moved = part;
  moved.block_P = {Vec3(-25, -28, -20), Vec3(25, 28, 20)};
  moved.stock.box_P = {moved.block_P.min_mm - Vec3::Constant(2),
                       moved.block_P.max_mm + Vec3::Constant(2)};
  std::get<PlanarFace>(moved.features[0].shape).at = Plain(20);
  std::get<PlanarFace>(moved.features[1].shape).at = Plain(20);
  std::get<Hole>(moved.features[6].shape).entries_P_mm = {Vec3(25, 0, 0)};
  std::vector<Round> rounds = {
      {"mill", kZ, kX, {"top"}, {}},   {"mill", -kZ, kX, {"bottom"}, {}},
      {"mill", kY, kX, {"left"}, {}},  {"mill", -kY, kX, {"right"}, {}},
      {"mill", -kX, kY, {"rear"}, {}}, {"lathe", kX, kY, {"front", "bore", "lead"}, {}}};
  MakeAll(moved, rounds);
}

Part AngleFoot() {
  Part part = MakeSawnBlock("foot", Vec3(-25, 28, 0), Vec3(25, 50, 24));
  part.features.push_back(Make("inside", StepCut{-kZ, {Vec3(-25, 36, 8), Vec3(25, 50, 24)}}));
  part.features.push_back(Face("base_top", kZ, 8));
  part.features.push_back(Bored("screws", {HoleUse::kHole,
                                           -kY,
                                           {Vec3(-15, 36, 13), Vec3(15, 36, 13)},
                                           Plain(4.5),
                                           8,
                                           true,
                                           HoleBottom::kPoint118}));
  Slot slot;
  slot.centre_P_mm = Vec3(4, 41.5, 8);
  slot.length_mm = 12;
  slot.width = Plain(5.5);
  slot.depth_mm = 8;
  slot.through = true;
  part.features.push_back(Make("slot", slot));
  part.features.push_back(
      Make("slope", EdgeChamfer{FeatureId("base_top"), FeatureId("left"), 3, 6}));
  return part;
}

TEST(ExactCuts, AnAngleFootWithSlotAndSlope) {
  std::vector<Round> rounds = SquareUp();
  rounds.push_back({"mill", kZ, kX, {"inside", "slot"}, {}});
  rounds.push_back({"mill", kY, kX, {"screws"}, {}});
  rounds.push_back({"mill", Vec3(0, 6, 3).normalized(), kX, {"slope"}, {}});
  MakeAll(AngleFoot(), rounds);
}

Part Housing() {
  Part part = MakeTurned("housing", 60, -13, 57);
  part.features = {Outer("spigot", -10, 0, Fit(40, "g6", -0.025, -0.009)),
                   Outer("flange", 0, 10, Plain(54, 0.3)),
                   Outer("nose", 10, 24, Plain(36, 0.3)),
                   Face("spigot_end", -kZ, 10),
                   Face("flange_face", -kZ, 0),
                   Face("nose_end", kZ, 24)};
  Groove root;
  root.undercut = true;
  root.from_mm = -1;
  root.to_mm = 0;
  root.diameter = Plain(39.4);
  part.features.push_back(Make("root", root));
  part.features.push_back(Bored("seat", {HoleUse::kBore,
                                         kZ,
                                         {Vec3(0, 0, -10)},
                                         Fit(26, "H7", 0, 0.021),
                                         32,
                                         false,
                                         HoleBottom::kFlat}));
  part.features.push_back(
      Bored("nose_bore",
            {HoleUse::kBore, kZ, {Vec3(0, 0, 22)}, Plain(22.5), 2, true, HoleBottom::kFlat}));
  Groove clip;
  clip.internal = true;
  clip.from_mm = -9;
  clip.to_mm = -7.7;
  clip.diameter = Plain(27.2);
  part.features.push_back(Make("clip", clip));
  std::vector<Vec3> holes;
  for (int i = 0; i < 6; ++i) {
    const double a = (30 + 60 * i) * kRadPerDeg;
    holes.emplace_back(23.5 * std::cos(a), 23.5 * std::sin(a), 10);
  }
  part.features.push_back(
      Bored("screws", {HoleUse::kHole, -kZ, holes, Plain(3.2), 10, true, HoleBottom::kPoint118}));
  Flats flats;
  flats.from_mm = 16;
  flats.to_mm = 24;
  flats.across = Plain(33);
  flats.first_normal_P = kY;
  part.features.push_back(Make("flats", flats));
  return part;
}

TEST(ExactCuts, AFlangedHousingInTheLatheThenOnTheMill) {
  MakeAll(Housing(), {{"lathe",
                       -kZ,
                       kX,
                       {"spigot_end", "flange", "spigot", "seat", "nose_bore", "root", "clip"},
                       {}},
                      {"lathe", kZ, kX, {"nose_end", "nose"}, {}},
                      {"mill", kZ, kX, {"screws", "flats"}, {}}});
}

TEST(ExactCuts, FlatsOneAtATimeFromAbove) {
  Part part = MakeTurned("shaft", 40, -2, 40);
  part.features = {Outer("big", 0, 20, Plain(36)), Face("end", kZ, 20), Face("far", -kZ, 0)};
  Flats flats;
  flats.from_mm = 12;
  flats.to_mm = 20;
  flats.across = Plain(30);
  flats.first_normal_P = kY;
  part.features.push_back(Make("flats", flats));
  const Shop shop = MakeBenchShop();
  Maker maker(shop, part);
  maker.Do({"lathe", kZ, kX, {"end", "big"}, 0.0});
  maker.Do({"mill", kY, kX, {"flats"}, {}});
  maker.Do({"mill", -kY, kX, {"flats"}, {}});
  EXPECT_LT(maker.Difference_mm3(), kMade_mm3);
}

TEST(ExactCuts, ALinerIsHonedAndPartedOff) {
  Part part = MakeTurned("liner", 40, -36, 30);
  part.material = "cast iron";
  part.features = {Outer("outside", -34, 0, Fit(30, "g6", -0.020, -0.007)),
                   Outer("flange", 0, 3.03, Plain(36, 0.03)), Face("under", -kZ, 0),
                   Face("top", kZ, 3.03), Face("end", -kZ, 34)};
  Feature bore = Bored("bore", {HoleUse::kBore,
                                kZ,
                                {Vec3(0, 0, -34)},
                                Fit(24, "H7", 0, 0.021),
                                37.03,
                                true,
                                HoleBottom::kFlat});
  bore.finish = Finish::kHoned;
  part.features.push_back(bore);
  part.features.push_back(Make("ring_lead", RoundChamfer{FeatureId("bore"), true, 1.5, 0.5}));
  MakeAll(part, {{"lathe", -kZ, kX, {"end", "flange", "outside", "bore", "ring_lead"}, -3.03}});
}

Part Piston() {
  Part part = MakeTurned("piston", 25, -27, 18);
  part.features = {Outer("outside", 0, 16, Plain(23.9755, 0.0205)), Face("skirt_end", -kZ, 0),
                   Face("crown", kZ, 16)};
  for (const auto& [name, from] :
       std::vector<std::pair<std::string, double>>{{"ring_1", 13.3}, {"ring_2", 11.1}}) {
    Groove groove;
    groove.from_mm = from;
    groove.to_mm = from + 1.2;
    groove.diameter = Plain(21.765);
    part.features.push_back(Make(name, groove));
  }
  part.features.push_back(
      Bored("skirt_bore",
            {HoleUse::kBore, kZ, {Vec3(0, 0, 0)}, Plain(19), 2.7, false, HoleBottom::kFlat}));
  Pocket pocket;
  pocket.into_P = kZ;
  pocket.centre_P_mm = Vec3(0, 0, 2.7);
  pocket.along_P = kY;
  pocket.length_mm = 18.3;
  pocket.width_mm = 8.4;
  pocket.corner_radius_mm = 2;
  pocket.depth_mm = 10.1;
  part.features.push_back(Make("pocket", pocket));
  for (const double y : {6.5, -6.5}) {
    Slot slot;
    slot.into_P = kZ;
    slot.centre_P_mm = Vec3(0, y, 2.7);
    slot.length_mm = 11.5;
    slot.width = Plain(4);
    slot.depth_mm = 10.1;
    part.features.push_back(Make(y > 0 ? "slot_left" : "slot_right", slot));
  }
  part.features.push_back(Bored("pin", {HoleUse::kHole,
                                        -kX,
                                        {Vec3(12, 0, 7.2)},
                                        Fit(5, "H7", 0, 0.012),
                                        24,
                                        true,
                                        HoleBottom::kPoint118}));
  return part;
}

TEST(ExactCuts, APistonHollowedOnTheMill) {
  MakeAll(Piston(), {{"lathe", kZ, kX, {"crown", "outside", "ring_1", "ring_2"}, -0.5},
                     {"lathe", -kZ, kX, {"skirt_end", "skirt_bore"}, {}},
                     {"mill", kX, kY, {"pin"}, {}},
                     {"mill", -kZ, kX, {"pocket", "slot_left", "slot_right"}, {}}});
}

TEST(ExactCuts, AChamferOnAnOutsideEdge) {
  Part part = MakeTurned("plug", 30, -20, 22);
  part.features = {Outer("big", 0, 10, Plain(26)), Outer("small", 10, 20, Plain(20)),
                   Face("end", kZ, 20), Face("far", -kZ, 0)};
  part.features.push_back(Make("edge", RoundChamfer{FeatureId("small"), false, 1, 1}));
  part.features.push_back(Make("slope", RoundChamfer{FeatureId("big"), false, 2, 0.5}));
  MakeAll(part, {{"lathe", kZ, kX, {"end", "big", "small", "edge", "slope"}, 0.0}});
}

}  // namespace
}  // namespace fitwright::planner
