// What runs true to what, by the way it was held: bores by the tailstock's drill, trued with a bar, outsides
// on a mandrel in the bore; slender bars on a centre. Odds against closed forms.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "fitwright/planner/holding_internal.h"
#include "fitwright/replay/rules.h"
#include "fitwright/variation/odds.h"
#include "tests/support/lathe_parts.h"

namespace fitwright {
namespace {

using namespace lathe_parts;  // NOLINT: test helpers

constexpr double kWithin_mm = 0.03;

// The pulley's groove is to run true to its bore.
Machine TruePulley() {
  Machine machine = MachineOf(DrivenPulley());
  Requirement runs_true;
  runs_true.name = RequirementId("groove_true");
  runs_true.kind = RequirementKind::kRunOut;
  runs_true.a = {machine.parts.front().name, FeatureId("belt_groove")};
  runs_true.b = {machine.parts.front().name, FeatureId("bore")};
  runs_true.upper = kWithin_mm;
  machine.requirements = {runs_true};
  return machine;
}

struct Weighed {
  Plan plan;
  double odds = 0;
  bool sound = false;
  std::string text;
};

Weighed Weigh(const Machine& machine, const planner::Route& route) {
  const Shop shop = files::DefaultShop();
  Weighed weighed;
  planner::Strategy strategy;
  strategy.routes[machine.parts.front().name] = route;
  const auto plan = planner::BuildPlan(machine, shop, planner::FindSubjects(machine), strategy, {});
  if (!plan) {
    weighed.text = plan.error().message;
    return weighed;
  }
  weighed.plan = *plan;
  weighed.text = TextOf(*plan);
  variation::QuickOptions options;
  options.builds = 4000;
  const auto odds = variation::CalcQuickOdds(machine, shop, *plan, options);
  if (odds) weighed.odds = odds->per_requirement.front();
  const auto report = replay::Replay(machine, shop, *plan);
  if (report) weighed.text += TextOf(*report);
  weighed.sound = report && report->ok;
  return weighed;
}

planner::Route RouteWith(const Part& part, HoldingKind kind, bool wanted) {
  for (const planner::Route& route : planner::FindRoutes(part, files::DefaultShop(), {}, nullptr)) {
    if (Holds(route, kind) == wanted) return route;
  }
  return {};
}

// Chance that a full reading of twice an offset with two normal parts of this sigma stays within.
double Within(double sigma_mm) { return 1 - std::exp(-0.125 * kWithin_mm * kWithin_mm / (sigma_mm * sigma_mm)); }

TEST(TrueRunning, ADrilledAndReamedBoreIsOffByTheTailstock) {
  const Machine machine = TruePulley();
  const Weighed w = Weigh(machine, RouteWith(machine.parts.front(), HoldingKind::kStubMandrel, false));
  ASSERT_TRUE(w.sound) << w.text;
  // 0.015 each way from the tailstock, and the drill's run-off of 0.003 a millimetre, 15 deep at the groove's far side;
  // its near side, 5 nearer, goes with it.
  EXPECT_NEAR(w.odds, Within(std::hypot(0.015, 0.003 * 15)), 0.015);
}

TEST(TrueRunning, TheOutsideTurnedOnAMandrelFollowsTheBore) {
  const Machine machine = TruePulley();
  const Weighed w = Weigh(machine, RouteWith(machine.parts.front(), HoldingKind::kStubMandrel, true));
  ASSERT_TRUE(w.sound) << w.text;
  const fitwright::Setup& last = w.plan.setups.back();
  EXPECT_EQ(last.holding, HoldingKind::kStubMandrel);
  EXPECT_TRUE(std::any_of(last.steps.begin(), last.steps.end(), [](const Step& s) { return s.operation == Operation::kGroove; })) << w.text;
  // The stub's 0.005 is the median of a vector: sigma = 0.005 / 1.1774 each way.
  EXPECT_NEAR(w.odds, Within(0.005 / 1.1774), 0.01);
}

TEST(TrueRunning, ABarBeforeTheReamerBringsTheBoreBackToTheSpindle) {
  const Machine machine = TruePulley();
  planner::Route route = RouteWith(machine.parts.front(), HoldingKind::kStubMandrel, false);
  for (planner::SetupSketch& setup : route.setups) {
    if (std::find(setup.cuts.begin(), setup.cuts.end(), FeatureId("bore")) != setup.cuts.end()) setup.bored_true = {FeatureId("bore")};
  }
  const Weighed w = Weigh(machine, route);
  ASSERT_TRUE(w.sound) << w.text;
  std::vector<Operation> on_bore;
  for (const fitwright::Setup& setup : w.plan.setups) {
    for (const Step& step : setup.steps) {
      const bool cuts = step.operation != Operation::kMeasure;
      if (cuts && !step.features.empty() && step.features.front().feature == FeatureId("bore")) on_bore.push_back(step.operation);
    }
  }
  EXPECT_THAT(on_bore, testing::ElementsAre(Operation::kSpot, Operation::kDrill, Operation::kBore, Operation::kReam)) << w.text;
  EXPECT_GT(w.odds, 0.999);  // bored and grooved in one chucking: nothing of the place is left
}

// Flats on a nose and holes beside it are cut into what stands when the nose is turned, by whichever way the part goes.
TEST(TrueRunning, WhatStandsOnOrBesideANoseWaitsUntilItIsTurned) {
  Part part = MakeTurned("housing", 60, -13, 54);
  Flats flats;
  flats.axis_P = part.turning_axis_P;
  flats.from_mm = 16;
  flats.to_mm = 24;
  flats.across = Plain(33);
  Hole holes;
  holes.into_P = -Vec3::UnitZ();
  holes.entries_P_mm = {Vec3(23.5, 0, 10), Vec3(-23.5, 0, 10)};
  holes.diameter = Plain(3.2);
  holes.depth_mm = 10;
  holes.through = true;
  part.features = {Outer("spigot", -10, 0, Fit(40, "g6", -0.025, -0.009)), Outer("flange", 0, 10, Plain(54)), Outer("nose", 10, 24, Plain(36)),
                   Ends("spigot_end", -10, false), Ends("nose_end", 24, true), Ends("flange_face", 0, false),
                   OnAxis("seat", HoleUse::kBore, 24, 34, Fit(22, "H7", 0, 0.021)),
                   {FeatureId("flats"), flats, Finish::kAsMachined, false, {}}, {FeatureId("holes"), holes, Finish::kAsMachined, false, {}}};
  const auto routes = planner::FindRoutes(part, files::DefaultShop(), {}, nullptr);
  ASSERT_FALSE(routes.empty());
  for (const planner::Route& route : routes) {
    const auto cut_in = [&](const char* name) {
      const auto cuts = [&](const planner::SetupSketch& s) { return std::find(s.cuts.begin(), s.cuts.end(), FeatureId(name)) != s.cuts.end(); };
      return std::find_if(route.setups.begin(), route.setups.end(), cuts) - route.setups.begin();
    };
    EXPECT_LT(cut_in("nose"), cut_in("flats"));
    EXPECT_LT(cut_in("nose"), cut_in("holes"));
  }
}

TEST(OnACentre, ASlenderBarIsCentredTurnedAndEnded) {
  const Made made = MakeAndReplay(Spindle(), files::DefaultShop());
  ASSERT_TRUE(made.ok) << made.text;
  ASSERT_EQ(made.plan.setups.size(), 4U) << made.text;
  // What stands far over the end is sawn off, then it is faced, then centred.
  const std::vector<Step>& steps = made.plan.setups[0].steps;
  ASSERT_GE(steps.size(), 3U);
  EXPECT_EQ(steps[0].operation, Operation::kSaw);
  EXPECT_EQ(steps[1].operation, Operation::kFace);
  EXPECT_EQ(steps[2].operation, Operation::kCentreDrill);
  EXPECT_THAT(steps[1].words, testing::HasSubstr("set z to 1.5."));  // of what the saw left, not of the bar
  const fitwright::Setup& turned = made.plan.setups[1];
  EXPECT_TRUE(std::any_of(turned.fixtures.begin(), turned.fixtures.end(), [](const FixtureSolid& f) { return f.role == FixtureRole::kTailstock; }));
  EXPECT_THAT(turned.hold_words, testing::HasSubstr("live centre"));
}

void ExpectRule(Plan plan, const Shop& shop, const std::string& rule) {
  const auto report = replay::Replay(MachineOf(Spindle()), shop, plan);
  ASSERT_TRUE(report) << Format(report.error());
  EXPECT_FALSE(report->ok);
  EXPECT_THAT(TextOf(*report), testing::HasSubstr(rule));
}

TEST(OnACentre, WithoutTheCentreOrWithItElsewhereTheReplayObjects) {
  const Shop shop = files::DefaultShop();
  const Made made = MakeAndReplay(Spindle(), shop);
  ASSERT_TRUE(made.ok) << made.text;
  Plan bare = made.plan;
  std::erase_if(bare.setups[1].fixtures, [](const FixtureSolid& f) { return f.role == FixtureRole::kTailstock; });
  ExpectRule(bare, shop, "work_too_slender");
  Plan away = made.plan;
  for (FixtureSolid& f : away.setups[1].fixtures) {
    if (f.role == FixtureRole::kTailstock) std::get<FixtureCylinder>(f.shape).axis_S.point_mm += Vec3(0, 0, 5);
  }
  ExpectRule(away, shop, "not_supported");
  Shop poor = shop;
  std::erase_if(poor.holding, [](const HoldingDevice& d) { return d.kind == HoldingDeviceKind::kTailstockCentre; });
  ExpectRule(made.plan, poor, "device_unknown");
}

TEST(OnACentre, ThereIsNoWayWithoutACentreOrWithoutSpareBar) {
  Shop poor = files::DefaultShop();
  std::erase_if(poor.holding, [](const HoldingDevice& d) { return d.kind == HoldingDeviceKind::kTailstockCentre; });
  EXPECT_THAT(MakeAndReplay(Spindle(), poor).text, testing::HasSubstr("without support"));
  Part longer = Spindle();
  std::get<OuterDiameter>(longer.features.front().shape).to_mm = 70;  // ten diameters
  std::get<PlanarFace>(longer.features[2].shape).at = Plain(70);
  longer.stock.to_mm = 80;
  EXPECT_THAT(MakeAndReplay(longer, files::DefaultShop()).text, testing::HasSubstr("on one centre"));
}

Machine TrueShaft() {
  Machine machine = MachineOf(StepShaft());
  Requirement runs_true;
  runs_true.name = RequirementId("journals_true");
  runs_true.kind = RequirementKind::kRunOut;
  runs_true.a = {machine.parts.front().name, FeatureId("right_journal")};
  runs_true.b = {machine.parts.front().name, FeatureId("left_journal")};
  runs_true.upper = kWithin_mm;
  machine.requirements = {runs_true};
  return machine;
}

TEST(BetweenCentres, JournalsTurnedFromBothEndsRunTrueToEachOther) {
  const Machine machine = TrueShaft();
  const Weighed between = Weigh(machine, RouteWith(machine.parts.front(), HoldingKind::kBetweenCentres, true));
  ASSERT_TRUE(between.sound) << between.text;
  EXPECT_NEAR(between.odds, Within(0.003 / 1.1774), 0.01);  // centre_eccentricity is the median of a vector
  const Weighed chucked = Weigh(machine, RouteWith(machine.parts.front(), HoldingKind::kBetweenCentres, false));
  ASSERT_TRUE(chucked.sound) << chucked.text;
  EXPECT_LT(chucked.odds, between.odds - 0.1);  // gripped once more, by a chuck's own eccentricity and wobble
}

TEST(BetweenCentres, TheReplayObjectsToACentreThatIsNotThere) {
  const Shop shop = files::DefaultShop();
  const Made made = MakeAndReplay(StepShaft(), shop, 1, HoldingKind::kBetweenCentres);
  ASSERT_TRUE(made.ok) << made.text;
  Plan bare = made.plan;
  for (fitwright::Setup& setup : bare.setups) {
    if (setup.holding != HoldingKind::kBetweenCentres) continue;
    std::erase_if(setup.fixtures, [](const FixtureSolid& f) { return f.role == FixtureRole::kSpindleNose; });
  }
  const auto report = replay::Replay(MachineOf(StepShaft()), shop, bare);
  ASSERT_TRUE(report) << Format(report.error());
  EXPECT_THAT(TextOf(*report), testing::HasSubstr("between centres with 1 of them"));
}

// Greatest deflection of a beam held fast at 0 and carried at 1, unit load at `a`, by integrating its
// bending twice; E I = 1.
double MostBent(double a) {
  constexpr int kSteps = 4000;
  const double carried = a * a * (3 - a) / 2;
  double slope = 0;
  double bent = 0;
  double most = 0;
  for (int i = 0; i < kSteps; ++i) {
    const double x = (i + 0.5) / kSteps;
    slope += (carried * (1 - x) - std::max(0.0, a - x)) / kSteps;
    bent += slope / kSteps;
    most = std::max(most, std::abs(bent));
  }
  return most;
}

TEST(OnACentre, HowMuchLongerFollowsFromTheBendingLine) {
  double most = 0;
  for (int i = 1; i < 100; ++i) most = std::max(most, MostBent(0.01 * i));
  const double longer = std::cbrt((1.0 / 3) / most);
  EXPECT_NEAR(longer, replay::kCentredLonger, 0.01);  // printed to three figures
  EXPECT_NEAR(longer * planner::kMostStickOut_diameters, planner::kMostCentred_diameters, 0.03);
  // Carried at both ends: 1/48 against 1/3, so the cube root of 16.
  EXPECT_NEAR(std::cbrt(16.0), replay::kBetweenCentresLonger, 0.01);
  EXPECT_NEAR(std::cbrt(16.0) * planner::kMostStickOut_diameters, planner::kMostBetweenCentres_diameters, 0.03);
}

}  // namespace
}  // namespace fitwright
