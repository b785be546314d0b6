#include "fitwright/solid/views.h"

#include <gtest/gtest.h>

#include <cmath>
#include <thread>

#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/primitives.h"
#include "tests/solid/sample_parts.h"
#include "tests/solid/shapes.h"

namespace fitwright::solid {
namespace {

// Lines may be off by the tilt and the chord: see views.h.
constexpr double kOnPaper_mm = 0.03;

double LengthOf(const DrawingLine& line) {
  double length = 0;
  for (std::size_t i = 1; i < line.points_mm.size(); ++i) {
    length += (line.points_mm[i] - line.points_mm[i - 1]).norm();
  }
  return length;
}

double TotalLength(const std::vector<DrawingLine>& lines, bool visible) {
  double length = 0;
  for (const DrawingLine& line : lines) length += line.visible == visible ? LengthOf(line) : 0;
  return length;
}

double AreaOf(const std::vector<Vec2>& ring) {
  double twice = 0;
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const Vec2& a = ring[i];
    const Vec2& b = ring[(i + 1) % ring.size()];
    twice += a.x() * b.y() - a.y() * b.x();
  }
  return 0.5 * twice;
}

TEST(View, PaperAxes) {
  EXPECT_LT((Project(ViewDirection::Top(), Vec3(1, 2, 3)) - Vec2(1, 2)).norm(), 1e-12);
  EXPECT_LT((Project(ViewDirection::FromOperator(), Vec3(1, 2, 3)) - Vec2(1, 3)).norm(), 1e-12);
  EXPECT_LT((Project(ViewDirection::FromRight(), Vec3(1, 2, 3)) - Vec2(2, 3)).norm(), 1e-12);
  // An up that lies along the line of sight gives some upright paper all the same.
  const Vec2 p = Project({Vec3::UnitZ(), Vec3::UnitZ()}, Vec3(3, 4, 9));
  EXPECT_NEAR(p.norm(), 5, 1e-12);
}

TEST(View, BoxFromAboveIsItsOutline) {
  const auto view = MakeView({Box(Vec3(0, 0, 0), Vec3(30, 20, 10))}, ViewDirection::Top());
  ASSERT_TRUE(view.has_value()) << Format(view.error());
  EXPECT_NEAR(TotalLength(*view, true), 100, 0.2);
  EXPECT_NEAR(TotalLength(*view, false), 0, 0.2);
  for (const DrawingLine& line : *view) {
    for (const Vec2& p : line.points_mm) {
      const double off =
          std::min({std::abs(p.x()), std::abs(p.x() - 30), std::abs(p.y()), std::abs(p.y() - 20)});
      EXPECT_LT(off, kOnPaper_mm);
    }
  }
}

TEST(View, BoxFromACornerShowsNineEdgesAndHidesThree) {
  const ViewDirection corner{Vec3(1, 1, 1), Vec3::UnitZ()};
  const auto view = MakeView({Box(Vec3(0, 0, 0), Vec3(10, 10, 10))}, corner);
  const double edge = 10 * std::sqrt(2.0 / 3.0);
  EXPECT_EQ(std::count_if(view->begin(), view->end(), [](const auto& l) { return l.visible; }), 9);
  EXPECT_NEAR(TotalLength(*view, true), 9 * edge, 1e-3);
  EXPECT_NEAR(TotalLength(*view, false), 3 * edge, 1e-3);
  const auto without = MakeView({Box(Vec3(0, 0, 0), Vec3(10, 10, 10))}, corner, {.hidden = false});
  EXPECT_EQ(TotalLength(*without, false), 0);
}

TEST(View, HolesAreCirclesAboveAndHiddenLinesFromTheSide) {
  const Solid block = *Cut(Box(Vec3(0, 0, 0), Vec3(30, 20, 10)),
                           {*MakeCylinder({Vec3(12, 8, 0), Vec3::UnitZ()}, -1, 11, 6)});
  const auto above = MakeView({block}, ViewDirection::Top());
  double circle = 0;
  for (const DrawingLine& line : *above) {
    bool on = true;
    for (const Vec2& p : line.points_mm)
      on = on && std::abs((p - Vec2(12, 8)).norm() - 3) < kOnPaper_mm;
    if (on && line.visible) circle += LengthOf(line);
  }
  EXPECT_NEAR(circle, kPi * 6, 0.5);
  const auto side = MakeView({block}, ViewDirection::FromOperator());
  double limbs = 0;
  for (const DrawingLine& line : *side) {
    if (!line.visible && line.kind == LineKind::kOutline) limbs += LengthOf(line);
  }
  EXPECT_NEAR(limbs, 20, 0.3);
}

TEST(View, SolidsHideEachOtherAndKeepTheirNumber) {
  const std::vector<Solid> solids = {Box(Vec3(0, 0, 0), Vec3(10, 10, 10)), Solid(),
                                     Box(Vec3(2, 20, 2), Vec3(8, 30, 8))};
  const auto view = MakeView(solids, ViewDirection::FromOperator());
  double seen[3] = {0, 0, 0};
  double hidden[3] = {0, 0, 0};
  for (const DrawingLine& line : *view) {
    ASSERT_LT(line.body, 3u);
    (line.visible ? seen : hidden)[line.body] += LengthOf(line);
  }
  EXPECT_NEAR(seen[0], 40, 0.2);
  EXPECT_NEAR(hidden[2], 24, 0.2);
  EXPECT_LT(seen[2], 0.1);
  EXPECT_EQ(seen[1] + hidden[1], 0);
  EXPECT_TRUE(MakeView({}, ViewDirection::Top())->empty());
}

TEST(View, SameLinesEveryTime) {
  const Solid body = *MakeDesign(testing::MakeBody());
  const auto first = MakeView({body}, ViewDirection::Standing());
  const auto again = MakeView({body}, ViewDirection::Standing());
  ASSERT_EQ(first->size(), again->size());
  for (std::size_t i = 0; i < first->size(); ++i) {
    ASSERT_TRUE((*first)[i].points_mm == (*again)[i].points_mm);
  }
}

TEST(View, TwoThreadsShareASolid) {
  const Solid body = *MakeDesign(testing::MakeBody());
  std::vector<Result<std::vector<DrawingLine>>> views(2, std::vector<DrawingLine>{});
  const auto work = [&](std::size_t slot) {
    for (int i = 0; i < 5; ++i) views[slot] = MakeView({body}, ViewDirection::Standing());
  };
  std::thread other(work, 1);
  work(0);
  other.join();
  ASSERT_TRUE(views[0].has_value() && views[1].has_value());
  ASSERT_EQ(views[0]->size(), views[1]->size());
  for (std::size_t i = 0; i < views[0]->size(); ++i) {
    ASSERT_TRUE((*views[0])[i].points_mm == (*views[1])[i].points_mm);
  }
}

TEST(Section, RegionsWithHoles) {
  const Solid tube = *MakeRing({Vec3(5, 5, 0), Vec3::UnitZ()}, 0, 30, 20, 12);
  const auto flat = MakeSection(tube, Vec3(0, 0, 10), ViewDirection::Top(), 0.001);
  ASSERT_TRUE(flat.has_value()) << Format(flat.error());
  ASSERT_EQ(flat->size(), 1u);
  ASSERT_EQ((*flat)[0].holes_mm.size(), 1u);
  // Chords 0.001 off: the polygon is smaller by two thirds of that times the perimeter.
  EXPECT_NEAR(AreaOf((*flat)[0].outer_mm), kPi * 100, 0.06);
  EXPECT_NEAR(AreaOf((*flat)[0].holes_mm[0]), -kPi * 36, 0.04);
  const auto along = MakeSection(tube, Vec3(0, 5, 0), ViewDirection::FromOperator());
  ASSERT_EQ(along->size(), 2u);
  EXPECT_NEAR(AreaOf((*along)[0].outer_mm) + AreaOf((*along)[1].outer_mm), 2 * 4 * 30, 1e-6);
  EXPECT_TRUE(MakeSection(tube, Vec3(0, 0, 40), ViewDirection::Top())->empty());
}

TEST(Hatch, StrokesCoverTheShadow) {
  const Solid tube = *MakeRing({Vec3(5, 5, 0), Vec3::UnitZ()}, 0, 30, 20, 12);
  const HatchOptions options{.angle_rad = 0.3, .spacing_mm = 0.05, .chord_mm = 0.002};
  const auto strokes = MakeHatch(tube, ViewDirection::Top(), options);
  ASSERT_TRUE(strokes.has_value()) << Format(strokes.error());
  double length = 0;
  for (const HatchStroke& s : *strokes) length += (s.to_mm - s.from_mm).norm();
  // Stroke length times spacing is the area: the hole that goes through is left white.
  EXPECT_NEAR(length * options.spacing_mm, kPi * (100 - 36), 0.3);
  for (const HatchStroke& s : *strokes) {
    const Vec2 d = s.to_mm - s.from_mm;
    if (d.norm() < 0.1) continue;
    EXPECT_NEAR(std::atan2(d.y(), d.x()), 0.3, 1e-6);
  }
  EXPECT_TRUE(MakeHatch(Solid(), ViewDirection::Top())->empty());
}

}  // namespace
}  // namespace fitwright::solid
