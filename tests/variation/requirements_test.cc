// Requirement kinds against the slow way, closed forms and brute force over surfaces.
#include <gtest/gtest.h>

#include <algorithm>

#include "fitwright/trade/fits.h"
#include "fitwright/variation/analysis.h"
#include "fitwright/variation/compiled_builds.h"
#include "fitwright/variation/draws.h"
#include "tests/support/slow_builds.h"

namespace fitwright::variation {
namespace {

using namespace fitwright::testing;

FormulaName Named(const std::string& name, const std::string& a, const std::string& b = "") {
  FormulaName one;
  one.name = name;
  one.a = RefTo(a);
  if (!b.empty()) one.b = RefTo(b);
  return one;
}

Requirement Reckoned(const std::string& name, const std::string& value,
                     std::vector<FormulaName> names, double lower, double upper) {
  Requirement r = Required(name, RequirementKind::kFormula, "", "", lower, upper);
  r.formula = Formula{value, std::move(names), "cm3"};
  return r;
}

// Two faces of a bar share its section's limits; a part's own limits hold elsewhere.
TEST(Supplied, BarsCarryTheLimitsOfTheirSection) {
  Machine machine;
  Part bar = SuppliedBlock("bar", {0, 0, 0}, {80, 20, 10});
  bar.stock.form = StockForm::kFlat;
  bar.stock.box_P = bar.block_P;
  bar.stock.under_mm = 0.09;
  bar.stock.over_mm = 0.01;
  std::get<PlanarFace>(bar.features[2].shape).at = MakeSize(79.7, 80.3);
  machine.parts = {bar};
  machine.uses = {StandsAt("bar", {0, 0, 0})};
  // The top beyond the bottom's outward side: minus the thickness.
  machine.requirements = {
      Required("thick", RequirementKind::kDistance, "bar.top", "bar.bottom", -9.98, -9.9),
      Required("long", RequirementKind::kDistance, "bar.front", "bar.rear", -80.1, -79.8)};
  const Odds odds = FastOdds(machine, ShopWithOnly({}));
  ExpectSame(
      odds.requirements[0],
      Build(1, [](SlowRandom& r) { return Judged(-(10 + r.Between(-0.09, 0.01)), -9.98, -9.9); }),
      1e-9);
  ExpectSame(odds.requirements[1],
             Build(2, [](SlowRandom& r) { return Judged(-r.Between(79.7, 80.3), -80.1, -79.8); }),
             1e-9);
}

TEST(Supplied, RoundBarIsAsLargeAsItCame) {
  Machine machine;
  Part bar = SuppliedRound("bar", MakeSize(9.9, 10.1), {}, 30);
  bar.stock.form = StockForm::kRound;
  bar.stock.diameter_mm = 9.98;
  bar.stock.under_mm = bar.stock.over_mm = 0.02;
  machine.parts = {bar, SuppliedRound("hub", MakeSize(20, 20), MakeSize(10.0, 10.03), 10)};
  machine.uses = {StandsAt("bar", {0, 0, 0}), StandsAt("hub", {0, 0, 10})};
  machine.requirements = {
      Required("clear", RequirementKind::kClearance, "bar.outside", "hub.bore", 0.02, 0.05)};
  const Odds odds = FastOdds(machine, ShopWithOnly({}));
  ExpectSame(odds.requirements[0],
             Build(3,
                   [](SlowRandom& r) {
                     return Judged(r.Between(10.0, 10.03) - r.Between(9.96, 10.0), 0.02, 0.05);
                   }),
             1e-9);
}

// Swept volume of a bore and a crank's throw: pi / 4 d^2 s.
TEST(Formula, SweptVolumeOfBoreAndStroke) {
  Machine machine;
  const Size bore = MakeSize(23.9, 24.1);
  Part liner = SuppliedRound("liner", MakeSize(30, 30), bore, 40);
  Part disc = SuppliedRound("disc", MakeSize(34, 34), MakeSize(10, 10), 8);
  disc.features.push_back(
      AsSupplied(MakeHoles("pin", -Vec3::UnitZ(), {{10, 0, 8}}, MakeSize(6, 6), 8, true)));
  machine.parts = {liner, disc};
  machine.uses = {StandsAt("liner", {0, 0, 0}), StandsAt("disc", {0, 0, -50})};
  machine.requirements = {
      Reckoned("swept", "pi / 4 * bore ^ 2 * 2 * throw / 1000",
               {Named("bore", "liner.bore"), Named("throw", "disc.pin", "disc.bore")}, 9.0, 9.1)};
  const Odds odds = FastOdds(machine, ShopWithOnly({}));
  ExpectSame(odds.requirements[0],
             Build(1,
                   [&](SlowRandom& r) {
                     const double d = r.In(bore);
                     return Judged(kPi / 4 * d * d * 20 / 1000, 9.0, 9.1);
                   }),
             1e-9);
  EXPECT_EQ(odds.requirements[0].limits, "9 to 9.1 cm3");
}

// Whichever of two features is named first, a distance is above zero as drawn.
TEST(Formula, DistancesAreAboveZeroAsDrawn) {
  Machine machine;
  Part bar = SuppliedBlock("bar", {0, 0, 0}, {80, 20, 10});
  std::get<PlanarFace>(bar.features[0].shape).at = MakeSize(9.8, 10.2);
  machine.parts = {bar};
  machine.uses = {StandsAt("bar", {0, 0, 0})};
  machine.requirements = {Reckoned("one", "t", {Named("t", "bar.top", "bar.bottom")}, 9.9, 10.2),
                          Reckoned("other", "t", {Named("t", "bar.bottom", "bar.top")}, 9.9, 10.2)};
  const Odds odds = FastOdds(machine, ShopWithOnly({}));
  for (const RequirementOdds& one : odds.requirements) {
    ExpectSame(one, Build(1, [](SlowRandom& r) { return Judged(r.Between(9.8, 10.2), 9.9, 10.2); }),
               1e-9);
  }
}

// Open round belt over two pulleys, exact: 2 c cos(b) + (pi / 2) (D + d) + b (D - d), sin b = (D -
// d) / 2c.
TEST(Formula, BeltLengthOfCentresAndPulleys) {
  Machine machine;
  const Size big = MakeSize(44.8, 45.2);
  const Size small = MakeSize(24.9, 25.1);
  machine.parts = {SuppliedRound("driven", big, MakeSize(10, 10), 12),
                   SuppliedRound("motor", small, MakeSize(5, 5), 12)};
  machine.uses = {StandsAt("driven", {0, 0, 0}), StandsAt("motor", {140, 0, 0})};
  machine.requirements = {Reckoned(
      "belt",
      "2 * sqrt(c ^ 2 - ((big - small) / 2) ^ 2) + pi / 2 * (big + small) + (big - small) * "
      "atan((big - small) / 2 / sqrt(c ^ 2 - ((big - small) / 2) ^ 2)) * pi / 180",
      {Named("big", "driven.outside"), Named("small", "motor.outside"),
       Named("c", "driven.outside", "motor.outside")},
      390.6, 390.9)};
  const Odds odds = FastOdds(machine, ShopWithOnly({}));
  const auto length = [](double D, double d, double c) {
    const double b = std::asin((D - d) / (2 * c));
    return 2 * c * std::cos(b) + kPi / 2 * (D + d) + b * (D - d);
  };
  // Drive of 45 and 25 at 140: 390.7 (checked by hand beside the demo machine's own figure).
  EXPECT_NEAR(length(45, 25, 140), 390.67, 0.01);
  ExpectSame(odds.requirements[0],
             Build(2,
                   [&](SlowRandom& r) {
                     return Judged(length(r.In(big), r.In(small), 140), 390.6, 390.9);
                   }),
             1e-9);
}

// A belt moves neither pulley: its length is what the requirement reckons, with the joint as
// without.
TEST(Joints, BeltLeavesThePulleysWhereTheyStand) {
  Machine machine;
  const Size big = MakeSize(44.8, 45.2);
  const Size shaft = MakeSize(9.98, 10);
  const Size bore = MakeSize(10.01, 10.05);
  machine.parts = {SuppliedRound("shaft", shaft, {}, 40), SuppliedRound("driven", big, bore, 12),
                   SuppliedRound("motor", MakeSize(25, 25), MakeSize(5, 5), 12)};
  for (const std::size_t i : {1, 2}) {
    Groove groove;
    groove.from_mm = 4;
    groove.to_mm = 8;
    groove.diameter = MakeSize(20, 20);
    machine.parts[i].features.push_back(
        {FeatureId("belt"), groove, Finish::kAsSupplied, false, {}});
  }
  machine.uses = {StandsAt("shaft", {0, 0, 0}), StandsAt("driven", {0, 0, 10}),
                  StandsAt("motor", {140, 0, 10})};
  machine.joints = {JoinedBy("hub", JointKind::kRunningFit, "shaft.outside", "driven.bore"),
                    JoinedBy("drive", JointKind::kBelt, "driven.belt", "motor.belt")};
  machine.requirements = {
      Reckoned("reach", "c + big / 2",
               {Named("big", "driven.outside"), Named("c", "driven.outside", "motor.outside")},
               162.44, 162.56)};
  const Odds odds = FastOdds(machine, ShopWithOnly({}));
  ExpectSame(odds.requirements[0],
             Build(2,
                   [&](SlowRandom& r) {
                     const double room = 0.5 * (r.In(bore) - r.In(shaft));
                     // Half way up its length the hub stands half way between its two ends.
                     const Vec2 at = 0.5 * (r.Disc(room) + r.Disc(room));
                     return Judged((Vec2(140, 0) - at).norm() + 0.5 * r.In(big), 162.44, 162.56);
                   }),
             1e-4);
}

// Height of a slider over its crank at 30 degrees: r cos + sqrt(l^2 - r^2 sin^2).
TEST(Formula, SliderCrank) {
  Machine machine;
  const Size rod = MakeSize(39.8, 40.2);
  const Size crank = MakeSize(9.9, 10.1);
  machine.parts = {SuppliedRound("rod", rod, {}, 8), SuppliedRound("crank", crank, {}, 8)};
  machine.uses = {StandsAt("rod", {0, 0, 0}), StandsAt("crank", {0, 90, 0})};
  machine.requirements = {Reckoned("height", "r * cos(30) + sqrt(l ^ 2 - (r * sin(30)) ^ 2)",
                                   {Named("l", "rod.outside"), Named("r", "crank.outside")}, 48.2,
                                   48.5)};
  const Odds odds = FastOdds(machine, ShopWithOnly({}));
  ExpectSame(odds.requirements[0],
             Build(3,
                   [&](SlowRandom& r) {
                     const double l = r.In(rod);
                     const double c = r.In(crank);
                     const double angle = kPi / 6;
                     return Judged(
                         c * std::cos(angle) + std::sqrt(l * l - std::pow(c * std::sin(angle), 2)),
                         48.2, 48.5);
                   }),
             1e-9);
}

// A root of a number below zero is no value: never met, and no crash.
TEST(Formula, WithoutAValueIsNotMet) {
  Machine machine;
  machine.parts = {SuppliedRound("rod", MakeSize(9, 11), {}, 8)};
  machine.uses = {StandsAt("rod", {0, 0, 0})};
  machine.requirements = {Reckoned("root", "sqrt(l - 10)", {Named("l", "rod.outside")}, 0, 5)};
  const Odds odds = FastOdds(machine, ShopWithOnly({}));
  EXPECT_NEAR(odds.requirements[0].chance.odds, 0.5, 4.5 * std::sqrt(0.25 / SlowBuilds()));
}

// The law of propagation: shares of variance as the squared gradients say.
TEST(Formula, CausesFollowTheGradient) {
  Machine machine;
  BoughtPart ready;
  ready.part = SuppliedRound("ready", MakeSize(19.9, 20.1), {}, 8);
  ready.kind = BoughtKind::kPin;
  ready.placed = true;
  machine.bought = {ready};
  machine.bought_uses = {StandsAt("ready", {0, 0, 0})};
  machine.parts = {SuppliedRound("made", MakeSize(9.9, 10.1), {}, 8)};
  machine.uses = {StandsAt("made", {0, 90, 0})};
  machine.requirements = {Reckoned("area", "a ^ 2 + b ^ 2",
                                   {Named("a", "ready.outside"), Named("b", "made.outside")}, 499,
                                   501)};
  OddsOptions options;
  options.builds = 1024;
  options.causes = true;
  options.shop_band = false;
  const auto odds = CalcOdds(machine, ShopWithOnly({}), Plan{}, options);
  ASSERT_TRUE(odds);
  const auto& causes = odds->requirements[0].causes;
  ASSERT_GE(causes.size(), 2u);
  EXPECT_EQ(causes[0].group, "bought_limits");
  EXPECT_NEAR(causes[0].share, 0.8, 1e-6);  // (2 * 20)^2 against (2 * 10)^2
  EXPECT_NEAR(causes[1].share, 0.2, 1e-6);
}

// Shaft between two bearings: two gaps, half of each bearing's axial play, and the shaft's own
// place drops out.
TEST(EndFloat, SumsGapsAndHalfOfEachBearing) {
  Machine machine;
  const Size spacer = MakeSize(39.9, 40.0);
  machine.parts = {SuppliedRound("shaft", MakeSize(14, 14), {}, 40)};
  std::get<PlanarFace>(machine.parts[0].features.back().shape).at = spacer;
  machine.uses = {StandsAt("shaft", {0, 0, 8})};
  const Size wide = MakeSize(7.88, 8.0);
  for (const char* name : {"low", "high"}) {
    BoughtPart bearing;
    bearing.part = SuppliedRound(name, MakeSize(26, 26), MakeSize(10, 10), 8);
    std::get<PlanarFace>(bearing.part.features.back().shape).at = wide;
    bearing.kind = BoughtKind::kBearing;
    bearing.axial_play_mm = 0.1;
    bearing.placed = true;
    machine.bought.push_back(bearing);
  }
  machine.bought_uses = {StandsAt("low", {0, 0, 0}), StandsAt("high", {0, 0, 48.05})};
  Requirement r = Required("float", RequirementKind::kEndFloat, "", "", 0.1, 0.25);
  r.gaps = {{RefTo("low.high_end"), RefTo("shaft.low_end")},
            {RefTo("shaft.high_end"), RefTo("high.low_end")}};
  machine.requirements = {r};
  const Odds odds = FastOdds(machine, ShopWithOnly({}));
  ExpectSame(odds.requirements[0],
             Build(4,
                   [&](SlowRandom& random) {
                     // Drawn at 40 -/+: the middles stand at 8 and 48.05 as the sheets say.
                     const double low_gap = 8 - random.In(wide);
                     const double high_gap = 48.05 - (8 + random.In(spacer));
                     const double plays =
                         0.5 * random.Between(0, 0.1) + 0.5 * random.Between(0, 0.1);
                     return Judged(low_gap + high_gap + plays, 0.1, 0.25);
                   }),
             1e-9);
}

// A free part between two stops: however it lies, the sum of the two gaps is the same.
TEST(EndFloat, WhereThePartStandsDropsOut) {
  Machine machine;
  Part piston = SuppliedRound("piston", MakeSize(24, 24), {}, 20);
  Groove groove;
  groove.from_mm = 10;
  groove.to_mm = 11.2;
  groove.diameter = MakeSize(21.8, 21.8);
  piston.features.push_back({FeatureId("groove"), groove, Finish::kAsSupplied, false, {}});
  Part ring = SuppliedRound("ring", MakeSize(24, 24), MakeSize(22, 22), 1);
  std::get<PlanarFace>(ring.features.back().shape).at = MakeSize(0.96, 1.04);
  machine.parts = {piston, ring, SuppliedBlock("floor", {-20, -20, -10}, {20, 20, 0}),
                   SuppliedBlock("roof", {-20, -20, 30}, {20, 20, 40})};
  machine.uses = {StandsAt("piston", {0, 0, 0}), StandsAt("ring", {0, 0, 10.1}),
                  StandsAt("floor", {0, 0, 0}), StandsAt("roof", {0, 0, 0})};
  machine.joints = {JoinedBy("ring", JointKind::kRingInGroove, "piston.groove", "ring.outside")};
  Requirement r = Required("float", RequirementKind::kEndFloat, "", "", 28.97, 29.03);
  r.gaps = {{RefTo("floor.top"), RefTo("ring.low_end")},
            {RefTo("ring.high_end"), RefTo("roof.bottom")}};
  machine.requirements = {r};
  const Odds odds = FastOdds(machine, ShopWithOnly({}));
  ExpectSame(odds.requirements[0],
             Build(4,
                   [](SlowRandom& random) {
                     return Judged(30 - random.Between(0.96, 1.04), 28.97, 29.03);
                   }),
             1e-9);
}

// A distance piece between a stop that came as thick as it came and one that stands still, with one
// spacer made to the float that a trial without it showed.
struct SpacerToSuit {
  Machine machine;
  Plan plan;
  Size stop = MakeSize(7.7, 8.3);
};

SpacerToSuit MakeSpacerToSuit() {
  SpacerToSuit made;
  Part stop = SuppliedRound("stop", MakeSize(40, 40), {}, 8);
  std::get<PlanarFace>(stop.features.back().shape).at = made.stop;
  Part spacer = MakeBlock("spacer", {-20, -20, 0}, {20, 20, 20});
  for (Feature& feature : spacer.features) {
    if (feature.name == FeatureId("top")) continue;
    feature.finish = Finish::kAsSupplied;
    Size& at = std::get<PlanarFace>(feature.shape).at;
    at.lower_mm = at.upper_mm = at.nominal_mm;
  }
  made.machine.parts = {stop, spacer, SuppliedBlock("roof", {-20, -20, 30}, {20, 20, 40})};
  made.machine.uses = {StandsAt("stop", {0, 0, 0}), StandsAt("spacer", {0, 0, 9}),
                       StandsAt("roof", {0, 0, 0})};
  Requirement r = Required("float", RequirementKind::kEndFloat, "", "", 1.8, 2.2);
  r.gaps = {{RefTo("stop.high_end"), RefTo("spacer.bottom")},
            {RefTo("spacer.top"), RefTo("roof.bottom")}};
  made.machine.requirements = {r};
  PlanBuilder b;
  b.AddSetup("spacer", "bench", HoldingKind::kBench, "", Pose::Identity());
  Step& trial = b.Cut(Operation::kTrial, "");
  trial.parts = {PartId("stop"), PartId("roof")};
  Aim aim;
  aim.kind = AimKind::kFitToMeasured;
  aim.closes = r.name;
  aim.clearance_mm = 2;
  aim.clearance_lower_mm = 1.8;
  aim.clearance_upper_mm = 2.2;
  trial.aim = aim;
  trial.measure = MeasureLine{RefTo("spacer.top"), InstrumentId("mike_25_50"), "", 0, 0};
  const Pose X_PS = SetupPose(Vec3::UnitX(), Vec3::UnitZ(), {-20, 20, 20});
  b.AddSetup("spacer", "mill", HoldingKind::kViseBedFirst, "vise", X_PS);
  SeatBedFirst(b, spacer, X_PS, "bottom", "left", "rear");
  Step& face = b.Cut(Operation::kFace, "top");
  face.aim = aim;
  face.measure = MeasureLine{RefTo("spacer.top"), InstrumentId("mike_0_25"), "", 0, 0};
  made.plan = b.plan;
  return made;
}

// What the stop came out at drops out; what stays is the last cut (half of its one-shot spread) and
// what the instruments say wrong: the trial twice, the length once, its setting.
TEST(EndFloat, ALengthMadeToATrialLeavesOnlyTheReadings) {
  const SpacerToSuit made = MakeSpacerToSuit();
  const Shop shop = ShopWithOnly({{"milled_thickness", 0.04},
                                  {"micrometer", 0.01},
                                  {"micrometer_setting", 0.015},
                                  {"burr_at_joint", 0.03}});
  const Odds odds = FastOdds(made.machine, shop, made.plan);
  ExpectSame(odds.requirements[0],
             Build(5,
                   [&](SlowRandom& random) {
                     const double free = 30 - random.In(made.stop);
                     const double burrs = random.HalfNormal(0.03) + random.HalfNormal(0.03);
                     const double shown = free - burrs + random.Normal(0.01) - random.Normal(0.01);
                     // The last cut ends where the instrument, set wrong, shows the length.
                     const double seen = shown - 2 + random.Normal(0.02);
                     const double length = seen - random.Normal(0.015);
                     return Judged(free - length, 1.8, 2.2);
                   }),
             1e-9);
}

TEST(EndFloat, ByItsOwnLimitsTheSpacerKeepsTheStopsWidth) {
  SpacerToSuit made = MakeSpacerToSuit();
  made.plan.setups[1].steps[0].aim.reset();
  const Odds odds = FastOdds(made.machine, ShopWithOnly({}), made.plan);
  ExpectSame(
      odds.requirements[0],
      Build(6,
            [&](SlowRandom& random) { return Judged(30 - random.In(made.stop) - 20, 1.8, 2.2); }),
      1e-9);
}

TEST(EndFloat, ALengthIsNotMadeToATrialThatNobodyMade) {
  SpacerToSuit made = MakeSpacerToSuit();
  made.plan.setups.erase(made.plan.setups.begin());
  const auto analysis = Analyse(made.machine, ShopWithOnly({}), made.plan);
  ASSERT_FALSE(analysis);
  EXPECT_EQ(analysis.error().code, ErrorCode::kNoPlan);
}

// Screw of 14 under a washer of 0.8 through a gasket and a cover: what is left reaches the thread,
// at most as deep as it is tapped. Length of the screw: ISO 4759-1, js15 (over 10 to 18: 0.70 wide,
// ISO 286-1).
TEST(Engagement, IsTheScrewLessWhatItPasses) {
  Machine machine;
  machine.parts = {SuppliedBlock("body", {-30, -30, -30}, {30, 30, 0}),
                   SuppliedBlock("gasket", {-30, -30, 0}, {30, 30, 0.5}),
                   SuppliedBlock("cover", {-30, -30, 0}, {30, 30, 6})};
  std::get<PlanarFace>(machine.parts[1].features[0].shape).at = MakeSize(0.4, 0.6);
  std::get<PlanarFace>(machine.parts[2].features[0].shape).at = MakeSize(5.8, 6.2);
  Feature tapped = AsSupplied(
      MakeHoles("tapped", -Vec3::UnitZ(), {{20, 0, 0}, {-20, 0, 0}}, MakeSize(2.5, 2.5), 9, false));
  std::get<Hole>(tapped.shape).thread = InternalThread{"M3", 3, 0.5, 6.8};
  machine.parts[0].features.push_back(tapped);
  machine.parts[1].features.push_back(AsSupplied(MakeHoles(
      "holes", -Vec3::UnitZ(), {{20, 0, 0.5}, {-20, 0, 0.5}}, MakeSize(3.4, 3.4), 0.5, true)));
  machine.parts[2].features.push_back(AsSupplied(
      MakeHoles("holes", -Vec3::UnitZ(), {{20, 0, 6}, {-20, 0, 6}}, MakeSize(3.4, 3.4), 6, true)));
  machine.uses = {StandsAt("body", {0, 0, 0}), StandsAt("gasket", {0, 0, 0}),
                  StandsAt("cover", {0, 0, 0.5})};
  machine.joints = {JoinedBy("below", JointKind::kGasketedFace, "body.top", "gasket.bottom"),
                    JoinedBy("above", JointKind::kGasketedFace, "gasket.top", "cover.bottom"),
                    JoinedBy("screws", JointKind::kScrewedPattern, "body.tapped", "cover.holes")};
  machine.joints[2].screw = Screw{"M3", 14, 3, 0.5};
  machine.joints[2].between = {RefTo("gasket.holes")};
  machine.joints[2].washer_mm = 0.8;
  Requirement r = Required("mesh", RequirementKind::kEngagement, "", "", 6.6, {});
  r.joint = JointId("screws");
  machine.requirements = {r};
  const Odds odds = FastOdds(machine, ShopWithOnly({}));
  ExpectSame(odds.requirements[0],
             Build(8,
                   [](SlowRandom& random) {
                     const double in = 14 + random.Between(-0.35, 0.35) - 0.8 -
                                       random.Between(0.4, 0.6) - random.Between(5.8, 6.2);
                     return Judged(std::min(in, 6.8), 6.6, 1e9);
                   }),
             1e-9);
}

// Walls: brute force over both surfaces, build by build, sizes as drawn for that build.
struct WallCase {
  const char* name;
  Feature a;
  Feature b;
  // Material left when the two features have these sizes, found by trying points of both surfaces.
  std::function<double(double, double)> left;
};

Feature PlainHole(const char* name, const Vec3& into, const Vec3& entry, double diameter,
                  double depth, bool through, HoleBottom bottom = HoleBottom::kFlat) {
  Feature f = AsSupplied(
      MakeHoles(name, into, {entry}, MakeSize(diameter - 0.2, diameter + 0.2), depth, through));
  std::get<Hole>(f.shape).bottom = bottom;
  return f;
}

// Least distance from points of a drilled hole's surface (side, point) to a through hole's.
double HoleToThroughHole(const Hole& hole, double d, const Vec3& p, const Vec3& z, double other_d) {
  constexpr int kRound = 720;
  double least = 1e300;
  const auto [u, v] = SquareTo(hole.into_P);
  const auto look = [&](const Vec3& q) {
    least = std::min(least, (q - p).cross(z).norm() - 0.5 * other_d);
  };
  for (int i = 0; i < kRound; ++i) {
    const double angle = 2 * kPi * i / kRound;
    for (int k = 0; k <= 20; ++k) {
      look(hole.entries_P_mm[0] + hole.depth_mm * k / 20 * hole.into_P +
           0.5 * d * (std::cos(angle) * u + std::sin(angle) * v));
    }
  }
  if (hole.bottom == HoleBottom::kPoint118) {
    look(hole.entries_P_mm[0] +
         (hole.depth_mm + 0.5 * hole.diameter.middle_mm() / std::tan(59 * kRadPerDeg)) *
             hole.into_P);
  }
  return least;
}

std::vector<WallCase> WallCases() {
  std::vector<WallCase> cases;
  const Feature bore = PlainHole("b", -Vec3::UnitZ(), {0, 0, 40}, 24, 40, true);
  const Feature beside = PlainHole("a", -Vec3::UnitZ(), {17, 3, 40}, 5, 12, false);
  const auto to_bore = [](const Feature& own) {
    const Hole hole = std::get<Hole>(own.shape);
    return [hole](double d, double other) {
      return HoleToThroughHole(hole, d, Vec3::Zero(), Vec3::UnitZ(), other);
    };
  };
  cases.push_back({"beside", beside, bore, to_bore(beside)});
  const Feature towards =
      PlainHole("a", -Vec3::UnitX(), {30, 0, 20}, 2.5, 9, false, HoleBottom::kPoint118);
  cases.push_back({"towards", towards, bore, to_bore(towards)});
  const Feature across = PlainHole("a", Vec3::UnitY(), {18, -30, 20}, 6, 60, true);
  cases.push_back({"across", across, bore, to_bore(across)});
  const Feature face = SuppliedFace("b", Vec3::UnitX(), MakeSize(29.9, 30.1));
  cases.push_back({"to_a_face", PlainHole("a", -Vec3::UnitZ(), {24, 5, 40}, 6, 20, false), face,
                   [](double d, double at) { return at - 24 - 0.5 * d; }});
  cases.push_back({"floor_to_a_face", PlainHole("a", Vec3::UnitX(), {5, 5, 20}, 6, 22, false), face,
                   [](double, double at) { return at - 27; }});
  Feature outside = AsSupplied(MakeOutside("b", {}, 0, 40, MakeSize(49.8, 50.2)));
  cases.push_back({"in_a_shaft", PlainHole("a", -Vec3::UnitZ(), {15, 0, 40}, 10, 10, false),
                   outside, [](double d, double other) { return 0.5 * other - 15 - 0.5 * d; }});
  cases.push_back({"in_the_middle", PlainHole("a", -Vec3::UnitZ(), {0, 0, 40}, 40, 40, true),
                   outside, [](double d, double other) { return 0.5 * (other - d); }});
  return cases;
}

TEST(WallLeft, AgreesWithPointsOfBothSurfaces) {
  for (const WallCase& c : WallCases()) {
    SCOPED_TRACE(c.name);
    Machine machine;
    Part part = SuppliedBlock("part", {-30, -30, 0}, {30, 30, 40});
    part.features.push_back(c.a);
    part.features.push_back(c.b);
    machine.parts = {part};
    machine.uses = {StandsAt("part", {0, 0, 0})};
    machine.requirements = {
        Required("wall", RequirementKind::kWallLeft, "part.a", "part.b", 1, {})};
    auto analysis = Analyse(machine, ShopWithOnly({}), Plan{});
    ASSERT_TRUE(analysis) << Format(analysis.error());
    // Both sizes, or where the face stands, as requirements of their own.
    for (const char* name : {"a", "b"}) {
      const FeatureForms& forms = analysis->features.at(RefTo(std::string("part.") + name));
      const bool plane = std::string(c.name).find("face") != std::string::npos && name[0] == 'b';
      FormSum move;
      AddFeatureMove(move, forms, {30, 0, 0}, Vec3::UnitX());
      RequirementForms size;
      size.name = RequirementId(name);
      size.linear = {plane ? move.Take() : forms.size};
      if (plane) size.linear.front().constant += 30;
      analysis->requirements.push_back(std::move(size));
    }
    stats::TrialRun run;
    run.trials = kLanes;
    const std::vector<double> values = MeasuredValues(
        *analysis, CompileBuilds(*analysis, analysis->figures), analysis->figures, run);
    for (std::size_t i = 0; i < 16; ++i) {
      // 720 points round the largest, 24 across: within 12 * (2 pi / 720)^2 / 8 = 0.1 um; the row
      // of heights meets the thinnest place, or the curve there moves it by less than a micrometre.
      EXPECT_NEAR(values[i], c.left(values[kLanes + i], values[2 * kLanes + i]), 1e-3)
          << "build " << i;
    }
  }
}

// The same as odds: a hole beside a face, both anywhere in their limits.
TEST(WallLeft, OddsOfTwoSizes) {
  Machine machine;
  Part part = SuppliedBlock("part", {-30, -30, 0}, {30, 30, 40});
  part.features.push_back(PlainHole("a", -Vec3::UnitZ(), {24, 5, 40}, 6, 20, false));
  part.features.push_back(SuppliedFace("b", Vec3::UnitX(), MakeSize(29.9, 30.1)));
  machine.parts = {part};
  machine.uses = {StandsAt("part", {0, 0, 0})};
  machine.requirements = {
      Required("wall", RequirementKind::kWallLeft, "part.a", "part.b", 2.95, {})};
  const Odds odds = FastOdds(machine, ShopWithOnly({}));
  ExpectSame(odds.requirements[0],
             Build(1,
                   [](SlowRandom& r) {
                     return Judged(r.Between(29.9, 30.1) - 24 - 0.5 * r.Between(5.8, 6.2), 2.95,
                                   1e9);
                   }),
             1e-9);
}

// Two places where one part stands: what is drawn afresh for each visit is each copy's own, what
// belongs to a tool or a machine is shared.
TEST(Copies, HaveTheirOwnVisitsAndShareTools) {
  Machine machine;
  Part ring = SuppliedRound("ring", MakeSize(29.9, 30.1), MakeSize(8, 8.015), 10);
  for (Feature& f : ring.features) f.finish = Finish::kAsMachined;
  machine.parts = {ring};
  PartUse use = StandsAt("ring", {0, 0, 0});
  use.quantity = 2;
  Pose second = Pose::Identity();
  second.translation() = Vec3(0, 0, 40);
  use.copies_X_WP = {second};
  machine.uses = {use};
  machine.requirements = {Required("turned", RequirementKind::kFormula, "", "", -1, 1),
                          Required("reamed", RequirementKind::kFormula, "", "", -1, 1)};
  machine.requirements[0].formula =
      Formula{"a - b", {Named("a", "ring.outside"), Named("b", "ring#2.outside")}, "mm"};
  machine.requirements[1].formula =
      Formula{"a - b", {Named("a", "ring.bore"), Named("b", "ring#2.bore")}, "mm"};
  PlanBuilder b;
  b.AddSetup("ring", "lathe", HoldingKind::kThreeJaw, "chuck",
             SetupPose(Vec3::UnitX(), Vec3::UnitZ(), {0, 0, 10}));
  b.Touch(ContactKind::kRough, "", {0, 0, 0}, Vec3::UnitZ());
  b.Cut(Operation::kTurn, "outside");
  b.Cut(Operation::kDrill, "bore", "drill_80").finishes = false;
  b.Cut(Operation::kReam, "bore", "reamer_8");
  const Odds odds = FastOdds(
      machine, ShopWithOnly({{"turned_diameter", 0.02}, {"reamed_over_nominal", 0.2}}), b.plan);
  EXPECT_NEAR(odds.requirements[0].sigma, 0.02 * std::sqrt(2),
              4.5 * 0.03 / std::sqrt(std::min(SlowBuilds(), 16384)));
  EXPECT_NEAR(odds.requirements[1].sigma, 0, 1e-12);
}

// A cone's angle is its slide's, both sides counting; its size at the large end is turned.
TEST(Shapes, TaperHasItsSlidesAngle) {
  Machine machine;
  Part arbor = SuppliedRound("arbor", MakeSize(20, 20), {}, 60);
  Taper cone;
  cone.from_mm = 30;
  cone.to_mm = 60;
  cone.start_diameter = MakeSize(19.9, 20.1);
  cone.end_diameter = MakeSize(16.9, 17.1);
  arbor.features.push_back({FeatureId("cone"), cone, Finish::kAsMachined, false, {}});
  machine.parts = {arbor};
  machine.uses = {StandsAt("arbor", {0, 0, 0})};
  PlanBuilder b;
  b.AddSetup("arbor", "lathe", HoldingKind::kThreeJaw, "chuck",
             SetupPose(Vec3::UnitX(), Vec3::UnitZ(), {0, 0, 60}));
  b.Touch(ContactKind::kRough, "", {0, 0, 0}, Vec3::UnitZ());
  b.Cut(Operation::kTurn, "cone");
  const auto analysis =
      Analyse(machine, ShopWithOnly({{"angle_protractor", 5}, {"turned_diameter", 0.01}}), b.plan);
  ASSERT_TRUE(analysis) << Format(analysis.error());
  const FeatureForms& forms = analysis->features.at(RefTo("arbor.cone"));
  const auto sigma = [&](const Form& form) {
    double variance = 0;
    for (const Term& t : form.terms)
      variance +=
          t.factor * t.factor * MomentsOf(analysis->sources, t.source, analysis->figures).variance;
    return std::sqrt(variance);
  };
  // 5 minutes of arc on the half angle: over the cone's 30 its diameter runs off by 2 * 30 * that.
  EXPECT_NEAR(sigma(forms.taper) * 30, 60 * 5 / 60.0 * kRadPerDeg, 1e-9);
  EXPECT_NEAR(sigma(forms.size), 0.01, 1e-9);
  EXPECT_NEAR(forms.size.constant, 20, 1e-9);
}

// An angle is read against what the requirement says, not what is drawn, and from either side.
TEST(Angle, CountsFromTheStatedAngle) {
  Machine machine;
  machine.parts = {SuppliedBlock("block", {0, 0, 0}, {40, 40, 40})};
  Part& block = machine.parts[0];
  const double slope = std::atan2(2, 1);
  block.features.push_back(
      SuppliedFace("slope", {std::cos(slope), 0, std::sin(slope)}, MakeSize(30, 30)));
  machine.uses = {StandsAt("block", {0, 0, 0})};
  Requirement r =
      Required("slope", RequirementKind::kAngle, "block.slope", "block.front", {}, 2e-4);
  r.nominal_rad = 63.43 * kRadPerDeg;
  Requirement other = r;
  other.name = RequirementId("from_behind");
  other.b = RefTo("block.rear");
  machine.requirements = {r, other};
  const Odds odds = FastOdds(machine, ShopWithOnly({}));
  const double off = slope - 63.43 * kRadPerDeg;
  EXPECT_NEAR(odds.requirements[0].mean, off, 1e-12);
  EXPECT_NEAR(odds.requirements[1].mean, off, 1e-12);
  EXPECT_EQ(odds.requirements[0].limits, "within 0.2 mrad");
}

}  // namespace
}  // namespace fitwright::variation
