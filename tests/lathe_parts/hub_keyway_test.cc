// Keyways along bores: slotted with the spindle locked, broached where the shop has the broach,
// refused with what would let them be made; what the replay asks of a stroke.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "fitwright/files/project.h"
#include "tests/support/lathe_parts.h"

namespace fitwright {
namespace {

using namespace lathe_parts;  // NOLINT: test helpers
using testing::HasSubstr;

constexpr double kBore_mm = 18;
constexpr double kFloor_mm = 11.8;  // 2.8 below the wall, 6 wide: ISO 773, from memory

Part Hub(double length = 20) {
  Part part = MakeTurned("hub", 40, -30, length + 1.5);
  part.material = "steel";
  Keyway seat;
  seat.internal = true;
  seat.from_mm = 0;
  seat.to_mm = length;
  seat.width = Plain(6, 0.03);
  seat.floor_mm = kFloor_mm;
  seat.side_P = Vec3::UnitX();
  part.features = {Outer("rim", 0, length, Plain(38, 0.2)),
                   OnAxis("bore", HoleUse::kBore, length, length, Plain(kBore_mm, 0.02)),
                   Make("seat", seat), Ends("near_end", 0, false), Ends("far_end", length, true)};
  return part;
}

Shop WithBroach() {
  Shop shop = files::DefaultShop();
  Tool broach;
  broach.name = ToolId("broach_6");
  broach.kind = ToolKind::kBroach;
  broach.words = "6 mm keyway broach";
  broach.on = "hand";
  broach.width_mm = 6;
  broach.diameter_min_mm = 16;
  broach.reach_mm = 50;
  broach.flute_mm = 3.2;
  shop.tools.push_back(broach);
  return shop;
}

Shop WithoutSlotting() {
  Shop shop = files::DefaultShop();
  std::erase_if(shop.tools, [](const Tool& t) { return t.kind == ToolKind::kSlottingTool; });
  return shop;
}

fitwright::Setup* SlottedIn(Plan& plan) {
  for (fitwright::Setup& setup : plan.setups) {
    for (const Step& step : setup.steps) {
      if (step.operation == Operation::kShape || step.operation == Operation::kBroach)
        return &setup;
    }
  }
  return nullptr;
}

Step& Stroke(fitwright::Setup& setup) { return setup.steps.front(); }

// The floor stands from the axis as the sheet has it; the lathe reads diameters.
TEST(HubKeyway, IsSlottedWithTheSpindleLocked) {
  Made made = MakeAndReplay(Hub(), files::DefaultShop());
  ASSERT_TRUE(made.ok) << made.text;
  fitwright::Setup* setup = SlottedIn(made.plan);
  ASSERT_NE(setup, nullptr) << made.text;
  EXPECT_EQ(setup->machine, MachineToolId("lathe"));
  EXPECT_THAT(setup->hold_words, HasSubstr("lock the spindle"));
  const Step& step = Stroke(*setup);
  EXPECT_EQ(step.operation, Operation::kShape);
  EXPECT_EQ(step.rpm, 0);
  EXPECT_NEAR(step.coordinates.front().x_mm, 2 * kFloor_mm, 1e-9);  // arithmetic
  EXPECT_NEAR(step.depth_mm, kFloor_mm - kBore_mm / 2, 1e-9);
  ASSERT_TRUE(step.measure);
  EXPECT_NEAR(step.measure->lower_mm, kFloor_mm + kBore_mm / 2, 1e-9);
}

TEST(HubKeyway, IsBroachedWhereTheShopHasTheBroach) {
  Made made = MakeAndReplay(Hub(), WithBroach());
  ASSERT_TRUE(made.ok) << made.text;
  fitwright::Setup* setup = SlottedIn(made.plan);
  ASSERT_NE(setup, nullptr) << made.text;
  EXPECT_EQ(setup->holding, HoldingKind::kBench);
  EXPECT_EQ(Stroke(*setup).operation, Operation::kBroach);
  EXPECT_THAT(Stroke(*setup).words, HasSubstr("3 passes"));  // 2.8 deep, about 1.2 a pass
}

TEST(HubKeyway, OfABlockIsBroachedToo) {
  Part part = bench::MakeSawnBlock("lever", Vec3(-20, -20, 0), Vec3(40, 20, 12), 0);
  for (Feature& face : part.features) face.finish = Finish::kAsSupplied;
  Keyway seat = std::get<Keyway>(Hub().Find(FeatureId("seat"))->shape);
  seat.to_mm = 12;
  part.features.push_back(OnAxis("bore", HoleUse::kBore, 12, 12, Plain(kBore_mm, 0.02)));
  part.features.push_back(Make("seat", seat));
  const Made made = MakeAndReplay(part, WithBroach());
  EXPECT_TRUE(made.ok) << made.text;
  const Made without = MakeAndReplay(part, files::DefaultShop());
  EXPECT_FALSE(without.ok);
  EXPECT_THAT(without.text, HasSubstr("a keyway broach 6 mm wide"));
}

TEST(HubKeyway, IsRefusedWithWhatWouldLetItBeMade) {
  const Made made = MakeAndReplay(Hub(), WithoutSlotting());
  EXPECT_FALSE(made.ok);
  EXPECT_THAT(
      made.text,
      HasSubstr(
          "no tool of the shop cuts a seat 6 mm wide and 2.80 deep, 20 long, in a bore of 18"));
  const Made long_bore = MakeAndReplay(Hub(60), files::DefaultShop());
  EXPECT_FALSE(long_bore.ok);  // longer than the bar goes through
  EXPECT_THAT(long_bore.text, HasSubstr("60 long"));
}

// A screw's hole across the hub, square to the seat: it shows how the piece is turned.
TEST(HubKeyway, IsTurnedByWhatGoesAcross) {
  Part part = Hub();
  HoleWish wish;
  wish.into = -Vec3::UnitY();
  wish.entries = {Vec3(0, 19, 10)};
  wish.depth = 14;
  wish.through = true;
  wish.diameter = Plain(4.2);
  Feature hole = Bored("screw_hole", wish);
  part.features.insert(part.features.end() - 3, hole);
  Made made = MakeAndReplay(part, files::DefaultShop());
  ASSERT_TRUE(made.ok) << made.text;
  fitwright::Setup* setup = SlottedIn(made.plan);
  ASSERT_NE(setup, nullptr) << made.text;
  // Slotted after it, the turn is taken from it; before it, the hole's setup takes it from the
  // seat.
  bool shown = false;
  for (const fitwright::Setup& s : made.plan.setups) {
    for (const Contact& c : s.contacts) {
      shown = shown || (c.kind == ContactKind::kSetBySquare && !c.surface.feature.empty());
    }
  }
  EXPECT_TRUE(shown) << made.text;
}

TEST(HubKeyway, SpoiledPlansAreCaught) {
  const Shop shop = files::DefaultShop();
  const Part part = Hub();
  Made made = MakeAndReplay(part, shop);
  ASSERT_TRUE(made.ok) << made.text;
  const auto spoiled = [&](const auto& spoil, const Shop& with) {
    Plan plan = made.plan;
    spoil(*SlottedIn(plan));
    const auto report = replay::Replay(MachineOf(part), with, plan);
    return report ? TextOf(*report) : Format(report.error());
  };
  const auto as_is = [](fitwright::Setup&) {};
  const auto turning = [](fitwright::Setup& s) { Stroke(s).rpm = 180; };
  EXPECT_THAT(spoiled(turning, shop), HasSubstr("it is locked"));
  const auto too_short = [](fitwright::Setup& s) {
    Stroke(s).path.front().points_S_mm.back().z() += 6;
    Stroke(s).coordinates.back().z_mm += 6;
  };
  EXPECT_THAT(spoiled(too_short, shop), HasSubstr("stroke_ends_inside"));
  const auto too_deep = [](fitwright::Setup& s) {
    for (Vec3& p : Stroke(s).path.front().points_S_mm) p.x() += 0.1;
    for (Coordinate& c : Stroke(s).coordinates) c.x_mm += 0.2;
  };
  EXPECT_THAT(spoiled(too_deep, shop), HasSubstr("not_made"));
  const auto turned = [](fitwright::Setup& s) {
    s.parts.front().X_PS = s.parts.front().X_PS * Eigen::AngleAxisd(0.1, Vec3::UnitZ());
  };
  EXPECT_THAT(spoiled(turned, shop), HasSubstr("not_made"));
  const auto mill_tool = [](fitwright::Setup& s) { Stroke(s).tool = ToolId("groove_2"); };
  EXPECT_THAT(spoiled(mill_tool, shop), HasSubstr("path_impossible"));
  const auto poorer = [&](const auto& change) {
    Shop poor = shop;
    for (Tool& t : poor.tools) {
      if (t.kind == ToolKind::kSlottingTool) change(t);
    }
    return poor;
  };
  EXPECT_THAT(spoiled(as_is, poorer([](Tool& t) { t.diameter_min_mm = 19; })),
              HasSubstr("no_hole_before"));
  EXPECT_THAT(spoiled(as_is, poorer([](Tool& t) { t.reach_mm = 15; })),
              HasSubstr("tool_too_short"));
  EXPECT_THAT(spoiled(as_is, poorer([](Tool& t) { t.flute_mm = 2; })), HasSubstr("tool_too_short"));
}

}  // namespace
}  // namespace fitwright
