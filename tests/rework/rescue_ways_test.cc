#include "fitwright/rework/rescue_ways.h"

#include <gtest/gtest.h>

#include "tests/support/plan_builders.h"

namespace fitwright::rework {
namespace {

using namespace fitwright::testing;

TEST(WallRound, LeastOfFacesAndOtherHoles) {
  Part block = MakeBlock("block", {-30, -20, 0}, {30, 20, 30});
  block.features.push_back(
      MakeHoles("bore", -Vec3::UnitZ(), {Vec3(0, 5, 30)}, MakeSize(19.9, 20.1), 30, true));
  ASSERT_TRUE(WallRound_mm(block, block.features.back()));
  EXPECT_NEAR(*WallRound_mm(block, block.features.back()), 5, 1e-9);  // to the left side
  block.features.push_back(
      MakeHoles("near", -Vec3::UnitZ(), {Vec3(16, 5, 30)}, MakeSize(7.9, 8.1), 30, true));
  EXPECT_NEAR(*WallRound_mm(block, block.features[6]), 2, 1e-9);
  block.features.push_back(
      MakeHoles("across", Vec3::UnitY(), {Vec3(0, -20, 5)}, MakeSize(4, 4), 10, false));
  EXPECT_NEAR(*WallRound_mm(block, block.features[6]), 2, 1e-9) << "what runs across has no wall";
}

Machine Screwed(double clear_mm, bool tapped) {
  Machine machine;
  Part plate = MakeBlock("plate", {-20, -20, 0}, {20, 20, 5});
  plate.features.push_back(MakeHoles("holes", -Vec3::UnitZ(), {Vec3(-10, 0, 5), Vec3(10, 0, 5)},
                                     MakeSize(clear_mm, clear_mm), 5, true));
  if (tapped) std::get<Hole>(plate.features.back().shape).thread = InternalThread{};
  machine.parts.push_back(plate);
  Joint joint;
  joint.name = JointId("screws");
  joint.kind = JointKind::kScrewedPattern;
  joint.moving = {PartId("plate"), FeatureId("holes")};
  joint.screw = Screw{"M3", 10, 3, 0.5};
  machine.joints.push_back(joint);
  return machine;
}

TEST(ScrewHoles, NextSeriesOfTheScrewsOwn) {
  const FeatureRef holes{PartId("plate"), FeatureId("holes")};
  const auto close = FindScrewHoles(Screwed(3.2, false), holes);
  ASSERT_TRUE(close && close->wider_mm);
  EXPECT_DOUBLE_EQ(*close->wider_mm, 3.4);  // ISO 273 medium
  EXPECT_EQ(close->count, 2);
  EXPECT_DOUBLE_EQ(*FindScrewHoles(Screwed(3.4, false), holes)->wider_mm, 3.6);  // coarse
  EXPECT_FALSE(FindScrewHoles(Screwed(3.6, false), holes)->wider_mm);
  EXPECT_STREQ(FindScrewHoles(Screwed(2.5, true), holes)->next_thread, "M4");
  EXPECT_FALSE(FindScrewHoles(Screwed(3.2, false), {PartId("plate"), FeatureId("top")}));
}

}  // namespace
}  // namespace fitwright::rework
