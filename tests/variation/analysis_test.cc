// Plans read as cuts: signs, cancellations and sharing, by hand-made plans whose answer is known.
#include "fitwright/variation/analysis.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "fitwright/variation/draws.h"
#include "fitwright/variation/odds.h"
#include "tests/support/plan_builders.h"
#include "tests/variation/blocks.h"

namespace fitwright::variation {
namespace {

using namespace fitwright::testing;

Requirement MakeRequirement(const char* name, RequirementKind kind, const FeatureRef& a,
                            const FeatureRef& b, double upper) {
  Requirement r;
  r.name = RequirementId(name);
  r.kind = kind;
  r.a = a;
  r.b = b;
  r.upper = upper;
  return r;
}

Machine OneBlock(const Vec3& low = {0, 0, 0}, const Vec3& high = {100, 40, 30}) {
  Machine machine;
  machine.parts = {MakeBlock("block", low, high)};
  machine.uses = {{PartId("block"), 1, Pose::Identity()}};
  return machine;
}

double SigmaOf(const Analysis& a, const Form& form) {
  double variance = 0;
  for (const Term& t : form.terms)
    variance += t.factor * t.factor * MomentsOf(a.sources, t.source, a.figures).variance;
  return std::sqrt(variance);
}

// A bottom with 0.1 mm too much material lifts the part by 0.1; the top lands 0.1 too low in the
// part; the thickness is right.
TEST(Analysis, SignOfAThickBottom) {
  Machine machine = OneBlock();
  machine.requirements = {MakeRequirement("thickness", RequirementKind::kDistance,
                                          Ref("block", "top"), Ref("block", "bottom"), 0)};
  PlanBuilder b;
  const Pose down = SetupPose(Vec3::UnitX(), -Vec3::UnitZ(), {0, 40, 0});
  b.AddSetup("block", "mill", HoldingKind::kViseBedFirst, "vise", down);
  SeatBedFirst(b, machine.parts[0], down, "", "", "");
  b.Cut(Operation::kFace, "bottom");
  const Pose up = SetupPose(Vec3::UnitX(), Vec3::UnitZ(), {0, 0, 30});
  b.AddSetup("block", "mill", HoldingKind::kViseBedFirst, "vise", up);
  SeatBedFirst(b, machine.parts[0], up, "bottom", "", "");
  b.Cut(Operation::kFace, "top");
  const auto a = Analyse(machine, ShopWithOnly({{"milled_thickness", 0.02}}), b.plan);
  ASSERT_TRUE(a) << Format(a.error());
  // The bottom's one source: outward is -z.
  FormSum outward;
  AddFeatureMove(outward, a->features.at(Ref("block", "bottom")), {50, 20, 0}, -Vec3::UnitZ());
  const Form bottom = outward.Take();
  ASSERT_EQ(bottom.terms.size(), 1u);
  EXPECT_NEAR(bottom.terms[0].factor, 1, 1e-12);
  const SourceIndex thick = bottom.terms[0].source;
  EXPECT_NEAR(FactorOf(MoveAlong(a->seats.at(PartId("block")), {50, 20, 0}, Vec3::UnitZ()), thick),
              1, 1e-12);
  FormSum top;
  AddFeatureMove(top, a->features.at(Ref("block", "top")), {50, 20, 30}, Vec3::UnitZ());
  EXPECT_NEAR(FactorOf(top.Take(), thick), -1, 1e-12);
  EXPECT_NEAR(FactorOf(a->requirements[0].linear[0], thick), 0, 1e-12);
  // The top stands 30 inside of the bottom's outward side.
  EXPECT_NEAR(a->requirements[0].linear[0].constant, -30, 1e-12);
  EXPECT_NEAR(SigmaOf(*a, a->requirements[0].linear[0]), 0.02, 1e-12);
}

// A block squared in a vise whose fixed jaw is out of square by alpha, each face cut with the one
// before on the jaw: three corners 90 + alpha, the fourth 90 - 3 alpha (the angles of a
// quadrilateral sum to 360; variation case B4).
TEST(Analysis, SquaringLeavesMinus3Alpha) {
  Machine machine = OneBlock();
  const char* names[4] = {"top", "left", "bottom", "right"};
  for (int i = 0; i < 4; ++i) {
    machine.requirements.push_back(MakeRequirement(names[i], RequirementKind::kSquare,
                                                   Ref("block", names[i]),
                                                   Ref("block", names[(i + 1) % 4]), 1e-3));
  }
  PlanBuilder b;
  const Part& part = machine.parts[0];
  for (int i = 0; i < 4; ++i) {
    const Vec3 up = std::get<PlanarFace>(part.Find(FeatureId(names[i]))->shape).normal_P;
    const Vec3 jaw = std::get<PlanarFace>(part.Find(FeatureId(names[(i + 3) % 4]))->shape).normal_P;
    const Pose X_PS = SetupPose(jaw.cross(up), up, Vec3(50, 20, 15) + 15 * up);
    b.AddSetup("block", "mill", HoldingKind::kViseJawFirst, "vise", X_PS);
    const std::string on_jaw = i == 0 ? "" : names[i - 1];
    const auto touch = [&](ContactKind kind, const std::string& f, const Vec3& at_S,
                           const Vec3& n_S) { b.Touch(kind, f, X_PS * at_S, X_PS.linear() * n_S); };
    touch(ContactKind::kFixedJaw, on_jaw, {-40, 15, -25}, -Vec3::UnitY());
    touch(ContactKind::kFixedJaw, on_jaw, {40, 15, -25}, -Vec3::UnitY());
    touch(ContactKind::kFixedJaw, on_jaw, {0, 15, -5}, -Vec3::UnitY());
    touch(ContactKind::kBed, "", {-40, 0, -30}, Vec3::UnitZ());
    touch(ContactKind::kBed, "", {40, 0, -30}, Vec3::UnitZ());
    touch(ContactKind::kStop, "", {-50, 0, -15}, Vec3::UnitX());
    b.Cut(Operation::kFace, names[i]);
  }
  const auto a = Analyse(machine, ShopWithOnly({{"fixed_jaw_squareness", 0.4}}), b.plan);
  ASSERT_TRUE(a) << Format(a.error());
  double alpha[4];
  for (std::size_t i = 0; i < 4; ++i) {
    alpha[i] = 0;
    for (const Term& t : a->requirements[i].linear.at(0).terms) {
      if (GroupOf(a->sources[t.source]) == "fixed_jaw_squareness") alpha[i] += t.factor;
    }
  }
  EXPECT_NEAR(std::abs(alpha[0]), 1, 1e-9);
  EXPECT_NEAR(alpha[1], alpha[0], 1e-9);
  EXPECT_NEAR(alpha[2], alpha[0], 1e-9);
  EXPECT_NEAR(alpha[3], -3 * alpha[0], 1e-9);
}

// Holes at stop distances on one face in one setup, in two setups, and after turning end for end
// (variation case B3: sp = 0.02 per hole and axis, ss = 0.01 per seating, width 0.03).
class Flip : public ::testing::Test {
 protected:
  void SetUp() override {
    machine_ = OneBlock();
    machine_.parts[0].features.push_back(
        MakeHoles("A", -Vec3::UnitZ(), {{20, 20, 30}}, MakeSize(7.9, 8.1), 10, false));
    machine_.parts[0].features.push_back(
        MakeHoles("B", -Vec3::UnitZ(), {{70, 20, 30}}, MakeSize(7.9, 8.1), 10, false));
    machine_.requirements = {MakeRequirement("AB", RequirementKind::kDistance, Ref("block", "B"),
                                             Ref("block", "A"), 100)};
    shop_ = ShopWithOnly(
        {{"edge_finder", 0.01}, {"readout_position", 0.02}, {"milled_thickness", 0.03}});
    // Ends first: left end gauge, the other worked to the length.
    Stand(-Vec3::UnitX(), "", "rear");
    Stand(Vec3::UnitX(), "rear", "front");
  }
  void Stand(const Vec3& up, const std::string& on, const char* face) {
    const Pose X_PS = SetupPose(Vec3::UnitY(), up, up.x() > 0 ? Vec3(100, 0, 0) : Vec3(0, 0, 0));
    b_.AddSetup("block", "mill", HoldingKind::kViseBedFirst, "vise", X_PS);
    SeatBedFirst(b_, machine_.parts[0], X_PS, on, "", "");
    b_.Cut(Operation::kFace, face);
  }
  void Lie(bool turned) {
    const Pose X_PS = turned ? SetupPose(-Vec3::UnitX(), Vec3::UnitZ(), {100, 40, 30})
                             : SetupPose(Vec3::UnitX(), Vec3::UnitZ(), {0, 0, 30});
    b_.AddSetup("block", "mill", HoldingKind::kViseBedFirst, "vise", X_PS);
    SeatBedFirst(b_, machine_.parts[0], X_PS, "", "", turned ? "front" : "rear");
  }
  double Sigma() {
    const auto a = Analyse(machine_, shop_, b_.plan);
    EXPECT_TRUE(a) << Format(a.error());
    return a ? SigmaOf(*a, a->requirements[0].linear[0]) : 0;
  }
  Machine machine_;
  Shop shop_;
  PlanBuilder b_;
};

TEST_F(Flip, OneSetup) {
  Lie(false);
  b_.Cut(Operation::kDrill, "A", "drill_80");
  b_.Cut(Operation::kDrill, "B", "drill_80");
  EXPECT_NEAR(Sigma(), 0.0282842712, 1e-9);
}
TEST_F(Flip, TwoSetupsOnTheSameEnd) {
  Lie(false);
  b_.Cut(Operation::kDrill, "A", "drill_80");
  Lie(false);
  b_.Cut(Operation::kDrill, "B", "drill_80");
  EXPECT_NEAR(Sigma(), 0.0316227766, 1e-9);
}
TEST_F(Flip, TurnedEndForEnd) {
  Lie(false);
  b_.Cut(Operation::kDrill, "A", "drill_80");
  Lie(true);
  b_.Cut(Operation::kDrill, "B", "drill_80");
  EXPECT_NEAR(Sigma(), 0.0435889894, 1e-9);
}

// Two diameters turned in two chuckings: full reading 2 |e|, e Rayleigh; in one chucking, or left
// in the chuck, exactly true (variation case B5: P = 1 - exp(-t^2 / (8 s^2))).
Machine Stepped() {
  Machine machine;
  Part pin;
  pin.name = PartId("pin");
  pin.material = "steel";
  pin.envelope = EnvelopeKind::kTurned;
  pin.features = {MakeOutside("big", {}, 0, 20, MakeSize(19.9, 20.1)),
                  MakeOutside("small", {}, 20, 40, MakeSize(14.9, 15.1))};
  machine.parts = {pin};
  machine.uses = {{PartId("pin"), 1, Pose::Identity()}};
  return machine;
}

Plan TurnTwice(bool keeps) {
  PlanBuilder b;
  const Pose up = SetupPose(Vec3::UnitX(), Vec3::UnitZ(), {0, 0, 40});
  b.AddSetup("pin", "lathe", HoldingKind::kThreeJaw, "chuck", up);
  b.Touch(ContactKind::kRough, "", {0, 0, 0}, Vec3::UnitZ());
  b.Cut(Operation::kTurn, "small");
  fitwright::Setup& second =
      b.AddSetup("pin", "lathe", HoldingKind::kThreeJaw, "chuck",
                 keeps ? up : SetupPose(Vec3::UnitX(), -Vec3::UnitZ(), {0, 0, 0}));
  second.keeps_chucking = keeps;
  for (const double z : {38.0, 22.0}) {
    b.Touch(ContactKind::kChuckGrip, "small", {0, 0, z}, Vec3::UnitX());
    b.Touch(ContactKind::kChuckGrip, "small", {0, 0, z}, Vec3::UnitY());
  }
  b.Touch(ContactKind::kStop, "", {0, 0, 40}, -Vec3::UnitZ());
  b.Cut(Operation::kTurn, "big");
  return b.plan;
}

TEST(Analysis, RechuckingRunsOut) {
  const double s = 0.0141421356;
  const Shop shop = ShopWithOnly({{"three_jaw_eccentricity", s * std::sqrt(2 * std::log(2.0))}});
  const struct {
    double t;
    double p;
  } cases[] = {{0.02, 0.221199217}, {0.05, 0.790388613}, {0.1, 0.998069546}};
  for (const auto& c : cases) {
    Machine machine = Stepped();
    machine.requirements = {MakeRequirement("true", RequirementKind::kAxesMeet, Ref("pin", "big"),
                                            Ref("pin", "small"), c.t / 2)};
    OddsOptions options;
    options.shop_band = options.causes = false;
    options.builds = 40000;
    const auto odds = CalcOdds(machine, shop, TurnTwice(false), options);
    ASSERT_TRUE(odds) << Format(odds.error());
    // Five standard errors of 40000 builds.
    EXPECT_NEAR(odds->all.odds, c.p, 5 * std::sqrt(c.p * (1 - c.p) / 40000));
    const auto kept = CalcOdds(machine, shop, TurnTwice(true), options);
    ASSERT_TRUE(kept) << Format(kept.error());
    EXPECT_EQ(kept->all.odds, 1);
  }
}

TEST(Analysis, TooFewContactsAreNamed) {
  Machine machine = OneBlock();
  machine.parts[0].features.push_back(
      MakeHoles("A", -Vec3::UnitZ(), {{20, 20, 30}}, MakeSize(7.9, 8.1), 10, false));
  PlanBuilder b;
  const Pose up = SetupPose(Vec3::UnitX(), Vec3::UnitZ(), {0, 0, 30});
  b.AddSetup("block", "mill", HoldingKind::kViseBedFirst, "vise", up);
  b.Touch(ContactKind::kBed, "bottom", {0, 40, 0}, Vec3::UnitZ());
  b.Touch(ContactKind::kBed, "bottom", {100, 40, 0}, Vec3::UnitZ());
  b.Touch(ContactKind::kBed, "bottom", {50, 0, 0}, Vec3::UnitZ());
  b.Touch(ContactKind::kFixedJaw, "left", {0, 40, 15}, -Vec3::UnitY());
  b.Cut(Operation::kDrill, "A", "drill_80");
  auto a = Analyse(machine, BareShop(), b.plan);
  ASSERT_FALSE(a);
  EXPECT_EQ(a.error().code, ErrorCode::kNoPlan);
  EXPECT_NE(a.error().message.find("4 of the six"), std::string::npos) << a.error().message;
  // Five: what is left free moves the hole.
  b.Touch(ContactKind::kFixedJaw, "left", {100, 40, 15}, -Vec3::UnitY());
  a = Analyse(machine, BareShop(), b.plan);
  ASSERT_FALSE(a);
  EXPECT_NE(a.error().message.find("block.A"), std::string::npos) << a.error().message;
  // A face cut there is unchanged by it.
  b.plan.setups[0].steps.clear();
  b.Cut(Operation::kFace, "top");
  EXPECT_TRUE(Analyse(machine, BareShop(), b.plan));
  // Seven: one too many.
  b.Touch(ContactKind::kStop, "rear", {0, 20, 15}, Vec3::UnitX());
  b.Touch(ContactKind::kBed, "bottom", {100, 0, 0}, Vec3::UnitZ());
  a = Analyse(machine, BareShop(), b.plan);
  ASSERT_FALSE(a);
  EXPECT_EQ(a.error().code, ErrorCode::kNoPlan);
}

// Axis squareness cancels between patterns drilled the same way up, and doubles when one part is
// drilled from the other side.
TEST(Analysis, MirroredDrillingDoublesSquareness) {
  for (const bool mirrored : {false, true}) {
    Machine machine = OneBlock({-50, -20, 0}, {50, 20, 30});
    machine.parts.push_back(MakeBlock("plate", {-50, -20, 0}, {50, 20, 5}));
    const std::vector<Vec3> low = {{40, 15, 30}};
    const std::vector<Vec3> high = {{40, 15, mirrored ? 0.0 : 5.0}};
    machine.parts[0].features.push_back(
        MakeHoles("H", -Vec3::UnitZ(), low, MakeSize(4.4, 4.6), 10, false));
    machine.parts[1].features.push_back(MakeHoles(
        "H", mirrored ? Vec3::UnitZ() : Vec3(-Vec3::UnitZ()), high, MakeSize(4.4, 4.6), 5, true));
    Pose on = Pose::Identity();
    on.translation() = Vec3(0, 0, 30);
    machine.uses.push_back({PartId("plate"), 1, on});
    machine.requirements = {
        MakeRequirement("x", RequirementKind::kAxesMeet, Ref("plate", "H"), Ref("block", "H"), 1)};
    PlanBuilder b;
    for (const char* name : {"block", "plate"}) {
      const bool under = mirrored && std::string(name) == "plate";
      const Part& part = *machine.FindPart(PartId(name));
      const Pose X_PS =
          under ? SetupPose(Vec3::UnitX(), -Vec3::UnitZ(), Vec3::Zero())
                : SetupPose(Vec3::UnitX(), Vec3::UnitZ(), {0, 0, part.block_P.max_mm.z()});
      b.AddSetup(name, "mill", HoldingKind::kViseBedFirst, "vise", X_PS);
      SeatBedFirst(b, part, X_PS, "", "", "");
      b.Cut(Operation::kDrill, "H", "drill_45");
    }
    const auto a = Analyse(machine, ShopWithOnly({{"axis_squareness", 0.12}}), b.plan);
    ASSERT_TRUE(a) << Format(a.error());
    double sum = 0;
    for (const auto& pair : a->requirements[0].vectors) {
      for (const Form& form : pair) sum = std::max(sum, SigmaOf(*a, form));
    }
    EXPECT_NEAR(sum, mirrored ? 2 * 15 * 0.12e-3 : 0, 1e-9);
  }
}

// Faces cut together differ by nothing while the parts stay together, and by the joint's return
// after.
TEST(Analysis, CutTogetherLeavesNoStep) {
  Machine machine = OneBlock({-50, -20, 0}, {50, 20, 30});
  machine.parts.push_back(MakeBlock("foot", {-50, 20, 0}, {50, 28, 20}));
  const std::vector<Vec3> places = {{-30, 20, 10}, {30, 20, 10}};
  machine.parts[0].features.push_back(
      MakeHoles("tapped", -Vec3::UnitY(), places, MakeSize(2.45, 2.55), 9, false));
  std::get<Hole>(machine.parts[0].features.back().shape).thread = InternalThread{"M3", 3, 0.5, 7};
  machine.parts[1].features.push_back(MakeHoles(
      "holes", -Vec3::UnitY(), {{-30, 28, 10}, {30, 28, 10}}, MakeSize(3.15, 3.25), 8, true));
  machine.uses.push_back({PartId("foot"), 1, Pose::Identity()});
  Joint face;
  face.name = JointId("face");
  face.fixed = Ref("block", "left");
  face.moving = Ref("foot", "right");
  Joint screws = face;
  screws.name = JointId("screws");
  screws.kind = JointKind::kScrewedPattern;
  screws.fixed = Ref("block", "tapped");
  screws.moving = Ref("foot", "holes");
  screws.screw = Screw{"M3", 14, 3, 0.5};
  machine.joints = {face, screws};
  machine.requirements = {MakeRequirement("flush", RequirementKind::kFlush, Ref("foot", "bottom"),
                                          Ref("block", "bottom"), 0.05)};
  for (const bool apart : {false, true}) {
    PlanBuilder b;
    const auto drill = [&](const char* part, const char* feature, const char* on_jaw) {
      const Pose X_PS = SetupPose(-Vec3::UnitX(), Vec3::UnitY(), {0, 28, 0});
      b.AddSetup(part, "mill", HoldingKind::kViseBedFirst, "vise", X_PS);
      SeatBedFirst(b, *machine.FindPart(PartId(part)), X_PS, "", on_jaw, "");
      b.Cut(Operation::kSpot, feature, "spot_drill").finishes = false;
      b.Cut(Operation::kDrill, feature, part == std::string("foot") ? "drill_32" : "drill_25");
      if (part == std::string("block")) b.Cut(Operation::kTap, feature, "tap_m3");
    };
    drill("foot", "holes", "");
    drill("block", "tapped", "");
    const Pose down = SetupPose(Vec3::UnitX(), -Vec3::UnitZ(), {0, 0, 0});
    b.AddSetup("block", "mill", HoldingKind::kViseBedFirst, "vise", down);
    SeatBedFirst(b, machine.parts[0], down, "", "", "");
    b.plan.setups.back().parts.push_back({PartId("foot"), down, false});
    b.Cut(Operation::kAssemble, "").parts = {PartId("foot")};
    b.Cut(Operation::kFace, "bottom").features.push_back(Ref("foot", "bottom"));
    if (apart) b.Cut(Operation::kTakeApart, "").parts = {PartId("foot")};
    const auto a = Analyse(machine, ShippedShop(), b.plan);
    ASSERT_TRUE(a) << Format(a.error());
    const auto& flush = a->requirements[0].linear;
    ASSERT_EQ(flush.size(), 2u);
    double most = 0;
    for (const Form& form : flush) most = std::max(most, static_cast<double>(form.terms.size()));
    if (apart) {
      EXPECT_GT(most, 0);
    } else {
      EXPECT_EQ(most, 0);
    }
    OddsOptions options;
    options.builds = 4000;
    options.shop_band = options.causes = false;
    const auto odds = CalcOdds(machine, ShippedShop(), b.plan, options);
    ASSERT_TRUE(odds);
    if (apart) {
      EXPECT_LT(odds->all.odds, 0.999);
      EXPECT_GT(odds->all.odds, 0.5);  // put back on its marks: 0.02 per axis against 0.05
    } else {
      EXPECT_EQ(odds->all.odds, 1);
    }
  }
}

// Spotted through, the pattern carries no setup or readout source of the first part into the joint.
TEST(Analysis, SpottingThroughCancels) {
  const Machine machine = CoverMachine();
  const auto a = Analyse(machine, ShippedShop(), CoverSpottedThrough(machine, 0));
  ASSERT_TRUE(a) << Format(a.error());
  std::set<std::string_view> groups;
  for (const FloatLimit& limit : a->requirements[0].screws.limits) {
    if (limit.screw < 0) continue;
    for (const Form& form : limit.offset) {
      for (const Term& t : form.terms) groups.insert(GroupOf(a->sources[t.source]));
    }
  }
  EXPECT_TRUE(groups.contains("spot_through"));
  for (const char* gone : {"readout_position", "lock_shift", "drill_start_spotted",
                           "three_jaw_eccentricity", "readout_scale", "axis_squareness"}) {
    EXPECT_FALSE(groups.contains(gone)) << gone;
  }
  const auto by_numbers = Analyse(machine, ShippedShop(), CoverByCoordinates(machine));
  ASSERT_TRUE(by_numbers) << Format(by_numbers.error());
}

// A size fitted to its measured mate: what is left of the clearance is readings, settings, last cut
// and warmth; the mate's own size is gone.
TEST(Analysis, FittedSizeFollowsItsMate) {
  const Machine machine = CoverMachine();
  Plan plan = CoverByCoordinates(machine);
  for (fitwright::Setup& setup : plan.setups) {
    for (Step& step : setup.steps) {
      if (step.features.empty() || step.features[0] != Ref("cover", "spigot")) continue;
      Aim aim;
      aim.kind = AimKind::kFitToMeasured;
      aim.mate = Ref("block", "bore");
      aim.clearance_mm = 0.02;
      aim.clearance_lower_mm = 0.007;
      aim.clearance_upper_mm = 0.041;
      step.aim = aim;
    }
  }
  const auto a = Analyse(machine, ShippedShop(), plan);
  ASSERT_TRUE(a) << Format(a.error());
  const Form& clearance = a->requirements[1].linear[0];
  std::set<std::string_view> groups;
  for (const Term& t : clearance.terms) groups.insert(GroupOf(a->sources[t.source]));
  EXPECT_FALSE(groups.contains("boring_head_diameter"));
  EXPECT_TRUE(groups.contains("turned_diameter"));
  EXPECT_TRUE(groups.contains("bore_gauge"));
  EXPECT_TRUE(groups.contains("micrometer_setting"));
  EXPECT_TRUE(groups.contains("warm_part"));
  EXPECT_NEAR(clearance.constant, 0.02, 1e-9);
}

TEST(Analysis, UnmadeFeatureIsAnError) {
  const Machine machine = CoverMachine();
  Plan plan = CoverByCoordinates(machine);
  std::erase_if(plan.setups,
                [](const fitwright::Setup& s) { return s.parts.front().part == PartId("cover"); });
  const auto a = Analyse(machine, ShippedShop(), plan);
  ASSERT_FALSE(a);
  EXPECT_EQ(a.error().code, ErrorCode::kNoPlan);
  EXPECT_FALSE(a.error().remedy.empty());
}

}  // namespace
}  // namespace fitwright::variation
