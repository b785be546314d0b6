#include "fitwright/solid/primitives.h"

#include <gtest/gtest.h>

#include <cmath>

#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"
#include "tests/solid/shapes.h"

namespace fitwright::solid {
namespace {

// Closed forms against the kernel's quadrature, which is exact for these faces but for rounding.

void ExpectSolid(const Result<Solid>& solid, double volume_mm3) {
  ASSERT_TRUE(solid.has_value()) << Format(solid.error());
  EXPECT_TRUE(IsValid(*solid));
  EXPECT_NEAR(CalcVolume_mm3(*solid), volume_mm3, kRelative * volume_mm3);
}

const Axis3 kSlanted{Vec3(3, -2, 5), Vec3(1, 2, -2).normalized()};

TEST(Primitives, VolumesByClosedForm) {
  ExpectSolid(MakeBox({Vec3(-1, 2, 3), Vec3(4, 5, 13)}), 5 * 3 * 10);
  ExpectSolid(MakeCylinder(kSlanted, -3, 7, 12), kPi * 36 * 10);
  ExpectSolid(MakeRing(kSlanted, 1, 5, 10, 6), kPi * (25 - 9) * 4);
  ExpectSolid(MakeRing(kSlanted, 1, 5, 10, 0), kPi * 25 * 4);
  // Frustum: pi h (R^2 + R r + r^2) / 3.
  ExpectSolid(MakeFrustum(kSlanted, 0, 6, 8, 2), kPi * 6 * (16 + 4 + 1) / 3);
  ExpectSolid(MakeFrustum(kSlanted, 0, 6, 0, 2), kPi * 6 * 1 / 3);
  ExpectSolid(MakeObround(Vec3(0, 0, 1), Vec3(3, 4, 1), Vec3::UnitZ(), 2, 3), (kPi + 5 * 2) * 3);
  ExpectSolid(
      MakeRoundedRectangle({.length_mm = 20, .width_mm = 8, .corner_radius_mm = 2, .height_mm = 5}),
      (20 * 8 - (4 - kPi) * 4) * 5);
  ExpectSolid(MakeRoundedRectangle({.length_mm = 20, .width_mm = 8, .height_mm = 5}), 800);
  ExpectSolid(MakeBeyond(Vec3(1, 1, 1), Vec3(1, 1, 0), 10), 20 * 20 * 10);
}

TEST(Primitives, PrismTakesEitherWindingAndConcaveOutlines) {
  Pose frame = Pose::Identity();
  frame.linear() = Eigen::AngleAxisd(0.7, Vec3(1, 1, 0).normalized()).toRotationMatrix();
  frame.translation() = Vec3(9, 8, 7);
  std::vector<Vec2> corner = {{0, 0}, {4, 0}, {4, 1}, {1, 1}, {1, 3}, {0, 3}};
  ExpectSolid(MakePrism(frame, corner, -1, 2), 6 * 3);
  std::reverse(corner.begin(), corner.end());
  ExpectSolid(MakePrism(frame, corner, -1, 2), 6 * 3);
}

TEST(Primitives, RevolveTakesEitherWinding) {
  // Pappus: area times the way of its centre.
  std::vector<Vec2> square = {{5, 0}, {7, 0}, {7, 2}, {5, 2}};
  ExpectSolid(MakeRevolve(kSlanted, square), 4 * 2 * kPi * 6);
  std::reverse(square.begin(), square.end());
  ExpectSolid(MakeRevolve(kSlanted, square), 4 * 2 * kPi * 6);
}

TEST(Primitives, SizesWithoutVolumeAreRefused) {
  const double nan = std::nan("");
  for (const Result<Solid>& solid :
       {MakeBox({Vec3(0, 0, 0), Vec3(1, 1, 0)}), MakeCylinder({}, 0, 0, 5),
        MakeCylinder({}, 0, 5, 0), MakeCylinder({}, 0, nan, 5), MakeRing({}, 0, 1, 4, 4),
        MakePrism(Pose::Identity(), {}, 0, 1),
        MakePrism(Pose::Identity(), {{0, 0}, {1, 0}, {2, 0}}, 0, 1),
        MakeRevolve({}, {{-1, 0}, {1, 0}, {1, 1}}),
        MakeRoundedRectangle(
            {.length_mm = 9, .width_mm = 4, .corner_radius_mm = 3, .height_mm = 1}),
        MakeBeyond(Vec3::Zero(), Vec3::Zero())}) {
    ASSERT_FALSE(solid.has_value());
    EXPECT_EQ(solid.error().code, ErrorCode::kOutOfRange);
    EXPECT_FALSE(solid.error().remedy.empty());
  }
}

}  // namespace
}  // namespace fitwright::solid
