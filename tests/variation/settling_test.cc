// What an indicator sets right: whatever brought the lean there drops out, and what is left is the look's own.
#include "fitwright/variation/settling.h"

#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <set>
#include <string>

#include "fitwright/variation/analysis.h"
#include "fitwright/variation/draws.h"
#include "fitwright/variation/odds.h"
#include "tests/variation/blocks.h"

namespace fitwright::variation {
namespace {

using namespace fitwright::testing;

const Settling kHalf{RequirementId("square"), 0.35e-3, 20};

Machine TwoBoresInABlock() {
  Machine machine;
  machine.parts = {MakeBlock("block", {0, 0, 0}, {100, 40, 30})};
  Part& block = machine.parts.front();
  block.features.push_back(MakeHoles("down", -Vec3::UnitZ(), {{50, 20, 30}}, MakeSize(19.9, 20.1), 30, true));
  block.features.push_back(MakeHoles("through", -Vec3::UnitY(), {{50, 40, 15}}, MakeSize(9.9, 10.1), 40, true));
  machine.uses = {{PartId("block"), 1, Pose::Identity()}};
  Requirement r;
  r.name = kHalf.requirement;
  r.kind = RequirementKind::kSquare;
  r.a = Ref("block", "down");
  r.b = Ref("block", "through");
  r.upper = 0.7e-3;
  machine.requirements = {r};
  return machine;
}

// Each bore in a setup of its own, upright on the jaw.
Plan TwoSetups(bool looked) {
  PlanBuilder b;
  for (const auto& [bore, up, jaw] : {std::tuple("down", Vec3(Vec3::UnitZ()), Vec3(Vec3::UnitY())), std::tuple("through", Vec3(Vec3::UnitY()), Vec3(Vec3::UnitZ()))}) {
    const Pose X_PS = SetupPose(jaw.cross(up), up, Vec3(50, 20, 15) + 15 * up);
    b.AddSetup("block", "mill", HoldingKind::kViseJawFirst, "vise", X_PS);
    const auto touch = [&, &X = X_PS](ContactKind kind, const Vec3& at_S, const Vec3& n_S) { b.Touch(kind, "front", X * at_S, X.linear() * n_S); };
    touch(ContactKind::kFixedJaw, {-40, 15, -25}, -Vec3::UnitY());
    touch(ContactKind::kFixedJaw, {40, 15, -25}, -Vec3::UnitY());
    touch(ContactKind::kFixedJaw, {0, 15, -5}, -Vec3::UnitY());
    touch(ContactKind::kBed, {-40, 0, -30}, Vec3::UnitZ());
    touch(ContactKind::kBed, {40, 0, -30}, Vec3::UnitZ());
    touch(ContactKind::kStop, {-50, 0, -15}, Vec3::UnitX());
    b.Cut(Operation::kBore, bore, "boring_head");
  }
  if (looked) b.plan.setups.back().steps.back().settles = kHalf;
  return b.plan;
}

double SigmaIn(const Analysis& a, const Form& form) {
  double variance = 0;
  for (const Term& t : form.terms) variance += t.factor * t.factor * MomentsOf(a.sources, t.source, a.figures).variance;
  return std::sqrt(variance);
}

// Left: uniform over what the look lets pass, and two readings of 0.002 over 20 mm.
TEST(Settling, ABoreThatIsLookedAtForgetsHowThePieceWasHeld) {
  const Machine machine = TwoBoresInABlock();
  const Shop shop = ShopWithOnly({{"fixed_jaw_squareness", 0.4}, {"bed_and_parallels", 0.01}, {"indicator_reading", 0.002}});
  const auto plain = Analyse(machine, shop, TwoSetups(false));
  const auto looked = Analyse(machine, shop, TwoSetups(true));
  ASSERT_TRUE(plain && looked);
  EXPECT_GT(SigmaIn(*plain, plain->requirements[0].linear[0]), 0.3e-3);
  const double left = std::hypot(kHalf.within_rad / std::sqrt(3.0), std::sqrt(2.0) * 0.002 / 20);
  EXPECT_NEAR(SigmaIn(*looked, looked->requirements[0].linear[0]), left, 1e-12);
}

// The indicator runs along the table: how the spindle leans it does not see. Where nothing else leans, nothing is set.
TEST(Settling, TheSpindlesOwnLeanStays) {
  const Machine machine = TwoBoresInABlock();
  const auto sigma = [&](const std::map<std::string, double>& spreads, bool looked) {
    const auto a = Analyse(machine, ShopWithOnly(spreads), TwoSetups(looked));
    return a ? SigmaIn(*a, a->requirements[0].linear[0]) : -1;
  };
  const double spindle = sigma({{"column_tram", 0.15}}, false);
  EXPECT_GT(spindle, 0.1e-3);
  EXPECT_DOUBLE_EQ(sigma({{"column_tram", 0.15}}, true), spindle);
  const double left = std::hypot(kHalf.within_rad / std::sqrt(3.0), std::sqrt(2.0) * 0.002 / 20);
  // The earlier bore's share of it is seen with that bore; the later one's is not.
  EXPECT_GT(sigma({{"column_tram", 0.15}, {"fixed_jaw_squareness", 0.4}, {"indicator_reading", 0.002}}, true), std::hypot(left, 0.1e-3));
}

// Set right costs minutes as often as the lean is more than the look lets pass: 0.4 mrad against 0.35 on one jaw or both.
TEST(Settling, SettingRightIsCountedAsOftenAsItIsWanted) {
  const Machine machine = TwoBoresInABlock();
  const auto minutes = [&](double jaw_mrad) { return Analyse(machine, ShopWithOnly({{"fixed_jaw_squareness", jaw_mrad}}), TwoSetups(true))->setting_min; };
  EXPECT_GT(minutes(0.4), minutes(0.2));
  EXPECT_LT(minutes(0.02), 1e-9);
  EXPECT_EQ(Analyse(machine, ShopWithOnly({{"fixed_jaw_squareness", 0.4}}), TwoSetups(false))->setting_min, 0);
}

// A pin nudged parallel to a shaft: of both axes only the look's own is left, whatever the joint's play and the pieces were.
TEST(Settling, APinSetWhileWetForgetsItsPlay) {
  Machine machine;
  for (const char* name : {"shaft", "pin"}) {
    Part part;
    part.name = PartId(name);
    part.envelope = EnvelopeKind::kTurned;
    OuterDiameter outside;
    outside.axis_P = {Vec3::Zero(), Vec3::UnitX()};
    outside.to_mm = 20;
    outside.diameter = MakeSize(5.99, 6.01);
    part.features = {{FeatureId("outside"), outside, Finish::kAsMachined, false, {}}};
    machine.parts.push_back(part);
    machine.uses.push_back({part.name, 1, Pose::Identity()});
  }
  Requirement r;
  r.name = RequirementId("lean");
  r.kind = RequirementKind::kParallel;
  r.a = Ref("pin", "outside");
  r.b = Ref("shaft", "outside");
  SourceTable sources;
  FeatureMap features;
  const AssemblyInput input{&machine, &features, &sources};
  const auto leaning = [&](std::uint64_t key) {
    Form6 t;
    for (std::size_t i = 0; i < 3; ++i) {
      Source source;
      source.key = key + i;
      t.w[i] = FormOf(sources.Add(source));
    }
    return t;
  };
  const PlacedMap placed = {{PartId("shaft"), leaning(100)}};
  Form6 pin = leaning(200);
  const Vec3 at_W(5, 0, 0);
  const Form6 before = pin;
  const Figures none{};
  SetJoined(input, none, placed, {&r, {r.name, 0.6e-3, 8}}, PartId("pin"), {at_W, 1e-3}, 7, pin);
  for (const Vec3& n : SquareTo(Vec3::UnitX())) {
    const Form off = Plus(TurnAbout(pin, n), TurnAbout(placed.at(PartId("shaft")), n), -1);
    std::set<SpreadId> left;
    for (const Term& t : off.terms) {
      if (std::abs(t.factor) > 1e-12) left.insert(sources[t.source].spread);
    }
    EXPECT_EQ(left, (std::set<SpreadId>{SpreadId::kLeftBySetting, SpreadId::kIndicatorReading}));
    EXPECT_EQ(MoveAlong(pin, at_W, n), MoveAlong(before, at_W, n));  // turned about where it is held
  }
  Figures leans{};
  for (auto& figure : leans) figure.spread = 1;
  Form6 stays = before;
  SetJoined(input, leans, placed, {&r, {r.name, 0.6e-3, 8}}, PartId("pin"), {at_W, 1e-3}, 7, stays);
  EXPECT_EQ(stays, before) << "the play does not reach so far";
}

}  // namespace
}  // namespace fitwright::variation
