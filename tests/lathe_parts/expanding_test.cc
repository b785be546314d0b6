// Bushes on a mandrel that expands, which the shop has instead of a stub turned for each: taken
// where the bore is as long as it is wide, and what the replay asks of it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/lathe_parts.h"

namespace fitwright {
namespace {

using namespace lathe_parts;  // NOLINT: test helpers

Shop WithExpanding() {
  Shop shop = files::DefaultShop();
  for (HoldingDevice& d : shop.holding) {
    if (d.kind != HoldingDeviceKind::kMandrel) continue;
    d.name = HoldingDeviceId("expanding_mandrel");
    d.words = "expanding mandrel";
    d.jaw_reach_mm = 20;
    d.grip_min_mm = 8;
    d.grip_max_mm = 13;
  }
  return shop;
}

Part Bush(double length) {
  Part part = MakeTurned("bush", 18, -35, length + 1);
  part.material = "steel";
  part.features = {Outer("outside", 0, length, Plain(16)), Ends("near_end", 0, false),
                   Ends("far_end", length, true),
                   OnAxis("bore", HoleUse::kBore, length, length, Fit(10, "H7", 0, 0.015))};
  return part;
}

fitwright::Setup* OnSleeve(Plan& plan) {
  for (fitwright::Setup& setup : plan.setups) {
    if (setup.device.text() == "expanding_mandrel") return &setup;
  }
  return nullptr;
}

FixtureSolid& Solid(fitwright::Setup& setup, bool grips) {
  return *std::find_if(setup.fixtures.begin(), setup.fixtures.end(), [&](const FixtureSolid& f) {
    return f.role == FixtureRole::kMandrel && (grips ? f.grips : f.supports);
  });
}
FixtureCylinder& RingOf(fitwright::Setup& setup, bool grips) {
  return std::get<FixtureCylinder>(Solid(setup, grips).shape);
}

TEST(Expanding, HoldsABushByItsBore) {
  Made made = MakeAndReplay(Bush(14), WithExpanding(), 1, HoldingKind::kStubMandrel);
  ASSERT_TRUE(made.ok) << made.text;
  fitwright::Setup* setup = OnSleeve(made.plan);
  ASSERT_NE(setup, nullptr) << made.text;
  EXPECT_THAT(setup->hold_words, testing::HasSubstr("sleeve"));
  EXPECT_THAT(setup->hold_words, testing::HasSubstr("collar"));
  EXPECT_EQ(std::count_if(setup->contacts.begin(), setup->contacts.end(),
                          [](const Contact& c) { return c.kind == ContactKind::kMandrel; }),
            4);
  EXPECT_GE(setup->grip_depth_mm, 10);  // as long as the bore is wide
}

TEST(Expanding, AShortBoreIsNotForIt) {
  Made made = MakeAndReplay(Bush(8), WithExpanding(), 1, HoldingKind::kStubMandrel);
  EXPECT_EQ(OnSleeve(made.plan), nullptr) << made.text;
}

TEST(Expanding, SpoiledPlansAreCaught) {
  const Part part = Bush(14);
  const Made made = MakeAndReplay(part, WithExpanding(), 1, HoldingKind::kStubMandrel);
  ASSERT_TRUE(made.ok) << made.text;
  const auto broken = [&](const auto& spoil) {
    Plan plan = made.plan;
    spoil(*OnSleeve(plan));
    const auto report = replay::Replay(MachineOf(part), WithExpanding(), plan);
    return report ? TextOf(*report) : Format(report.error());
  };
  EXPECT_THAT(broken([](fitwright::Setup& s) { RingOf(s, true).outer_mm += 0.5; }),
              testing::HasSubstr("fixture_overlaps_part"));
  EXPECT_THAT(broken([](fitwright::Setup& s) { RingOf(s, true).outer_mm -= 0.5; }),
              testing::HasSubstr("grip_missing"));
  EXPECT_THAT(broken([](fitwright::Setup& s) { RingOf(s, true).from_mm -= 12; }),
              testing::HasSubstr("fixture_differs"));
  EXPECT_THAT(broken([](fitwright::Setup& s) { RingOf(s, true).to_mm -= 6; }),
              testing::HasSubstr("holding_disagrees"));
  EXPECT_THAT(broken([](fitwright::Setup& s) {
                RingOf(s, false).from_mm -= 2;
                RingOf(s, false).to_mm -= 2;
              }),
              testing::HasSubstr("not_supported"));
}

}  // namespace
}  // namespace fitwright
