// Shapes of planes alone, named by how their walls stand.
#include "fitwright/recognize/sharp_shapes.h"

#include <gtest/gtest.h>

#include <cmath>

#include "fitwright/recognize/frame.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/primitives.h"

namespace fitwright::recognize_test {
namespace {

using recognize::SharpKind;

struct Case {
  const char* name;
  std::vector<Vec2> polygon;  // in a plane square to `along`
  int along;                  // 2: seen from above, 0: from the side
  double from_mm;
  double to_mm;
  SharpKind kind;
  std::size_t faces;
};

std::vector<Vec2> Polygon(int sides, double radius) {
  std::vector<Vec2> corners;
  for (int i = 0; i < sides; ++i) {
    const double angle = 0.3 + 2 * kPi * i / sides;
    corners.emplace_back(radius * std::cos(angle), radius * std::sin(angle));
  }
  return corners;
}

// Cut from a block of 40 x 36 x 30 about the origin.
const std::vector<Case> kCases = {
    {"triangular passage", Polygon(3, 8), 2, -20, 20, SharpKind::kPassage, 3},
    {"six-sided pocket", Polygon(6, 8), 2, 5, 20, SharpKind::kPocket, 7},
    {"rectangular pocket", {{-6, -5}, {6, -5}, {6, 5}, {-6, 5}}, 2, 5, 20, SharpKind::kPocket, 5},
    {"vee channel", {{-5, 30}, {0, 8}, {5, 30}}, 0, -30, 30, SharpKind::kVee, 2},
    {"channel", {{-5, 30}, {-5, 8}, {5, 8}, {5, 30}}, 0, -30, 30, SharpKind::kChannel, 3},
    {"short channel", {{-5, 30}, {-5, 8}, {5, 8}, {5, 30}}, 0, -30, 4, SharpKind::kShortChannel, 4},
    {"step", {{9, 30}, {9, 8}, {30, 8}, {30, 30}}, 0, -30, 30, SharpKind::kStep, 2},
    {"corner step", {{9, 30}, {9, 8}, {30, 8}, {30, 30}}, 0, -30, 4, SharpKind::kCornerStep, 3},
    {"slanting step", {{-40, 30}, {-40, 12}, {40, 4}, {40, 30}}, 2, 5, 20, SharpKind::kSlantingStep, 2},
    {"bent step", {{-40, 30}, {-40, 12}, {0, 4}, {40, 10}, {40, 30}}, 2, 5, 20, SharpKind::kBentStep, 3},
    {"cut corner", {{40, -4}, {40, 40}, {-4, 40}}, 2, 5, 20, SharpKind::kCutCorner, 2},
    {"slope", {{8, 16}, {19, 5}, {25, 25}}, 0, -30, 30, SharpKind::kSlope, 1},
};

Pose FrameOf(int along) {
  Pose frame = Pose::Identity();
  if (along == 2) return frame;
  frame.linear().col(0) = Vec3::UnitY();
  frame.linear().col(1) = Vec3::UnitZ();
  frame.linear().col(2) = Vec3::UnitX();
  return frame;
}

std::vector<recognize::SharpShape> ShapesOf(const solid::Solid& body) {
  const auto graphs = solid::MakeFaceGraphs(body);
  const auto frame = recognize::ChooseFrame(graphs->front(), body);
  return recognize::FindSharpShapes(recognize::Place(graphs->front(), frame.X_PF, frame.box_P));
}

TEST(SharpShapes, AreNamedByTheirWallsHoweverThePartLies) {
  Pose turned = Pose::Identity();
  turned.linear() = Eigen::AngleAxisd(0.7, Vec3(1, 2, 3).normalized()).toRotationMatrix();
  turned.translation() = Vec3(100, -30, 7);
  for (const Case& c : kCases) {
    SCOPED_TRACE(c.name);
    const auto block = solid::MakeBox({{-20, -18, -15}, {20, 18, 15}});
    const auto tool = solid::MakePrism(FrameOf(c.along), c.polygon, c.from_mm, c.to_mm);
    ASSERT_TRUE(block && tool);
    const auto body = solid::Cut(*block, {*tool});
    ASSERT_TRUE(body);
    for (const solid::Solid& lying : {*body, solid::Moved(*body, turned)}) {
      const auto shapes = ShapesOf(lying);
      ASSERT_EQ(shapes.size(), 1U);
      EXPECT_EQ(shapes[0].kind, c.kind);
      EXPECT_EQ(shapes[0].faces.size(), c.faces);
    }
  }
}

}  // namespace
}  // namespace fitwright::recognize_test
