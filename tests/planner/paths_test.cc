// Paths over plane regions, orders of visit, and what is inside a design.
#include "fitwright/planner/paths.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "fitwright/planner/paths_design.h"
#include "tests/support/process_bench.h"

namespace fitwright::planner {
namespace {

using namespace bench;  // NOLINT: test helpers

// Distance from a point to a polyline in the plane.
double Away(const Vec2& p, const std::vector<Vec3>& line) {
  double least = 1e9;
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {
    const Vec2 a = line[i].head<2>();
    const Vec2 d = Vec2(line[i + 1].head<2>()) - a;
    const double t = d.norm() > 0 ? std::clamp(d.dot(p - a) / d.squaredNorm(), 0.0, 1.0) : 0;
    least = std::min(least, (p - a - d * t).norm());
  }
  return least;
}

double Away(const Vec2& p, const std::vector<Row>& rows) {
  double least = 1e9;
  for (const Row& row : rows) least = std::min(least, Away(p, std::vector<Vec3>{row[0], row[1]}));
  return least;
}

// Common practice: a cutter that turns right-handed and is fed with the metal on its left cuts
// against the feed.
TEST(Paths, WhatIsStillToComeOffLiesOnTheLeftOfEveryRow) {
  FlatRegion region;
  region.centre_mm = Vec2(3, -7);
  region.u = Vec2(0.6, 0.8);
  region.half_u_mm = 43;
  region.half_v_mm = 28;
  for (const std::vector<Row>& rows :
       {CoverRows(region, 0, 16, 2, 1), StepRows(region, 0, 16, false),
        StepRows(region, 0, 16, true)}) {
    ASSERT_GT(rows.size(), 2U);
    for (std::size_t i = 1; i < rows.size(); ++i) {
      const Vec3 feed = rows[i - 1][1] - rows[i - 1][0];
      EXPECT_GT(feed.cross(rows[i][0] - rows[i - 1][0]).z(), 0);
    }
  }
}

TEST(Paths, RowsCoverEveryPlaceOfTheRegionCornersToo) {
  for (const double diameter : {10.0, 16.0, 50.0, 200.0}) {
    FlatRegion region;
    region.centre_mm = Vec2(3, -7);
    region.u = Vec2(0.6, 0.8);
    region.half_u_mm = 43;
    region.half_v_mm = 28;
    const std::vector<Row> rows = CoverRows(region, -1.5, diameter, 2, 1);
    for (int i = -10; i <= 10; ++i) {
      for (int k = -10; k <= 10; ++k) {
        const Vec2 p = region.At(43 * i / 10.0, 28 * k / 10.0);
        EXPECT_LT(Away(p, rows), diameter / 2) << diameter << " at " << p.transpose();
      }
    }
    for (const Row& row : rows) {
      for (const Vec3& p : row) {
        EXPECT_DOUBLE_EQ(p.z(), -1.5);
        // The cutter leaves the region wholly at the end of each row.
        EXPECT_NEAR(std::abs(region.u.dot(Vec2(p.head<2>()) - region.centre_mm)),
                    43 + diameter / 2 + 2, 1e-9);
      }
    }
  }
}

TEST(Paths, ClearingStaysInItsRoomAndReachesItsCornersAndWalls) {
  FlatRegion room;
  room.half_u_mm = 7.15;
  room.half_v_mm = 2.2;
  const std::vector<Vec3> path = ClearRoom(room, -5, 4);
  for (const Vec3& p : path) {
    EXPECT_LE(std::abs(p.x()), 7.15 + 1e-9);
    EXPECT_LE(std::abs(p.y()), 2.2 + 1e-9);
  }
  for (const double x : {-7.15, 7.15}) {
    for (const double y : {-2.2, 0.0, 2.2})
      EXPECT_LT(Away(Vec2(x, y), path), 1e-9) << x << " " << y;
  }
  for (double x = -9.1; x <= 9.1; x += 0.7) {
    for (double y = -4.1; y <= 4.1; y += 0.3) {
      const double dx = std::max(0.0, std::abs(x) - 7.15);
      const double dy = std::max(0.0, std::abs(y) - 2.2);
      if (std::hypot(dx, dy) > 1.99) continue;
      EXPECT_LT(Away(Vec2(x, y), path), 2) << x << " " << y;
    }
  }
}

// A cutter that turns right-handed cuts against the feed where the metal is on its left: rows run +u with the uncut
// side at +v, the round runs with the walls on its left.
TEST(Paths, ARoomIsClearedAgainstTheCutter) {
  FlatRegion room;
  room.half_u_mm = 10;
  room.half_v_mm = 6;
  const std::vector<Vec3> path = ClearRoom(room, 0, 4);
  std::set<double> cut;
  for (std::size_t i = 1; i < path.size(); ++i) {
    const Vec3 way = path[i] - path[i - 1];
    if (std::abs(way.y()) > 1e-9) continue;
    const bool first = cut.insert(path[i].y()).second;
    if (first) {
      EXPECT_GT(way.x(), 0) << path[i].y();
    }
  }
  ASSERT_GE(path.size(), 5U);
  double turned = 0;  // the round, right-handed about the middle: walls on the left
  for (std::size_t i = path.size() - 4; i < path.size(); ++i) turned += path[i - 1].x() * path[i].y() - path[i - 1].y() * path[i].x();
  EXPECT_LT(turned, 0);
}

TEST(Paths, ARoomWithoutWidthIsALine) {
  FlatRegion room;
  room.half_u_mm = 3;
  EXPECT_EQ(ClearRoom(room, 0, 5).size(), 2U);
  room.half_u_mm = 0;
  EXPECT_EQ(ClearRoom(room, 0, 5).size(), 1U);
}

TEST(Paths, HolesOnACircleAreVisitedRoundTheCircle) {
  std::vector<Vec2> places;
  for (int i = 0; i < 7; ++i)
    places.emplace_back(20 * std::cos(2 * kPi * i / 7), 20 * std::sin(2 * kPi * i / 7));
  std::swap(places[1], places[4]);
  std::swap(places[2], places[6]);
  const std::vector<int> order = TravelOrder(places);
  ASSERT_EQ(order.size(), 7U);
  EXPECT_EQ(order.front(), 0);
  const double side = 40 * std::sin(kPi / 7);
  for (std::size_t i = 1; i < order.size(); ++i) {
    EXPECT_NEAR((places[static_cast<std::size_t>(order[i])] -
                 places[static_cast<std::size_t>(order[i - 1])])
                    .norm(),
                side, 1e-9);
  }
}

TEST(Paths, FourCornersAreVisitedWithoutCrossing) {
  const std::vector<int> order =
      TravelOrder({Vec2(18, 18), Vec2(-18, -18), Vec2(-18, 18), Vec2(18, -18)});
  EXPECT_EQ(order.front(), 0);
  EXPECT_NE(order[1], 1);  // not across the middle first
  EXPECT_NE(order[3], 1);
}

TEST(Paths, AChamferPlaneGoesThroughBothFeet) {
  Part foot = MakeSawnBlock("foot", Vec3(-25, 28, 0), Vec3(25, 50, 24));
  foot.features.push_back(Face("base_top", Vec3::UnitZ(), 8));
  const auto plane =
      FindChamferPlane(foot, EdgeChamfer{FeatureId("base_top"), FeatureId("left"), 3, 6});
  ASSERT_TRUE(plane.has_value());
  EXPECT_NEAR(std::abs(plane->along_P.x()), 1, 1e-12);
  for (const Vec3& p : {Vec3(0, 47, 8), Vec3(10, 50, 2)})
    EXPECT_NEAR(plane->normal_P.dot(p), plane->at_mm, 1e-9);
  // 3 in by 6 down: 63.43 degrees to the base, as drawn.
  EXPECT_NEAR(std::acos(plane->normal_P.z()) / kRadPerDeg, 63.435, 1e-3);
}

TEST(Paths, DesignHoldsKnowsEveryKindOfFeature) {
  Part part = MakeSawnBlock("block", Vec3(-20, -20, 0), Vec3(20, 20, 20));
  part.features.push_back(Bored("hole", {HoleUse::kHole,
                                         -Vec3::UnitZ(),
                                         {Vec3(10, 10, 20)},
                                         Plain(6),
                                         8,
                                         false,
                                         HoleBottom::kPoint118}));
  part.features.push_back(
      Make("step", StepCut{-Vec3::UnitZ(), {Vec3(-20, -20, 12), Vec3(-10, 20, 20)}}));
  part.features.push_back(Make("edge", EdgeChamfer{FeatureId("top"), FeatureId("front"), 2, 2}));
  part.features.push_back(Make("mouth", RoundChamfer{FeatureId("hole"), true, 1, 1}));
  const auto holds = [&](double x, double y, double z) { return DesignHolds(part, Vec3(x, y, z)); };
  EXPECT_TRUE(holds(0, 0, 10));
  EXPECT_FALSE(holds(10, 10, 15));
  EXPECT_FALSE(holds(10, 10, 10.3));  // in the drill's cone: its tip is at 12 - 1.80 = 10.20
  EXPECT_TRUE(holds(10, 10, 10.1));
  EXPECT_TRUE(holds(10 + 2.9, 10, 11.5));  // beside the cone
  EXPECT_FALSE(holds(-15, 0, 13));
  EXPECT_TRUE(holds(-15, 0, 11));
  EXPECT_FALSE(holds(19.5, 0, 19.5));
  EXPECT_TRUE(holds(18.5, 0, 18.5));
  EXPECT_FALSE(holds(10 + 3.8, 10, 19.9));
  EXPECT_TRUE(holds(10 + 3.8, 10, 18.9));
  EXPECT_FALSE(holds(0, 0, 21));
}

}  // namespace
}  // namespace fitwright::planner
