#include <gtest/gtest.h>

#include "fitwright/sheets/solid/symbols.h"
#include "tests/support/plan_builders.h"

namespace fitwright::sheets {
namespace {

using namespace fitwright::testing;

// A piece centred on its bore, seen from above: the letter stands at the bore's wall, clear of the arrows.
TEST(Datums, ABoreThatThePieceIsCentredOnCarriesItsLetterAtItsWall) {
  Machine machine;
  machine.parts = {MakeBlock("block", {-25, -25, 0}, {25, 25, 30})};
  machine.parts[0].features.push_back(MakeHoles("bore", -Vec3::UnitZ(), {{0, 0, 30}}, MakeSize(20, 20), 30, true));
  fitwright::Setup setup;
  setup.number = 1;
  setup.holding = HoldingKind::kThreeJaw;
  setup.parts = {{PartId("block"), SetupPose(Vec3::UnitX(), Vec3::UnitZ(), {0, 0, 30}), true}};
  setup.zero.x_from = {PartId("block"), FeatureId("bore")};
  Contact centred;
  centred.kind = ContactKind::kBoreCentred;
  centred.surface = {PartId("block"), FeatureId("bore")};
  centred.point_P_mm = Vec3(0, 0, 30);
  centred.normal_P = Vec3::UnitX();
  setup.contacts = {centred};
  Plan plan;
  plan.setups = {setup};
  const Shop shop;
  const SetupPicture picture{machine, shop, plan, plan.setups[0], {}, {}, LengthUnit::kMillimetre};
  const auto marks = FindDatums(picture);
  ASSERT_EQ(marks.size(), 1U);
  ASSERT_TRUE(marks[0].bore_S);
  EXPECT_NEAR(marks[0].radius_mm, 10, 1e-9);
  solid::ViewDirection above;
  above.to_eye = Vec3::UnitZ();
  above.up = Vec3::UnitY();
  const ViewFrame frame(above, Vec2(0, 0), Vec2(100, 100), Vec2(-25, -25), Vec2(25, 25));
  const std::vector<Vec2> places = MarkPlaces(picture, frame);
  ASSERT_FALSE(places.empty());
  const double from_wall = (places.back() - frame.ToPaper(Vec3(0, 0, 0))).norm() - 10 * frame.scale();
  EXPECT_GT(from_wall, 0);
  EXPECT_LT(from_wall, 8);  // triangle and half the letter's frame
}

// A square, a stylus or a pin may feel it: the page says what the datum is for, the setup's words how.
TEST(Datums, WhatSetsTheTurnIsNotSaidToBeFeltByASquare) {
  Machine machine;
  machine.parts = {MakeBlock("block", {-25, -25, 0}, {25, 25, 30})};
  fitwright::Setup setup;
  setup.parts = {{PartId("block"), SetupPose(Vec3::UnitX(), Vec3::UnitZ(), {0, 0, 30}), true}};
  Contact wall;
  wall.kind = ContactKind::kSetBySquare;
  wall.surface = {PartId("block"), FeatureId("between_bosses")};
  wall.normal_P = Vec3::UnitX();
  setup.contacts = {wall};
  Plan plan;
  plan.setups = {setup};
  const Shop shop;
  const SetupPicture picture{machine, shop, plan, plan.setups[0], {}, {}, LengthUnit::kMillimetre};
  const auto marks = FindDatums(picture);
  ASSERT_EQ(marks.size(), 1U);
  EXPECT_EQ(marks[0].by, "sets the turn");
}

}  // namespace
}  // namespace fitwright::sheets
