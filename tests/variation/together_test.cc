// Holes cut in one go through two parts: what is left between them is the technique's own spread.
#include <gtest/gtest.h>

#include <set>

#include "fitwright/stats/normal.h"
#include "fitwright/variation/analysis.h"
#include "fitwright/variation/draws.h"
#include "fitwright/variation/odds.h"
#include "tests/support/plan_builders.h"
#include "tests/variation/blocks.h"

namespace fitwright::variation {
namespace {

using namespace fitwright::testing;  // NOLINT

constexpr double kPressedGives_mm = 0.01;  // dowels about 0.01, the error model's own figure
constexpr int kBuilds = 20000;
constexpr double kNoise = 0.012;  // 3.5 sigma of a share of 20000 builds

// A plate on a block with two dowels 60 apart.
Machine Dowelled() {
  Machine machine;
  machine.parts = {MakeBlock("block", {-40, -20, 0}, {40, 20, 20}),
                   MakeBlock("plate", {-40, -20, 20}, {40, 20, 30})};
  const Size hole = MakeSize(4.000, 4.012);
  machine.parts[0].features.push_back(
      MakeHoles("dowels", -Vec3::UnitZ(), {{-30, 0, 20}, {30, 0, 20}}, hole, 10, false));
  machine.parts[1].features.push_back(
      MakeHoles("dowels", -Vec3::UnitZ(), {{-30, 0, 30}, {30, 0, 30}}, hole, 10, true));
  for (const char* name : {"block", "plate"})
    machine.uses.push_back({PartId(name), 1, Pose::Identity()});
  Joint face;
  face.name = JointId("face");
  face.fixed = Ref("block", "top");
  face.moving = Ref("plate", "bottom");
  Joint dowels = face;
  dowels.name = JointId("dowels");
  dowels.kind = JointKind::kPinned;
  dowels.fixed = Ref("block", "dowels");
  dowels.moving = Ref("plate", "dowels");
  dowels.pin = MakeSize(4.004, 4.012);
  machine.joints = {face, dowels};
  Requirement enter;
  enter.name = RequirementId("dowels_enter");
  enter.kind = RequirementKind::kScrewsEnter;
  enter.joint = JointId("dowels");
  machine.requirements = {enter};
  return machine;
}

void Drill(PlanBuilder& b, const std::vector<FeatureRef>& holes) {
  b.Cut(Operation::kSpot, "").features = {holes.front()};
  b.Cut(Operation::kDrill, "", "drill_32").features = holes;
  b.Cut(Operation::kReam, "", "reamer_8").features = holes;
}

Plan Together(const Machine& machine, bool apart) {
  PlanBuilder b;
  Hold(b, machine, "block");
  b.plan.setups.back().parts.push_back(
      {PartId("plate"), b.plan.setups.back().parts.front().X_PS, false});
  Step& on = b.Cut(Operation::kAssemble, "");
  on.parts = {PartId("plate")};
  on.joints = {JointId("face")};
  Drill(b, {Ref("plate", "dowels"), Ref("block", "dowels")});
  if (apart) b.Cut(Operation::kTakeApart, "").parts = {PartId("plate")};
  return b.plan;
}

Plan EachByItself(const Machine& machine) {
  PlanBuilder b;
  for (const char* part : {"block", "plate"}) {
    Hold(b, machine, part);
    Drill(b, {Ref(part, "dowels")});
  }
  return b.plan;
}

double OddsOf(const Machine& machine, const Shop& shop, const Plan& plan) {
  OddsOptions options;
  options.builds = kBuilds;
  options.shop_band = options.causes = false;
  const auto odds = CalcOdds(machine, shop, plan, options);
  EXPECT_TRUE(odds) << (odds ? "" : Format(odds.error()));
  return odds ? odds->all.odds : -1;
}

// The plate moves so that each dowel takes half of what the two distances differ by: two places of
// sigma s give a half of sigma s / sqrt 2, which must be within what a pressed pin gives.
TEST(Together, DowelsReamedThroughBothByClosedForm) {
  const Machine machine = Dowelled();
  for (const double s : {0.005, 0.01, 0.02}) {
    const double expected = 2 * stats::NormalCdf(kPressedGives_mm * std::sqrt(2.0) / s) - 1;
    const Shop shop = ShopWithOnly({{"reassembly_dowelled", s}});
    for (const bool apart : {false, true})
      EXPECT_NEAR(OddsOf(machine, shop, Together(machine, apart)), expected, kNoise) << s;
  }
}

// By coordinates both parts' holes are off, each by its own visit: sigma s * sqrt 2 for each pair.
TEST(Together, DowelsByCoordinatesByClosedForm) {
  const Machine machine = Dowelled();
  for (const double s : {0.005, 0.01, 0.03}) {
    const double expected = 2 * stats::NormalCdf(kPressedGives_mm / s) - 1;
    EXPECT_NEAR(OddsOf(machine, ShopWithOnly({{"readout_position", s}}), EachByItself(machine)),
                expected, kNoise)
        << s;
  }
}

// Of the setup, the machine and the drill nothing stays between the two parts.
TEST(Together, OnlyTheTechniquesOwnSpreadStays) {
  const Machine machine = Dowelled();
  const auto a = Analyse(machine, ShippedShop(), Together(machine, true));
  ASSERT_TRUE(a) << Format(a.error());
  std::set<std::string_view> groups;
  double most = 0;
  for (const FloatLimit& limit : a->requirements[0].screws.limits) {
    for (const Form& form : limit.offset) {
      for (const Term& t : form.terms) {
        if (std::abs(t.factor) < 1e-12) continue;
        groups.insert(GroupOf(a->sources[t.source]));
        most = std::max(most, std::abs(t.factor));
      }
    }
  }
  EXPECT_TRUE(groups.contains("reassembly_dowelled"));
  for (const char* gone :
       {"readout_position", "lock_shift", "drill_start_spotted", "column_tram", "axis_squareness",
        "readout_scale", "drill_runoff", "joint_play", "adjust_by_eye"}) {
    EXPECT_FALSE(groups.contains(gone)) << gone;
  }
}

// Bored through the bore above, the lower one is off its line by the technique's own figure alone:
// the length of two normals of sigma s is within c with chance 1 - exp(-c^2 / 2 s^2).
TEST(Together, BoredInLineByClosedForm) {
  Machine machine = Dowelled();
  const double top[] = {20, 30};
  for (std::size_t i = 0; i < 2; ++i) {
    Feature bore =
        MakeHoles("bore", -Vec3::UnitZ(), {{5, 3, top[i]}}, MakeSize(16, 16.018), 10, true);
    std::get<Hole>(bore.shape).use = HoleUse::kBore;
    machine.parts[i].features.push_back(bore);
  }
  constexpr double kWithin_mm = 0.02;
  Requirement in_line;
  in_line.name = RequirementId("in_line");
  in_line.kind = RequirementKind::kInLine;
  in_line.a = Ref("plate", "bore");
  in_line.b = Ref("block", "bore");
  in_line.upper = kWithin_mm;
  machine.requirements = {in_line};
  PlanBuilder b;
  b.plan = Together(machine, false);
  b.Cut(Operation::kBore, "").features = {Ref("plate", "bore"), Ref("block", "bore")};
  for (const double s : {0.008, 0.015}) {
    const Shop shop =
        ShopWithOnly({{"drilled_together", s}, {"readout_position", 0.05}, {"column_tram", 0.1}});
    EXPECT_NEAR(OddsOf(machine, shop, b.plan), 1 - std::exp(-kWithin_mm * kWithin_mm / (2 * s * s)),
                kNoise)
        << s;
  }
}

double SigmaOf(const Analysis& a, const Form& form) {
  double variance = 0;
  for (const Term& t : form.terms)
    variance += t.factor * t.factor * MomentsOf(a.sources, t.source, a.figures).variance;
  return std::sqrt(variance);
}

// A mark is off by the punch or the point, and the spindle stands off the mark: nothing else.
TEST(Together, MarksFromTheMateAddTheFindingOfTheMark) {
  const Machine machine = CoverMachine();
  for (const bool points : {false, true}) {
    Shop shop = ShopWithOnly({{"transfer_punch", 0.03},
                              {"transfer_screw", 0.03},
                              {"punch_mark_centring", 0.04},
                              {"readout_position", 0.5}});
    Tool punch = MakeTool("punch", ToolKind::kTransferPunch, points ? 3 : 3.2);
    if (points) punch.thread = "M3";
    shop.tools.push_back(punch);
    Plan plan = CoverSpottedThrough(machine, 0);
    auto& steps = plan.setups.back().steps;
    for (std::size_t i = 0; i < steps.size(); ++i) {
      if (steps[i].operation == Operation::kSpotThrough) steps[i].tool = ToolId("punch");
      if (steps[i].operation != Operation::kDrill) continue;
      Step spot = steps[i];
      spot.operation = Operation::kSpot;
      spot.tool = ToolId("spot_drill");
      steps.insert(steps.begin() + static_cast<std::ptrdiff_t>(i++), spot);
    }
    const auto a = Analyse(machine, shop, plan);
    ASSERT_TRUE(a) << Format(a.error());
    int screws = 0;
    for (const FloatLimit& limit : a->requirements[0].screws.limits) {
      if (limit.screw < 0) continue;
      ++screws;
      for (const Form& form : limit.offset) EXPECT_NEAR(SigmaOf(*a, form), 0.05, 1e-9);  // 3, 4, 5
    }
    EXPECT_EQ(screws, 8);
  }
}

TEST(Together, WithoutTheOtherPartThereIsNoPlan) {
  const Machine machine = Dowelled();
  Plan plan = Together(machine, true);
  std::erase_if(plan.setups.front().steps,
                [](const Step& s) { return s.operation == Operation::kAssemble; });
  const auto a = Analyse(machine, ShippedShop(), plan);
  ASSERT_FALSE(a);
  EXPECT_EQ(a.error().code, ErrorCode::kNoPlan);
  EXPECT_NE(a.error().message.find("not together"), std::string::npos) << a.error().message;
}

}  // namespace
}  // namespace fitwright::variation
