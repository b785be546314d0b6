// Soft jaws, bored in place to each piece: taken where something must run true across two chuckings and no chuck that is set
// by the indicator is there, left where nothing asks for it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "fitwright/model/gripped_ring.h"
#include "fitwright/planner/planner.h"
#include "tests/support/lathe_parts.h"

namespace fitwright {
namespace {

using namespace lathe_parts;  // NOLINT: test helpers

constexpr double kTrue_mm = 0.03;

// A flange with a spigot on either side: one of them is turned when the piece has been turned over.
Part TwoSpigots() {
  Part part = MakeTurned("flange", 45, -40, 24);
  part.material = "steel";
  part.features = {Outer("low_spigot", -10, 0, Plain(30)), Outer("rim", 0, 14, Plain(42)), Outer("high_spigot", 14, 22, Plain(30)),
                   Ends("low_end", -10, false), Ends("high_end", 22, true), Ends("back", 0, false), Ends("front", 14, true)};
  return part;
}

Machine RunsTrueAcross(bool asked) {
  Machine machine = MachineOf(TwoSpigots());
  Requirement r;
  r.name = RequirementId("spigots_true");
  r.kind = RequirementKind::kRunOut;
  r.a = {machine.parts.front().name, FeatureId("low_spigot")};
  r.b = {machine.parts.front().name, FeatureId("high_spigot")};
  r.upper = asked ? kTrue_mm : 5;
  machine.requirements = {r};
  return machine;
}

Shop ThreeJawsOnly(bool soft) {
  Shop shop = files::DefaultShop();
  std::erase_if(shop.holding, [](const HoldingDevice& d) {
    return d.kind == HoldingDeviceKind::kFourJaw || d.kind == HoldingDeviceKind::kCollet || d.kind == HoldingDeviceKind::kMandrel ||
           d.kind == HoldingDeviceKind::kFaceplate || d.kind == HoldingDeviceKind::kTailstockCentre;
  });
  HoldingDevice jaws = *shop.Find(HoldingDeviceId("three_jaw"));
  jaws.name = HoldingDeviceId("soft_jaws");
  jaws.words = "three-jaw chuck with soft jaws";
  jaws.soft_jaws = true;
  if (soft) shop.holding.push_back(jaws);
  return shop;
}

Plan PlanOf(const Machine& machine, const Shop& shop) {
  planner::PlannerOptions options;
  options.final_builds = 20000;
  auto plan = planner::MakePlan(machine, shop, {}, options);
  EXPECT_TRUE(plan.has_value());
  if (!plan) return {};
  const auto report = replay::Replay(machine, shop, *plan);
  EXPECT_TRUE(report && report->ok) << (report ? TextOf(*report) : Format(report.error())) << TextOf(*plan);
  return *std::move(plan);
}

const fitwright::Setup* InSoftJaws(const Plan& plan) {
  const auto found = std::find_if(plan.setups.begin(), plan.setups.end(), [](const fitwright::Setup& s) { return s.device == HoldingDeviceId("soft_jaws"); });
  return found == plan.setups.end() ? nullptr : &*found;
}

// 0.005 is the median of a vector: sigma = 0.005 / 1.1774 each way, the full reading twice the offset.
TEST(SoftJaws, AreBoredWhereTwoChuckingsMustRunTrue) {
  const Plan hard = PlanOf(RunsTrueAcross(true), ThreeJawsOnly(false));
  const Plan soft = PlanOf(RunsTrueAcross(true), ThreeJawsOnly(true));
  const fitwright::Setup* setup = InSoftJaws(soft);
  ASSERT_NE(setup, nullptr) << TextOf(soft);
  EXPECT_THAT(setup->hold_words, testing::HasSubstr("bore its soft jaws"));
  EXPECT_EQ(setup->hold_words.find("Soft packing"), std::string::npos);
  EXPECT_EQ(setup->hold_words.find("jaws' steps"), std::string::npos);
  const double sigma_mm = 0.005 / 1.1774;
  const double bored_true = 1 - std::exp(-0.125 * kTrue_mm * kTrue_mm / (sigma_mm * sigma_mm));
  EXPECT_LT(soft.odds.all.odds, bored_true);  // chips under the seat lean it besides
  EXPECT_GT(soft.odds.all.odds, bored_true - 0.03);
  EXPECT_LT(hard.odds.all.odds, 0.5);
}

TEST(SoftJaws, StayInTheDrawerWhereNothingAsksForThem) { EXPECT_EQ(InSoftJaws(PlanOf(RunsTrueAcross(false), ThreeJawsOnly(true))), nullptr); }

// Bored to the piece they bear all round: three jaws' lobes are hard jaws' (common practice).
TEST(SoftJaws, PressNoLobesIntoARing) {
  fitwright::Setup setup;
  setup.device = HoldingDeviceId("three_jaw");
  setup.opening_mm = 40;
  setup.grip_depth_mm = 10;
  setup.parts = {{PartId("ring"), Pose::Identity(), true}};
  Contact grip;
  grip.kind = ContactKind::kChuckGrip;
  grip.surface = {PartId("ring"), FeatureId("outside")};
  grip.point_P_mm = Vec3(-20, 0, 5);
  grip.normal_P = Vec3::UnitX();
  setup.contacts = {grip};
  Hole bore;
  bore.into_P = -Vec3::UnitZ();
  bore.entries_P_mm = {Vec3(0, 0, 12)};
  bore.depth_mm = 12;
  bore.diameter = Plain(34);
  EXPECT_TRUE(FindGrippedRing(ThreeJawsOnly(true), setup, bore, Pose::Identity()));
  setup.device = HoldingDeviceId("soft_jaws");
  EXPECT_FALSE(FindGrippedRing(ThreeJawsOnly(true), setup, bore, Pose::Identity()));
}

}  // namespace
}  // namespace fitwright
