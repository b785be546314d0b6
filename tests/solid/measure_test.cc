#include "fitwright/solid/measure.h"

#include <gtest/gtest.h>

#include "fitwright/solid/cut.h"
#include "fitwright/solid/primitives.h"
#include "tests/solid/shapes.h"

namespace fitwright::solid {
namespace {

TEST(Measure, VolumeAreaCentroidBox) {
  const Solid box = Box(Vec3(1, 2, 3), Vec3(11, 22, 33));
  EXPECT_NEAR(CalcVolume_mm3(box), 6000, 1e-6);
  EXPECT_NEAR(CalcArea_mm2(box), 2 * (10 * 20 + 20 * 30 + 30 * 10), 1e-9);
  EXPECT_LT((CalcCentroid_mm(box) - Vec3(6, 12, 18)).norm(), 1e-9);
  const Solid disc = *MakeCylinder({Vec3(1, 0, 0), Vec3(1, 1, 0).normalized()}, 0, 10, 6);
  const Box3 tight = CalcBox(disc);
  const double h = 10 * std::sqrt(0.5);
  const double r = 3 * std::sqrt(0.5);
  EXPECT_LT((tight.min_mm - Vec3(1 - r, -r, -3)).norm(), 1e-5);
  EXPECT_LT((tight.max_mm - Vec3(1 + h + r, h + r, 3)).norm(), 1e-5);
  EXPECT_EQ(CalcBox(Solid()).size_mm(), Vec3::Zero());
  Pose X_AB = Pose::Identity();
  X_AB.linear() = Eigen::AngleAxisd(0.5 * kPi, Vec3::UnitZ()).toRotationMatrix();
  EXPECT_LT((CalcBoxIn(box, X_AB).min_mm - Vec3(-22, 1, 3)).norm(), 1e-6);
}

TEST(Measure, InsideAndThickness) {
  const Solid block = *Cut(Box(Vec3(0, 0, 0), Vec3(20, 20, 30)),
                           {*MakeCylinder({Vec3(10, 10, 0), Vec3::UnitZ()}, 12, 31, 6),
                            Box(Vec3(0, 0, 3), Vec3(20, 20, 5))});
  EXPECT_TRUE(IsInside(block, Vec3(1, 1, 1)));
  EXPECT_FALSE(IsInside(block, Vec3(10, 10, 20)));
  EXPECT_FALSE(IsInside(block, Vec3(1, 1, 0)));
  EXPECT_FALSE(IsInside(block, Vec3(1, 1, 4)));
  // Floor of the hole at 12 above the gap that begins at 5: 7 thick.
  const auto floor = FindThickness_mm(block, Vec3(10, 10, 12), -Vec3::UnitZ());
  ASSERT_TRUE(floor.has_value());
  ASSERT_TRUE(floor->has_value());
  EXPECT_NEAR(**floor, 7, 1e-6);
  EXPECT_FALSE(FindThickness_mm(block, Vec3(10, 10, 12), Vec3::UnitZ())->has_value());
  const auto crossings = FindCrossings_mm(block, Vec3(1, 1, 40), -Vec3::UnitZ());
  ASSERT_EQ(crossings->size(), 4u);
  EXPECT_NEAR((*crossings)[0], 10, 1e-6);
  EXPECT_NEAR((*crossings)[3], 40, 1e-6);
}

TEST(Measure, Clearance) {
  const Solid a = Box(Vec3(0, 0, 0), Vec3(10, 10, 10));
  EXPECT_NEAR(*CalcClearance_mm(a, Box(Vec3(13, 14, 0), Vec3(20, 20, 10))), 5, 1e-9);
  EXPECT_NEAR(*CalcClearance_mm(a, Box(Vec3(10, 0, 0), Vec3(20, 20, 10))), 0, 1e-9);
  EXPECT_NEAR(*CalcClearance_mm(a, Box(Vec3(2, 2, 2), Vec3(3, 3, 3))), 0, 1e-9);
  EXPECT_NEAR(*CalcClearance_mm(a, *MakeCylinder({Vec3(20, 5, 0), Vec3::UnitZ()}, 0, 10, 8)), 6,
              1e-6);
  EXPECT_FALSE(CalcClearance_mm(a, Solid()).has_value());
}

TEST(Contact, PlanesOnPlanes) {
  const Solid piece = *Cut(Box(Vec3(0, 0, 0), Vec3(40, 20, 30)),
                           {*MakeCylinder({Vec3(20, 0, 10), Vec3::UnitY()}, -1, 21, 8)});
  const Solid jaw = Box(Vec3(-10, -15, -5), Vec3(50, 0, 25));
  const Result<ContactPatch> patch =
      CalcContact(piece, jaw, Vec3::UnitZ(), {.normal = Vec3::UnitY()});
  ASSERT_TRUE(patch.has_value());
  EXPECT_NEAR(patch->area_mm2, 40 * 25 - kPi * 16, 1e-6);
  EXPECT_NEAR(patch->from_mm, 0, 1e-6);
  EXPECT_NEAR(patch->to_mm, 25, 1e-6);
  EXPECT_NEAR(patch->box.max_mm.x(), 40, 1e-6);
  // The wrong way round, apart, and another normal: nothing.
  EXPECT_EQ(*CalcContactArea_mm2(piece, jaw, {.normal = Vec3::UnitX()}), 0);
  EXPECT_EQ(*CalcContactArea_mm2(piece, Box(Vec3(-10, -15, -5), Vec3(50, -0.01, 25))), 0);
  EXPECT_EQ(*CalcContactArea_mm2(piece, Box(Vec3(0, 0, 0), Vec3(40, 20, 30))), 0);
  // A hair's gap counts as touching.
  EXPECT_NEAR(*CalcContactArea_mm2(piece, Box(Vec3(-10, -15, -5), Vec3(50, -5e-5, 25))),
              40 * 25 - kPi * 16, 1e-6);
}

TEST(Contact, RoundOnRound) {
  const Solid shaft = *MakeCylinder(kUp, 0, 50, 24);
  const Solid jaws = *MakeRing(kUp, -5, 18, 60, 24);
  const Result<ContactPatch> patch = CalcContact(shaft, jaws, Vec3::UnitZ());
  ASSERT_TRUE(patch.has_value());
  EXPECT_NEAR(patch->area_mm2, kPi * 24 * 18, 1e-6 * kPi * 24 * 18);
  EXPECT_NEAR(patch->to_mm - patch->from_mm, 18, 1e-5);
  // A bore on a mandrel, and a shaft loose in a ring.
  const Solid sleeve = *MakeRing(kUp, 0, 20, 40, 24);
  EXPECT_NEAR(*CalcContactArea_mm2(sleeve, *MakeCylinder(kUp, 5, 60, 24)), kPi * 24 * 15, 1e-3);
  EXPECT_EQ(*CalcContactArea_mm2(shaft, *MakeRing(kUp, 0, 18, 60, 24.1)), 0);
  EXPECT_EQ(*CalcContactArea_mm2(shaft, *MakeCylinder(kUp, 0, 18, 24)), 0);
}

}  // namespace
}  // namespace fitwright::solid
