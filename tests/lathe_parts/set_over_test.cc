// Cones longer than the top slide travels: between centres with the tailstock set over.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "tests/support/lathe_parts.h"

namespace fitwright {
namespace {

using namespace lathe_parts;  // NOLINT: test helpers

fitwright::Setup* SetOver(Plan& plan) {
  for (fitwright::Setup& setup : plan.setups) {
    if (setup.tailstock_over_mm != 0) return &setup;
  }
  return nullptr;
}

std::string JudgedSetOver(const Plan& plan, const Shop& shop = files::DefaultShop()) {
  const auto report = replay::Replay(MachineOf(ConeShaft()), shop, plan);
  return report ? TextOf(*report) : Format(report.error());
}

TEST(SetOver, TheFigureIsThePiecesLengthTimesTheRise) {
  Made made = MakeAndReplay(ConeShaft(), files::DefaultShop(), 1, HoldingKind::kBetweenCentres);
  ASSERT_TRUE(made.ok) << made.text;
  const fitwright::Setup* setup = SetOver(made.plan);
  ASSERT_NE(setup, nullptr) << made.text;
  // 1.5 mm of radius in 70; the piece is between 165 and 185 long then, with the bar left for its
  // centres.
  EXPECT_GT(std::abs(setup->tailstock_over_mm), 165 * 1.5 / 70);
  EXPECT_LT(std::abs(setup->tailstock_over_mm), 185 * 1.5 / 70);
  EXPECT_THAT(setup->hold_words, testing::HasSubstr("set over"));
}

TEST(SetOver, ShortConesStayWithTheTopSlide) {
  Shop shop = files::DefaultShop();
  for (MachineTool& m : shop.machines) m.top_slide_mm = 100;
  Made made = MakeAndReplay(ConeShaft(), shop, 1, HoldingKind::kBetweenCentres);
  ASSERT_TRUE(made.ok) << made.text;
  EXPECT_EQ(SetOver(made.plan), nullptr) << made.text;
}

TEST(SetOver, TooSteepForTheTailstockIsRefusedWithTheReason) {
  Shop shop = files::DefaultShop();
  for (MachineTool& m : shop.machines) m.tailstock_over_mm = 2;
  const Made made = MakeAndReplay(ConeShaft(), shop);
  EXPECT_FALSE(made.ok);
  EXPECT_THAT(made.text, testing::HasSubstr("cone")) << made.text;
}

TEST(SetOver, SpoiledPlansAreCaught) {
  Made made = MakeAndReplay(ConeShaft(), files::DefaultShop(), 1, HoldingKind::kBetweenCentres);
  ASSERT_TRUE(made.ok) << made.text;
  Plan straight = made.plan;
  SetOver(straight)->tailstock_over_mm = 0;
  EXPECT_THAT(JudgedSetOver(straight), testing::HasSubstr("travel_exceeded"));
  Plan wrong = made.plan;
  SetOver(wrong)->tailstock_over_mm *= -1;
  EXPECT_THAT(JudgedSetOver(wrong), testing::HasSubstr("path_impossible"));
  Shop stiff = files::DefaultShop();
  for (MachineTool& m : stiff.machines) m.tailstock_over_mm = 1;
  EXPECT_THAT(JudgedSetOver(made.plan, stiff), testing::HasSubstr("capacity_exceeded"));
}

}  // namespace
}  // namespace fitwright
