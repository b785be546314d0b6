#include "fitwright/solid/cut.h"

#include <gtest/gtest.h>

#include <cmath>
#include <thread>

#include "fitwright/solid/measure.h"
#include "fitwright/solid/primitives.h"
#include "fitwright/solid/solid_bytes.h"
#include "tests/solid/shapes.h"

namespace fitwright::solid {
namespace {

Solid Cylinder(const Axis3& axis, double from, double to, double d) {
  return *MakeCylinder(axis, from, to, d);
}

// By Simpson's rule, n even: another way than the kernel's.
template <typename F>
double Integrate(F f, double from, double to, int n) {
  const double h = (to - from) / n;
  double sum = f(from) + f(to);
  for (int i = 1; i < n; ++i) sum += (i % 2 == 1 ? 4 : 2) * f(from + i * h);
  return sum * h / 3;
}

TEST(Cut, EmptyOperandsFollowTheRulesOfSets) {
  const Solid box = Box(Vec3(0, 0, 0), Vec3(1, 2, 3));
  EXPECT_TRUE(Cut(Solid(), {box})->empty());
  EXPECT_DOUBLE_EQ(CalcVolume_mm3(*Cut(box, {})), 6);
  EXPECT_DOUBLE_EQ(CalcVolume_mm3(*Cut(box, {Solid()})), 6);
  EXPECT_TRUE(Cut(box, {box})->empty());
  EXPECT_TRUE(Common(box, Solid())->empty());
  EXPECT_DOUBLE_EQ(CalcVolume_mm3(*Fuse({Solid(), box, Solid()})), 6);
  EXPECT_TRUE(Fuse({})->empty());
  EXPECT_DOUBLE_EQ(*CalcSymmetricDifference_mm3(box, Solid()), 6);
  EXPECT_DOUBLE_EQ(*CalcSymmetricDifference_mm3(Solid(), Solid()), 0);
  EXPECT_FALSE(IsValid(Solid()));
}

TEST(Cut, BoreCrossingBoreByQuadrature) {
  const double big = 20.00625;
  const double small = 15.00525;
  const Solid block = Box(Vec3(-25, -28, 0), Vec3(25, 28, 87));
  const Solid crank = Cylinder({Vec3(0, 0, 28), Vec3::UnitX()}, -26, 26, 2 * big);
  const Solid cylinder = Cylinder(kUp, 28, 88, 2 * small);
  const Result<Solid> left = Cut(block, {crank, cylinder});
  ASSERT_TRUE(left.has_value());
  EXPECT_TRUE(IsValid(*left));
  // The cylinder above the crank bore: its disc times 59 less the saddle, with y = small sin(t) to
  // take the ends' root away.
  const double saddle = Integrate(
      [&](double t) {
        const double y = small * std::sin(t);
        const double c = small * std::cos(t);
        return 2 * c * std::sqrt(big * big - y * y) * c;
      },
      -0.5 * kPi, 0.5 * kPi, 2000);
  const double expected =
      50.0 * 56 * 87 - kPi * big * big * 50 - (kPi * small * small * 59 - saddle);
  EXPECT_NEAR(CalcVolume_mm3(*left), expected, 1e-9 * expected);
}

TEST(Cut, CoincidentFacesAndOverlappingTools) {
  const Solid block = Box(Vec3(0, 0, 0), Vec3(30, 30, 30));
  // Bottoms and tops in the block's own faces, tools sharing walls, axes and floors.
  const Result<Solid> left =
      Cut(block, {Cylinder({Vec3(15, 15, 0), Vec3::UnitZ()}, 0, 30, 10),
                  Cylinder({Vec3(15, 15, 0), Vec3::UnitZ()}, 20, 30, 16),
                  Box(Vec3(0, 0, 25), Vec3(30, 5, 30)), Box(Vec3(0, 5, 25), Vec3(5, 30, 30)),
                  Box(Vec3(0, 0, 25), Vec3(5, 5, 30))});
  ASSERT_TRUE(left.has_value());
  const double expected = 27000 - kPi * 25 * 20 - kPi * 64 * 10 - (30 * 5 + 5 * 25) * 5;
  EXPECT_NEAR(CalcVolume_mm3(*left), expected, 1e-9 * expected);
  // 6 sides, 2 step floor and walls (one L floor, two walls), counterbore wall and floor, bore.
  EXPECT_EQ(CountFaces(*left), 6u + 3 + 3);
}

TEST(Cut, TouchingToolTakesNothing) {
  const Solid block = Box(Vec3(0, 0, 0), Vec3(10, 10, 10));
  const Solid beside = Box(Vec3(10, 0, 0), Vec3(20, 10, 10));
  EXPECT_NEAR(CalcVolume_mm3(*Cut(block, {beside})), 1000, 1e-9);
  EXPECT_EQ(*CalcCommonVolume_mm3(block, beside), 0);
  EXPECT_FALSE(*Collides(block, beside));
  EXPECT_TRUE(*Collides(block, Box(Vec3(9.99, 0, 0), Vec3(20, 10, 10))));
}

TEST(Cut, ToolThatTouchesAFaceIsNotLost) {
  // A bore whose wall just touches the block's bottom: the kernel alone takes nothing.
  const Solid block = Box(Vec3(-20, -15, 0), Vec3(20, 15, 30));
  const Solid bore = Cylinder({Vec3(12, 15, 5), -Vec3::UnitY()}, -1, 31, 10);
  const Result<Solid> left = Cut(block, {bore});
  if (left) {
    EXPECT_NEAR(CalcVolume_mm3(*left), 36000 - kPi * 25 * 30, 1e-4);
  } else {
    EXPECT_EQ(left.error().code, ErrorCode::kKernel);
  }
  const Result<double> shared = CalcCommonVolume_mm3(block, bore);
  if (shared) {
    EXPECT_NEAR(*shared, kPi * 25 * 30, 1e-4);
  } else {
    EXPECT_EQ(shared.error().code, ErrorCode::kKernel);
  }
}

TEST(Cut, ManyHolesInOneCallEqualOneByOne) {
  const Solid plate = Box(Vec3(0, 0, 0), Vec3(100, 100, 8));
  std::vector<Solid> holes;
  Solid step_by_step = plate;
  for (int i = 0; i < 36; ++i) {
    const Axis3 axis{Vec3(10 + 15 * (i % 6), 10 + 15 * (i / 6), 0), Vec3::UnitZ()};
    holes.push_back(Cylinder(axis, -1, 9, 4 + 0.1 * i));
    step_by_step = *Cut(step_by_step, {holes.back()});
  }
  const Result<Solid> at_once = Cut(plate, holes);
  ASSERT_TRUE(at_once.has_value());
  EXPECT_EQ(CountFaces(*at_once), 6u + 36);
  EXPECT_EQ(CountFaces(step_by_step), 6u + 36);
  EXPECT_LT(*CalcSymmetricDifference_mm3(*at_once, step_by_step), 1e-9);
}

TEST(Cut, DifferenceIsSeenHoweverSmall) {
  const Solid block = Box(Vec3(0, 0, 0), Vec3(50, 56, 87));
  const Solid a = *Cut(block, {Cylinder({Vec3(20, 20, 0), Vec3::UnitZ()}, 40, 88, 10)});
  const Solid deeper = *Cut(block, {Cylinder({Vec3(20, 20, 0), Vec3::UnitZ()}, 39.9999, 88, 10)});
  const Solid beside = *Cut(block, {Cylinder({Vec3(20.01, 20, 0), Vec3::UnitZ()}, 40, 88, 10)});
  EXPECT_NEAR(*CalcSymmetricDifference_mm3(a, deeper), kPi * 25 * 1e-4, 1e-6);
  // Two crescents of a circle moved by e: 2 * d * e to first order, over the depth of 47; the third
  // order in e / d is below 1e-6 of it.
  EXPECT_NEAR(*CalcSymmetricDifference_mm3(a, beside), 2 * 10 * 0.01 * 47, 1e-3);
  EXPECT_EQ(*CalcSymmetricDifference_mm3(a, a), 0);
}

TEST(Cut, DifferenceThatKeepsAllMomentsIsSeenAllTheSame) {
  // Four holes on a circle, turned by 45 degrees: volume, first and second moments stay.
  const auto drilled = [](double first_rad) {
    std::vector<Solid> holes;
    for (int i = 0; i < 4; ++i) {
      const double a = first_rad + 0.5 * kPi * i;
      holes.push_back(
          Cylinder({Vec3(15 * std::cos(a), 15 * std::sin(a), 0), Vec3::UnitZ()}, -1, 11, 4));
    }
    return *Cut(Cylinder(kUp, 0, 10, 50), holes);
  };
  EXPECT_NEAR(*CalcSymmetricDifference_mm3(drilled(0.1), drilled(0.1 + 0.25 * kPi)),
              8 * kPi * 4 * 10, 1e-4);
}

TEST(Cut, PiecesComeLargestFirstAndTheOneAtAPointIsKept) {
  const Solid bar = Box(Vec3(0, 0, 0), Vec3(30, 5, 5));
  const Solid parted = *Cut(bar, {Box(Vec3(10, -1, -1), Vec3(12, 6, 6))});
  const Result<std::vector<Solid>> pieces = SplitPieces(parted);
  ASSERT_TRUE(pieces.has_value());
  ASSERT_EQ(pieces->size(), 2u);
  EXPECT_NEAR(CalcVolume_mm3((*pieces)[0]), 18 * 25, 1e-9);
  EXPECT_NEAR(CalcVolume_mm3((*pieces)[1]), 10 * 25, 1e-9);
  EXPECT_NEAR(CalcVolume_mm3(*KeepPieceAt(parted, Vec3(3, 2, 2))), 10 * 25, 1e-9);
  EXPECT_NEAR(CalcVolume_mm3(*KeepPieceAt(parted, Vec3(10.5, 2, 2))), 10 * 25, 1e-9);
  EXPECT_NEAR(CalcVolume_mm3(*KeepPieceAt(parted, Vec3(11.5, 2, 2))), 18 * 25, 1e-9);
}

TEST(Cut, MovingIsRigid) {
  const Solid block = *Cut(Box(Vec3(0, 0, 0), Vec3(20, 30, 40)),
                           {Cylinder({Vec3(10, 15, 0), Vec3::UnitZ()}, 10, 41, 8)});
  Pose X_AB = Pose::Identity();
  X_AB.linear() = Eigen::AngleAxisd(1.1, Vec3(1, -2, 0.5).normalized()).toRotationMatrix();
  X_AB.translation() = Vec3(100, -7, 3);
  const Solid moved = Moved(block, X_AB);
  EXPECT_NEAR(CalcVolume_mm3(moved), CalcVolume_mm3(block), 1e-8);
  EXPECT_LT((CalcCentroid_mm(moved) - X_AB * CalcCentroid_mm(block)).norm(), 1e-9);
  // There and back leaves nothing over.
  EXPECT_LT(*CalcSymmetricDifference_mm3(Moved(moved, X_AB.inverse()), block), 1e-9);
}

TEST(Cut, BytesGiveTheSameSolidBack) {
  const Solid block = *Cut(Box(Vec3(0, 0, 0), Vec3(20, 30, 40)),
                           {Cylinder({Vec3(10, 15, 0), Vec3::UnitZ()}, 10, 41, 8)});
  const Result<std::string> bytes = ToBytes(block);
  ASSERT_TRUE(bytes.has_value());
  const Result<Solid> back = FromBytes(*bytes);
  ASSERT_TRUE(back.has_value());
  EXPECT_EQ(CalcVolume_mm3(*back), CalcVolume_mm3(block));
  EXPECT_EQ(CountFaces(*back), CountFaces(block));
  EXPECT_EQ(*CalcSymmetricDifference_mm3(*back, block), 0);
  EXPECT_TRUE(*ToBytes(block) == *bytes) << "the same solid gave other bytes";
  EXPECT_TRUE(FromBytes("")->empty());
  EXPECT_FALSE(FromBytes("no solid at all").has_value());
}

TEST(Cut, TwoThreadsShareSolids) {
  const Solid block = Box(Vec3(0, 0, 0), Vec3(60, 60, 20));
  const Solid tool = Cylinder({Vec3(30, 30, 0), Vec3::UnitZ()}, -1, 21, 30);
  std::vector<double> volumes(2);
  const auto work = [&](std::size_t slot) {
    for (int i = 0; i < 20; ++i) {
      const Axis3 axis{Vec3(5 + 2 * i, 5, 0), Vec3::UnitZ()};
      volumes[slot] += CalcVolume_mm3(*Cut(block, {tool, Cylinder(axis, 3, 21, 3)}));
    }
  };
  std::thread other(work, 1);
  work(0);
  other.join();
  EXPECT_EQ(volumes[0], volumes[1]);
  const double each = 60 * 60 * 20 - kPi * 225 * 20 - kPi * 2.25 * 17;
  EXPECT_NEAR(volumes[0], 20 * each, 1e-9 * 20 * each);
}

}  // namespace
}  // namespace fitwright::solid
