// Surfaces and curves that the kernel has no elementary name for.
#include "fitwright/solid/surface_fit.h"

#include <gtest/gtest.h>

#include <BRepBuilderAPI_NurbsConvert.hxx>
#include <algorithm>
#include <cmath>

#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/face_graph.h"
#include "fitwright/solid/kernel.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/primitives.h"
#include "tests/solid/sample_parts.h"
#include "tests/solid_reading/graph_of.h"

namespace fitwright::solid {
namespace {

Solid AsSplines(const Solid& solid) {
  return Wrap(BRepBuilderAPI_NurbsConvert(ShapeOf(solid), true).Shape());
}

// Fitting exact splines is good to this; the axis' direction over the size of a part.
constexpr double kFit_mm = 1e-5;

void ExpectSame(const GraphFace& face, const GraphFace& other) {
  ASSERT_EQ(face.surface.kind, other.surface.kind);
  EXPECT_LT(other.surface.misfit_mm, 1e-6);
  EXPECT_EQ(face.hollow, other.hollow);
  EXPECT_EQ(face.loops.size(), other.loops.size());
  EXPECT_NEAR(face.area_mm2, other.area_mm2, 1e-5 * face.area_mm2);  // the quadrature on splines
  EXPECT_NEAR(face.turn_share, other.turn_share, 1e-4);
  EXPECT_NEAR(face.surface.minor_radius_mm, other.surface.minor_radius_mm, kFit_mm);
  EXPECT_NEAR(face.surface.half_angle_rad, other.surface.half_angle_rad, kFit_mm);
  EXPECT_LT((face.surface.axis_F.direction - other.surface.axis_F.direction).norm(), kFit_mm);
  const Vec3 off = other.surface.axis_F.point_mm - face.surface.axis_F.point_mm;
  const Vec3& along = face.surface.axis_F.direction;
  if (face.surface.kind == SurfaceKind::kPlane) {
    EXPECT_NEAR(off.dot(along), 0, kFit_mm);
  } else {
    EXPECT_LT((off - off.dot(along) * along).norm(), kFit_mm);
    const double slope = std::tan(face.surface.half_angle_rad);
    EXPECT_NEAR(face.surface.radius_mm + off.dot(along) * slope, other.surface.radius_mm, kFit_mm);
  }
}

void ExpectSame(const FaceGraph& graph, const FaceGraph& other) {
  ASSERT_EQ(graph.faces.size(), other.faces.size());
  for (std::size_t i = 0; i < graph.faces.size(); ++i) {
    SCOPED_TRACE(i);
    ExpectSame(graph.faces[i], other.faces[i]);
  }
  ASSERT_EQ(graph.edges.size(), other.edges.size());
  for (std::size_t i = 0; i < graph.edges.size(); ++i) {
    SCOPED_TRACE(i);
    const FaceEdge& edge = graph.edges[i];
    const FaceEdge& same = other.edges[i];
    EXPECT_EQ(edge.bend, same.bend);
    EXPECT_EQ(edge.closed, same.closed);
    EXPECT_NEAR(edge.length_mm, same.length_mm, 1e-5 * edge.length_mm);
    EXPECT_NEAR(edge.turn_rad, same.turn_rad, 1e-4);
    // An intersection that the kernel only approximates may be an ellipse within the tolerance.
    if (edge.kind == CurveKind::kOther) continue;
    EXPECT_EQ(edge.kind, same.kind);
    EXPECT_NEAR(edge.radius_mm, same.radius_mm, kFit_mm);
  }
}

TEST(FittedSurfaces, PartsWrittenAsSplinesGiveTheSameGraph) {
  Pose turned = Pose::Identity();
  turned.linear() = Eigen::AngleAxisd(0.7, Vec3(1, 2, -0.5).normalized()).toRotationMatrix();
  turned.translation() = Vec3(30, -20, 11);
  for (const Part& part : testing::AllParts()) {
    SCOPED_TRACE(part.name.text());
    const Solid design = *MakeDesign(part);
    for (const Pose& X_WP : {Pose(Pose::Identity()), turned}) {
      const Solid solid = Moved(design, X_WP);
      ExpectSame(GraphOf(solid), GraphOf(AsSplines(solid)));
    }
  }
}

// Points and normals over a patch of the surface, by angle about its axis and by height (torus,
// sphere: by the angle round the tube).
SurfaceSamples SamplesOf(const Surface& surface, double turn_rad, double from, double to) {
  const Vec3 z = surface.axis_F.direction;
  const Vec3 x = z.unitOrthogonal();
  const Vec3 y = z.cross(x);
  SurfaceSamples samples;
  for (int i = 0; i < 9; ++i) {
    for (int j = 0; j < 9; ++j) {
      const double turn = 0.3 + turn_rad * i / 8;
      const double at = from + (to - from) * j / 8;
      const Vec3 out = std::cos(turn) * x + std::sin(turn) * y;
      Vec3 normal = out;
      Vec3 point = surface.radius_mm * out + at * z;
      if (surface.kind == SurfaceKind::kCone) {
        point += at * std::tan(surface.half_angle_rad) * out;
        normal = std::cos(surface.half_angle_rad) * out - std::sin(surface.half_angle_rad) * z;
      } else if (surface.kind == SurfaceKind::kSphere) {
        normal = std::cos(at) * out + std::sin(at) * z;
        point = surface.radius_mm * normal;
      } else if (surface.kind == SurfaceKind::kTorus) {
        normal = std::cos(at) * out + std::sin(at) * z;
        point = surface.radius_mm * out + surface.minor_radius_mm * normal;
      }
      samples.points.push_back(surface.axis_F.point_mm + point);
      samples.normals.push_back(normal);
    }
  }
  return samples;
}

Surface MakeSurface(SurfaceKind kind, double radius, double minor, double half_angle) {
  Surface surface;
  surface.kind = kind;
  surface.axis_F = {Vec3(120, -40, 7), Vec3(0.48, -0.6, 0.64)};
  surface.radius_mm = radius;
  surface.minor_radius_mm = minor;
  surface.half_angle_rad = half_angle;
  return surface;
}

TEST(FittedSurfaces, AreFoundFromSmallPatches) {
  struct Case {
    Surface surface;
    double turn_rad, from, to;
  };
  const Case cases[] = {
      {MakeSurface(SurfaceKind::kCylinder, 12, 0, 0), 0.4, -3, 5},
      {MakeSurface(SurfaceKind::kCylinder, 1.5, 0, 0), 2 * kPi, 0, 40},
      {MakeSurface(SurfaceKind::kCone, 12, 0, 0.5), 0.5, -3, 5},
      {MakeSurface(SurfaceKind::kCone, 20, 0, 0.02), 3, 0, 30},
      {MakeSurface(SurfaceKind::kSphere, 8, 0, 0), 0.6, -0.2, 0.5},
      {MakeSurface(SurfaceKind::kTorus, 20, 2, 0), 0.4, 0.2, 1.4},
      {MakeSurface(SurfaceKind::kTorus, 6, 5, 0), 2 * kPi, 0, 1.5},
  };
  for (const Case& one : cases) {
    const auto found = FitSurface(SamplesOf(one.surface, one.turn_rad, one.from, one.to), 0.002);
    ASSERT_TRUE(found.has_value());
    ASSERT_EQ(found->kind, one.surface.kind);
    EXPECT_LT(found->misfit_mm, 1e-7);
    if (one.surface.kind != SurfaceKind::kCone) {
      EXPECT_NEAR(found->radius_mm, one.surface.radius_mm, 1e-5);
    }
    EXPECT_NEAR(found->minor_radius_mm, one.surface.minor_radius_mm, 1e-5);
    EXPECT_NEAR(found->half_angle_rad, one.surface.half_angle_rad, 1e-6);
    if (one.surface.kind != SurfaceKind::kSphere) {
      EXPECT_LT(found->axis_F.direction.cross(one.surface.axis_F.direction).norm(), 1e-6);
    }
  }
}

TEST(FittedSurfaces, NothingIsForcedIntoAName) {
  // A saddle, and a cylinder pressed oval by more than the tolerance.
  SurfaceSamples saddle;
  SurfaceSamples oval;
  for (int i = 0; i < 9; ++i) {
    for (int j = 0; j < 9; ++j) {
      const double x = i - 4;
      const double y = j - 4;
      saddle.points.emplace_back(x, y, 0.05 * (x * x - y * y));
      saddle.normals.push_back(Vec3(-0.1 * x, 0.1 * y, 1).normalized());
      const double turn = 2 * kPi * i / 9;
      oval.points.emplace_back(10 * std::cos(turn), 9.9 * std::sin(turn), y);
      oval.normals.push_back(Vec3(9.9 * std::cos(turn), 10 * std::sin(turn), 0).normalized());
    }
  }
  EXPECT_FALSE(FitSurface(saddle, 0.002).has_value());
  EXPECT_FALSE(FitSurface(oval, 0.002).has_value());
}

std::vector<Vec3> Round(double a, double b, double rise, double turn_rad) {
  std::vector<Vec3> points;
  for (int i = 0; i <= 24; ++i) {
    const double t = turn_rad * i / 24;
    points.emplace_back(5 + a * std::cos(t), b * std::sin(t) - 2, 3 + rise * t);
  }
  return points;
}

TEST(FittedCurves, LinesCirclesAndEllipses) {
  std::vector<Vec3> line;
  for (int i = 0; i < 12; ++i) line.emplace_back(1 + 0.3 * i * i, 2 + 0.6 * i * i, 3);
  EXPECT_EQ(FitCurve(line, 0.002).kind, CurveKind::kLine);
  const FittedCurve circle = FitCurve(Round(7, 7, 0, 2), 0.002);
  ASSERT_EQ(circle.kind, CurveKind::kCircle);
  EXPECT_NEAR(circle.radius_mm, 7, 1e-9);
  EXPECT_LT((circle.axis.point_mm - Vec3(5, -2, 3)).norm(), 1e-8);
  EXPECT_LT((circle.axis.direction - Vec3::UnitZ()).norm(), 1e-9);
  EXPECT_EQ(FitCurve(Round(7, 7, 0, 2 * kPi), 0.002).kind, CurveKind::kCircle);
  EXPECT_EQ(FitCurve(Round(7, 5, 0, 2 * kPi), 0.002).kind, CurveKind::kEllipse);
  EXPECT_EQ(FitCurve(Round(7, 7, 0.1, 6), 0.002).kind, CurveKind::kOther);
}

// A flank whose line leans by 30 degrees, about an axis through (3, -2, 0), right- and left-handed.
TEST(FitScrew, FindsAxisAndPitchOfAThreadsFlank) {
  for (const double pitch_mm : {1.5, -2.0}) {
    SCOPED_TRACE(pitch_mm);
    SurfaceSamples samples;
    const double rise = pitch_mm / (2 * kPi);
    const double lean = std::tan(30 * kRadPerDeg);
    for (int i = 0; i < 120; ++i) {
      const double angle = 0.05 * i;
      const double radius_mm = 4.0 + 0.2 * (i % 6);
      const Vec3 out(std::cos(angle), std::sin(angle), 0);
      const Vec3 round(-std::sin(angle), std::cos(angle), 0);
      samples.points.push_back(Vec3(3, -2, 0) + radius_mm * out + (rise * angle + lean * radius_mm) * Vec3::UnitZ());
      samples.normals.push_back((radius_mm * round + rise * Vec3::UnitZ()).cross(out + lean * Vec3::UnitZ()).normalized());
    }
    const std::optional<Surface> found = FitScrew(samples);
    ASSERT_TRUE(found.has_value());
    EXPECT_EQ(found->kind, SurfaceKind::kHelical);
    EXPECT_NEAR(found->pitch_mm, pitch_mm, 1e-6);
    EXPECT_NEAR(found->reach_mm, 5, 1e-6);
    EXPECT_NEAR(found->radius_mm, 4, 1e-6);
    EXPECT_LT((found->axis_F.point_mm - Vec3(3, -2, 0)).cross(found->axis_F.direction).norm(), 1e-6);
    EXPECT_FALSE(FitSurface(samples, 0.002).has_value());
  }
}

}  // namespace
}  // namespace fitwright::solid
