// Every technique against the same two parts built the slow way: whole moves of the plate, exact
// distances, cuts and readings one after the other.
#include <gtest/gtest.h>

#include "fitwright/trade/materials.h"
#include "tests/support/slow_builds.h"
#include "tests/variation/blocks.h"

namespace fitwright::variation {
namespace {

using namespace fitwright::testing;  // NOLINT: test helpers

constexpr double kApart_mm = 60;
constexpr double kHole_mm = 3.2;
// Two places 60 apart, each off by less than 0.5: what is square to the line between them counts by
// less than its square over 60.
constexpr double kTechniquesSecondOrder_mm = 1e-3;

// A plate on a block; in both, two holes of one pattern.
Machine PlateOnBlock(const Size& in_plate, const Size& in_block, bool tapped) {
  Machine machine;
  machine.parts = {MakeBlock("block", {-40, -20, 0}, {40, 20, 20}),
                   MakeBlock("plate", {-40, -20, 20}, {40, 20, 26})};
  const double half = kApart_mm / 2;
  machine.parts[0].features.push_back(
      MakeHoles("held", -Vec3::UnitZ(), {{-half, 0, 20}, {half, 0, 20}}, in_block, 10, false));
  if (tapped)
    std::get<Hole>(machine.parts[0].features.back().shape).thread = InternalThread{"M3", 3, 0.5, 8};
  machine.parts[1].features.push_back(
      MakeHoles("clear", -Vec3::UnitZ(), {{-half, 0, 26}, {half, 0, 26}}, in_plate, 6, true));
  machine.uses = {StandsAt("block", {0, 0, 0}), StandsAt("plate", {0, 0, 0})};
  machine.joints = {JoinedBy("face", JointKind::kFaceContact, "block.top", "plate.bottom"),
                    JoinedBy("holes", tapped ? JointKind::kScrewedPattern : JointKind::kPinned,
                             "block.held", "plate.clear")};
  if (tapped) machine.joints[1].screw = Screw{"M3", 14, 3, 0.5};
  Requirement enter = Required("enter", RequirementKind::kScrewsEnter, "", "", {}, {});
  enter.joint = JointId("holes");
  machine.requirements = {enter};
  return machine;
}
Machine Screwed() { return PlateOnBlock(MakeSize(3.15, 3.25), MakeSize(2.45, 2.6), true); }

// The other part is put on in the same setup.
void PutOn(PlanBuilder& b, const char* part, std::vector<JointId> joints) {
  auto& parts = b.plan.setups.back().parts;
  if (parts.size() == 1) parts.push_back({PartId(part), parts.front().X_PS, false});
  Step& on = b.Cut(Operation::kAssemble, "");
  on.parts = {PartId(part)};
  on.joints = std::move(joints);
}
void TakeOff(PlanBuilder& b, const char* part) {
  b.Cut(Operation::kTakeApart, "").parts = {PartId(part)};
}

void DrillPlate(PlanBuilder& b, const Machine& machine) {
  Hold(b, machine, "plate");
  b.Cut(Operation::kSpot, "clear", "spot_drill").finishes = false;
  b.Cut(Operation::kDrill, "clear", "drill_32");
}
void DrillAndTap(PlanBuilder& b, const std::vector<int>& holes = {}) {
  b.Cut(Operation::kDrill, "held", "drill_25").holes = holes;
  b.Cut(Operation::kTap, "held", "tap_m3").holes = holes;
}
void MakeBlockByCoordinates(PlanBuilder& b, const Machine& machine) {
  Hold(b, machine, "block");
  b.Cut(Operation::kSpot, "held", "spot_drill").finishes = false;
  DrillAndTap(b);
}

// Two screws in two holes of one plate, turned and moved as they like: the two distances may differ
// by both clearances. ISO 965: M3 6g major 2.874 to 2.980.
double ScrewRoom(SlowRandom& r) { return 0.5 * (kHole_mm - r.Between(2.874, 2.980)); }
SlowValue TwoScrews(const std::array<Vec2, 2>& clear, const std::array<Vec2, 2>& held,
                    double both_rooms) {
  const double off = (clear[1] - clear[0]).norm() - (held[1] - held[0]).norm();
  return {0, std::abs(off) <= both_rooms};
}
SlowValue TwoScrews(SlowRandom& r, const std::array<Vec2, 2>& clear,
                    const std::array<Vec2, 2>& held) {
  const double room = ScrewRoom(r);
  return TwoScrews(clear, held, room + ScrewRoom(r));
}
Vec2 Off(SlowRandom& r, double sigma) {
  const double x = r.Normal(sigma);
  return {x, r.Normal(sigma)};
}
std::array<Vec2, 2> Drawn() { return {Vec2(-kApart_mm / 2, 0), Vec2(kApart_mm / 2, 0)}; }
std::array<Vec2, 2> Moved(SlowRandom& r, std::array<Vec2, 2> places, double sigma) {
  for (Vec2& p : places) p += Off(r, sigma);
  return places;
}
// The plate clamped by eye: places on it, as they stand over the block.
std::array<Vec2, 2> Clamped(SlowRandom& r, const std::array<Vec2, 2>& places) {
  const Eigen::Rotation2Dd turn(r.Normal(0.003));
  const Vec2 shift = Off(r, 0.1);
  return {turn * places[0] + shift, turn * places[1] + shift};
}

void ExpectSameChance(const Machine& machine, const Shop& shop, const Plan& plan,
                      std::uint64_t seed, const std::function<SlowValue(SlowRandom&)>& one) {
  const Odds odds = FastOdds(machine, shop, plan);
  ASSERT_EQ(odds.requirements.size(), 1u);
  const SlowTally slow = Build(seed, one);
  PrintDeep(odds.requirements[0], slow);
  const double p = slow.odds();
  EXPECT_GT(p, 0.2);
  EXPECT_LT(p, 0.98);
  EXPECT_NEAR(odds.requirements[0].chance.odds, p, 4.5 * std::sqrt(2 * p * (1 - p) / slow.builds));
}

TEST(Techniques, ByCoordinates) {
  const Machine machine = Screwed();
  PlanBuilder b;
  DrillPlate(b, machine);
  MakeBlockByCoordinates(b, machine);
  ExpectSameChance(machine, ShopWithOnly({{"readout_position", 0.12}, {"lock_shift", 0.05}}),
                   b.plan, 1, [](SlowRandom& r) {
                     const auto plate = Moved(r, Moved(r, Drawn(), 0.12), 0.05);
                     return TwoScrews(r, plate, Moved(r, Moved(r, Drawn(), 0.12), 0.05));
                   });
}

Plan Spotted(const Machine& machine, int first) {
  PlanBuilder b;
  DrillPlate(b, machine);
  Hold(b, machine, "block");
  std::vector<std::vector<int>> groups = {{0, 1}};
  if (first == 1) groups = {{0}, {1}};
  for (const auto& group : groups) {
    PutOn(b, "plate", {JointId("face"), JointId("holes")});
    Step& spot = b.Cut(Operation::kSpotThrough, "held", "drill_32");
    spot.through = Ref("plate", "clear");
    spot.holes = group;
    TakeOff(b, "plate");
    DrillAndTap(b, group);
  }
  return b.plan;
}

const std::map<std::string, double> kSpotting = {
    {"spot_through", 0.2}, {"adjust_by_eye", 0.1}, {"readout_position", 0.3}};

TEST(Techniques, SpotThrough) {
  const Machine machine = Screwed();
  ExpectSameChance(machine, ShopWithOnly(kSpotting), Spotted(machine, 0), 2, [](SlowRandom& r) {
    const auto plate = Moved(r, Drawn(), 0.3);
    return TwoScrews(r, plate, Moved(r, Clamped(r, plate), 0.2));
  });
}

// The first hole's screw holds the plate, anywhere in its clearance, while the second is spotted.
TEST(Techniques, SpotThroughOneScrewedFirst) {
  const Machine machine = Screwed();
  ExpectSameChance(machine, ShopWithOnly(kSpotting), Spotted(machine, 1), 2, [](SlowRandom& r) {
    const auto plate = Moved(r, Drawn(), 0.3);
    const double room = ScrewRoom(r);
    std::array<Vec2, 2> block;
    block[0] = Clamped(r, plate)[0] + Off(r, 0.2);
    const Vec2 first = block[0] + r.Disc(room);
    block[1] = first + Eigen::Rotation2Dd(r.Normal(0.003)) * (plate[1] - plate[0]) + Off(r, 0.2);
    return TwoScrews(plate, block, room + ScrewRoom(r));
  });
}

// A mark is off by the punch, and the spindle stands off the mark.
TEST(Techniques, TransferPunch) {
  const Machine machine = Screwed();
  Shop shop = ShopWithOnly({{"transfer_punch", 0.12},
                            {"punch_mark_centring", 0.12},
                            {"adjust_by_eye", 0.1},
                            {"readout_position", 0.3}});
  shop.tools.push_back(MakeTool("punch", ToolKind::kTransferPunch, 3.2));
  PlanBuilder b;
  DrillPlate(b, machine);
  Hold(b, machine, "block");
  PutOn(b, "plate", {JointId("face"), JointId("holes")});
  b.Cut(Operation::kSpotThrough, "held", "punch").through = Ref("plate", "clear");
  TakeOff(b, "plate");
  b.Cut(Operation::kSpot, "held", "spot_drill").finishes = false;
  DrillAndTap(b);
  ExpectSameChance(machine, shop, b.plan, 3, [](SlowRandom& r) {
    const auto plate = Moved(r, Drawn(), 0.3);
    return TwoScrews(r, plate, Moved(r, Moved(r, Clamped(r, plate), 0.12), 0.12));
  });
}

// Points in the tapped holes mark the plate.
TEST(Techniques, TransferScrews) {
  const Machine machine = Screwed();
  Shop shop = ShopWithOnly({{"transfer_screw", 0.12},
                            {"punch_mark_centring", 0.12},
                            {"adjust_by_eye", 0.1},
                            {"readout_position", 0.3}});
  Tool points = MakeTool("points", ToolKind::kTransferPunch, 3);
  points.thread = "M3";
  shop.tools.push_back(points);
  PlanBuilder b;
  MakeBlockByCoordinates(b, machine);
  Hold(b, machine, "plate");
  PutOn(b, "block", {JointId("face")});
  b.Cut(Operation::kSpotThrough, "clear", "points").through = Ref("block", "held");
  TakeOff(b, "block");
  b.Cut(Operation::kSpot, "clear", "spot_drill").finishes = false;
  b.Cut(Operation::kDrill, "clear", "drill_32");
  ExpectSameChance(machine, shop, b.plan, 4, [](SlowRandom& r) {
    const auto block = Moved(r, Drawn(), 0.3);
    return TwoScrews(r, Moved(r, Moved(r, Clamped(r, block), 0.12), 0.12), block);
  });
}

// Pins that the holes hold tight go in where they are off by no more than a hundredth each.
SlowValue TwoPins(const std::array<Vec2, 2>& upper, const std::array<Vec2, 2>& lower) {
  constexpr double kPressedGives_mm = 0.01;  // the error model's own figure
  return {0, std::abs((upper[1] - upper[0]).norm() - (lower[1] - lower[0]).norm()) <=
                 2 * kPressedGives_mm};
}
Machine Pinned() {
  Machine machine = PlateOnBlock(MakeSize(4, 4.012), MakeSize(4, 4.012), false);
  machine.joints[1].pin = MakeSize(4.004, 4.012);
  return machine;
}
Plan ThroughBoth(const Machine& machine, bool ream) {
  PlanBuilder b;
  Hold(b, machine, "block");
  PutOn(b, "plate", {JointId("face")});
  b.Cut(Operation::kSpot, "").features = {Ref("plate", "clear")};
  b.Cut(Operation::kDrill, "", "drill_32").features = {Ref("plate", "clear"), Ref("block", "held")};
  if (ream)
    b.Cut(Operation::kReam, "", "reamer_8").features = {Ref("plate", "clear"),
                                                        Ref("block", "held")};
  TakeOff(b, "plate");
  return b.plan;
}

void ExpectOneLine(const char* spread, double sigma, bool ream) {
  const Machine machine = Pinned();
  const Shop shop =
      ShopWithOnly({{spread, sigma}, {"readout_position", 0.3}, {"adjust_by_eye", 0.1}});
  ExpectSameChance(machine, shop, ThroughBoth(machine, ream), 5, [&](SlowRandom& r) {
    const auto plate = Moved(r, Drawn(), 0.3);
    return TwoPins(plate, Moved(r, Clamped(r, plate), sigma));
  });
}
TEST(Techniques, DrillTogether) { ExpectOneLine("drilled_together", 0.012, false); }
TEST(Techniques, ReamDowels) { ExpectOneLine("reassembly_dowelled", 0.009, true); }

// Bored in one go through both: the lower bore is off the upper one's line by the technique's
// figure.
TEST(Techniques, BoreInLine) {
  Machine machine = Pinned();
  const double top[] = {20, 26};
  for (std::size_t i = 0; i < 2; ++i) {
    Feature bore = MakeHoles("bore", -Vec3::UnitZ(), {{5, 3, top[i]}}, MakeSize(16, 16.018),
                             i == 0 ? 20 : 6, true);
    std::get<Hole>(bore.shape).use = HoleUse::kBore;
    machine.parts[i].features.push_back(bore);
  }
  machine.requirements = {
      Required("line", RequirementKind::kInLine, "plate.bore", "block.bore", {}, 0.02)};
  PlanBuilder b;
  Hold(b, machine, "block");
  PutOn(b, "plate", {JointId("face")});
  b.Cut(Operation::kBore, "").features = {Ref("plate", "bore"), Ref("block", "bore")};
  const Shop shop =
      ShopWithOnly({{"drilled_together", 0.012}, {"readout_position", 0.3}, {"column_tram", 0.5}});
  const Odds odds = FastOdds(machine, shop, b.plan);
  ExpectSame(odds.requirements[0],
             Build(6, [](SlowRandom& r) { return Judged(Off(r, 0.012).norm(), 0, 0.02); }), 1e-6);
}

// Two faces cut in one go, taken apart and screwed up again on their marks: the step between them
// is the move back, turned about the pattern's middle.
TEST(Techniques, MachineTogether) {
  Machine machine = Screwed();
  machine.joints[1].float_kind = FloatKind::kAdjustedByIndicator;
  machine.joints[1].float_assumed = false;
  machine.requirements = {
      Required("step", RequirementKind::kDistance, "plate.left", "block.left", -0.03, 0.03)};
  machine.requirements[0].at_W_mm = Vec3(35, 20, 20);
  PlanBuilder b;
  DrillPlate(b, machine);
  MakeBlockByCoordinates(b, machine);
  const Pose left_up = SetupPose(Vec3::UnitX(), Vec3::UnitY(), {0, 20, 0});
  b.AddSetup("block", "mill", HoldingKind::kViseBedFirst, "vise", left_up);
  SeatBedFirst(b, machine.parts[0], left_up, "", "", "");
  PutOn(b, "plate", {JointId("face"), JointId("holes")});
  b.Cut(Operation::kFace, "left").features.push_back(Ref("plate", "left"));
  TakeOff(b, "plate");
  const Odds odds = FastOdds(
      machine,
      ShopWithOnly(
          {{"reassembly_screwed", 0.02}, {"readout_position", 0.02}, {"milled_thickness", 0.05}}),
      b.plan);
  ExpectSame(odds.requirements[0],
             Build(7,
                   [](SlowRandom& r) {
                     const Vec2 shift = Off(r, 0.02);
                     const Eigen::Rotation2Dd turn(r.Normal(0.02 / (kApart_mm / 2)));
                     const Vec2 back = turn * Vec2(35, 20) + shift;
                     return Judged(back.y() - 20, -0.03, 0.03);
                   }),
             1e-5);
}

// The cover's spigot turned in the lathe for the block's bore, which is as it came.
struct SpigotAndBore {
  Machine machine;
  Plan plan;
  Size bore = MakeSize(30.0, 30.06);
  Aim* aim = nullptr;
};
SpigotAndBore MakeSpigot(const Aim& aim) {
  SpigotAndBore made;
  made.machine = CoverMachine();
  Feature& bore = made.machine.parts[0].features[6];
  bore.finish = Finish::kAsSupplied;
  std::get<Hole>(bore.shape).diameter = made.bore;
  for (std::size_t i = 0; i < made.machine.parts[0].features.size(); ++i)
    made.machine.parts[0].features[i].finish = Finish::kAsSupplied;
  made.machine.requirements = {
      Required("fit", RequirementKind::kClearance, "cover.spigot", "block.bore", 0.01, 0.05)};
  made.machine.joints.resize(2);  // no screws
  PlanBuilder b;
  AddCoverSetups(b);
  for (Step& step : b.plan.setups.front().steps) {
    if (step.features.front() == Ref("cover", "spigot")) step.aim = aim;
  }
  made.plan = b.plan;
  return made;
}
const std::map<std::string, double> kTurning = {{"turned_diameter", 0.024},
                                                {"micrometer", 0.004},
                                                {"micrometer_setting", 0.003},
                                                {"bore_gauge", 0.006},
                                                {"warm_part", 4}};
// Warm by up to 4 K when it is measured.
double Shrunk(SlowRandom& r) {
  return r.Between(0, 4) * trade::FindMaterial("aluminium")->expansion_per_K * 29.9865;
}

TEST(Techniques, BringToSize) {
  Aim aim;
  aim.kind = AimKind::kBringToSize;
  aim.lower_mm = 29.980;
  aim.upper_mm = 29.993;
  aim.target_mm = 29.989;
  const SpigotAndBore made = MakeSpigot(aim);
  const Odds odds = FastOdds(made.machine, ShopWithOnly(kTurning), made.plan);
  ExpectSame(odds.requirements[0],
             Build(8,
                   [&](SlowRandom& r) {
                     const double spigot = aim.target_mm +
                                           Worked(r, 0.024, 0.004, aim.upper_mm - aim.target_mm) -
                                           r.Normal(0.003) - Shrunk(r);
                     return Judged(r.In(made.bore) - spigot, 0.01, 0.05);
                   }),
             kTechniquesSecondOrder_mm);
}

TEST(Techniques, FitToMeasured) {
  Aim aim;
  aim.kind = AimKind::kFitToMeasured;
  aim.mate = Ref("block", "bore");
  aim.clearance_mm = 0.025;
  aim.clearance_lower_mm = 0.015;
  aim.clearance_upper_mm = 0.045;
  const SpigotAndBore made = MakeSpigot(aim);
  const Odds odds = FastOdds(made.machine, ShopWithOnly(kTurning), made.plan);
  ExpectSame(odds.requirements[0],
             Build(9,
                   [&](SlowRandom& r) {
                     const double bore = r.In(made.bore);
                     const double read = bore + r.Normal(0.006) + r.Normal(0.003);
                     const double spigot =
                         read - aim.clearance_mm +
                         Worked(r, 0.024, 0.004, aim.clearance_mm - aim.clearance_lower_mm) -
                         r.Normal(0.003) - Shrunk(r);
                     return Judged(bore - spigot, 0.01, 0.05);
                   }),
             kTechniquesSecondOrder_mm);
}

}  // namespace
}  // namespace fitwright::variation
