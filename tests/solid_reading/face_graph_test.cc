#include "fitwright/solid/face_graph.h"

#include <gtest/gtest.h>

#include <BRepAlgoAPI_Fuse.hxx>
#include <BRepPrimAPI_MakeBox.hxx>
#include <BRepPrimAPI_MakeCylinder.hxx>
#include <algorithm>
#include <cmath>
#include <gp_Ax2.hxx>

#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/kernel.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/primitives.h"
#include "tests/solid/sample_parts.h"
#include "tests/solid_reading/graph_of.h"

namespace fitwright::solid {
namespace {

std::vector<const GraphFace*> FacesOf(const FaceGraph& graph, SurfaceKind kind) {
  std::vector<const GraphFace*> found;
  for (const GraphFace& face : graph.faces) {
    if (face.surface.kind == kind) found.push_back(&face);
  }
  return found;
}

std::size_t CountBends(const FaceGraph& graph, Bend bend) {
  return static_cast<std::size_t>(std::count_if(graph.edges.begin(), graph.edges.end(),
                                                [&](const FaceEdge& e) { return e.bend == bend; }));
}

std::size_t CountOuter(const GraphFace& face) {
  return static_cast<std::size_t>(std::count_if(face.loops.begin(), face.loops.end(),
                                                [](const FaceLoop& loop) { return loop.outer; }));
}

// A block 60 x 40 x 20 with a hole of 10 through it and one of 6, 12 deep, with a drill's point.
Solid MakeDrilledBlock() {
  const Solid block = *MakeBox({Vec3(0, 0, 0), Vec3(60, 40, 20)});
  const Axis3 through{Vec3(15, 20, 0), Vec3::UnitZ()};
  const Axis3 blind{Vec3(40, 20, 20), -Vec3::UnitZ()};
  return *Cut(block, {*MakeCylinder(through, -1, 21, 10), *MakeCylinder(blind, -1, 12, 6),
                      *MakeFrustum(blind, 12, 12 + 3 / std::tan(59 * kRadPerDeg), 6, 0)});
}

TEST(FaceGraphOf, ADrilledBlock) {
  const FaceGraph graph = GraphOf(MakeDrilledBlock());
  EXPECT_EQ(FacesOf(graph, SurfaceKind::kPlane).size(), 6u);
  ASSERT_EQ(FacesOf(graph, SurfaceKind::kCylinder).size(), 2u);
  ASSERT_EQ(FacesOf(graph, SurfaceKind::kCone).size(), 1u);
  EXPECT_EQ(graph.faces.size(), 9u);
  // 12 edges of the block, two rims of the through hole, one of the blind one: convex; its bottom's
  // rim is concave.
  EXPECT_EQ(CountBends(graph, Bend::kConvex), 15u);
  EXPECT_EQ(CountBends(graph, Bend::kConcave), 1u);
  EXPECT_EQ(graph.edges.size(), 16u);

  const GraphFace& cone = *FacesOf(graph, SurfaceKind::kCone).front();
  EXPECT_TRUE(cone.hollow);
  EXPECT_NEAR(cone.surface.half_angle_rad, 59 * kRadPerDeg, 1e-9);
  EXPECT_NEAR(cone.surface.axis_F.direction.z(), 1, 1e-12);  // widens upwards
  EXPECT_NEAR(cone.turn_share, 1, 1e-9);
  EXPECT_EQ(cone.loops.size(), 1u);
  EXPECT_EQ(CountOuter(cone), 1u);

  for (const GraphFace* wall : FacesOf(graph, SurfaceKind::kCylinder)) {
    EXPECT_TRUE(wall->hollow);
    EXPECT_NEAR(wall->turn_share, 1, 1e-9);
    EXPECT_EQ(wall->loops.size(), 2u);  // its two rims
    EXPECT_EQ(CountOuter(*wall), 2u);
    const bool big = wall->surface.radius_mm > 4;
    EXPECT_NEAR(wall->surface.radius_mm, big ? 5 : 3, 1e-9);
    EXPECT_NEAR(wall->area_mm2, kPi * (big ? 10 * 20 : 6 * 12), 1e-6);
    EXPECT_NEAR(wall->surface.axis_F.point_mm.z(), big ? 10 : 14, 1e-9);
  }
  for (const GraphFace* plane : FacesOf(graph, SurfaceKind::kPlane)) {
    const bool top = plane->surface.axis_F.direction.z() > 0.5;
    const bool bottom = plane->surface.axis_F.direction.z() < -0.5;
    EXPECT_EQ(plane->loops.size(), top ? 3u : bottom ? 2u : 1u);
    EXPECT_EQ(CountOuter(*plane), 1u);
    for (const FaceLoop& loop : plane->loops) EXPECT_EQ(loop.edges.size(), loop.outer ? 4u : 1u);
  }
}

TEST(FaceGraphOf, RimsAreClosedCirclesThatTurnByARightAngle) {
  const FaceGraph graph = GraphOf(MakeDrilledBlock());
  std::size_t circles = 0;
  for (const FaceEdge& edge : graph.edges) {
    if (edge.kind != CurveKind::kCircle) {
      EXPECT_EQ(edge.kind, CurveKind::kLine);
      EXPECT_FALSE(edge.closed);
      EXPECT_NEAR((edge.start_F_mm - edge.end_F_mm).norm(), edge.length_mm, 1e-9);
      continue;
    }
    ++circles;
    EXPECT_TRUE(edge.closed);
    EXPECT_NEAR(edge.length_mm, 2 * kPi * edge.radius_mm, 1e-9);
    EXPECT_NEAR(edge.turn_rad, edge.bend == Bend::kConvex ? kPi / 2 : 59 * kRadPerDeg, 1e-9);
    EXPECT_NEAR((edge.middle_F_mm - edge.axis_F.point_mm).norm(), edge.radius_mm, 1e-9);
  }
  EXPECT_EQ(circles, 4u);
}

// Each face's inner point lies on the solid's surface, with material behind and air before.
void ExpectTrueInnerPoints(const Solid& solid, const FaceGraph& graph) {
  for (const GraphFace& face : graph.faces) {
    EXPECT_FALSE(IsInside(solid, face.inner_F_mm + 1e-3 * face.normal_F));
    EXPECT_TRUE(IsInside(solid, face.inner_F_mm - 1e-3 * face.normal_F));
  }
}

TEST(FaceGraphOf, MeasuresOfDesignsAgreeWithTheSolids) {
  for (const Part& part : testing::AllParts()) {
    SCOPED_TRACE(part.name.text());
    const Solid solid = *MakeDesign(part);
    const FaceGraph graph = GraphOf(solid);
    EXPECT_NEAR(graph.volume_mm3, CalcVolume_mm3(solid), 1e-8 * graph.volume_mm3);
    EXPECT_NEAR(graph.area_mm2, CalcArea_mm2(solid), 1e-7 * graph.area_mm2);
    const Box3 box = CalcBox(solid);
    EXPECT_LT((graph.box_F.min_mm - box.min_mm).norm(), 1e-6);
    EXPECT_LT((graph.box_F.max_mm - box.max_mm).norm(), 1e-6);
    ExpectTrueInnerPoints(solid, graph);
    for (const GraphFace& face : graph.faces) {
      EXPECT_NE(face.surface.kind, SurfaceKind::kOther);
      EXPECT_GE(CountOuter(face), 1u);
    }
  }
}

TEST(FaceGraphOf, EveryEdgeStandsInTheLoopsOfItsTwoFaces) {
  for (const Part& part : testing::AllParts()) {
    SCOPED_TRACE(part.name.text());
    const FaceGraph graph = GraphOf(*MakeDesign(part));
    std::vector<std::vector<std::size_t>> met(graph.edges.size());
    for (std::size_t i = 0; i < graph.faces.size(); ++i) {
      for (const FaceLoop& loop : graph.faces[i].loops) {
        for (const std::size_t edge : loop.edges) met[edge].push_back(i);
      }
    }
    for (std::size_t i = 0; i < graph.edges.size(); ++i) {
      std::vector<std::size_t> faces = {graph.edges[i].face_a, graph.edges[i].face_b};
      std::sort(faces.begin(), faces.end());
      EXPECT_EQ(met[i], faces);
    }
  }
}

// A block on a block and a bar in two halves: the kernel keeps the split where they meet.
TEST(FaceGraphOf, NeighboursOnOneSurfaceAreOneFace) {
  const TopoDS_Shape low = BRepPrimAPI_MakeBox(gp_Pnt(0, 0, 0), 30, 20, 10).Shape();
  const TopoDS_Shape high = BRepPrimAPI_MakeBox(gp_Pnt(0, 0, 10), 30, 20, 5).Shape();
  const FaceGraph block = GraphOf(Wrap(BRepAlgoAPI_Fuse(low, high).Shape()));
  EXPECT_EQ(block.faces.size(), 6u);
  EXPECT_EQ(block.edges.size(), 12u);
  EXPECT_EQ(CountBends(block, Bend::kConvex), 12u);
  std::size_t joined = 0;
  for (const GraphFace& face : block.faces) joined += face.sources.size() == 2 ? 1 : 0;
  EXPECT_EQ(joined, 4u);

  const gp_Ax2 axis(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1));
  const gp_Ax2 turned(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1), gp_Dir(-1, 0, 0));
  const TopoDS_Shape half = BRepPrimAPI_MakeCylinder(axis, 8, 30, kPi).Shape();
  const TopoDS_Shape other = BRepPrimAPI_MakeCylinder(turned, 8, 30, kPi).Shape();
  const FaceGraph bar = GraphOf(Wrap(BRepAlgoAPI_Fuse(half, other).Shape()));
  ASSERT_EQ(bar.faces.size(), 3u);
  ASSERT_EQ(bar.edges.size(), 2u);
  const GraphFace& wall = *FacesOf(bar, SurfaceKind::kCylinder).front();
  EXPECT_NEAR(wall.turn_share, 1, 1e-9);
  EXPECT_FALSE(wall.hollow);
  EXPECT_EQ(wall.loops.size(), 2u);
  for (const FaceEdge& rim : bar.edges) {
    EXPECT_TRUE(rim.closed);
    EXPECT_NEAR(rim.length_mm, 16 * kPi, 1e-9);
    EXPECT_NEAR((rim.middle_F_mm + rim.start_F_mm - 2 * rim.axis_F.point_mm).norm(), 0, 1e-9);
  }
}

TEST(FaceGraphOf, ARoundedPocketHasTangentWalls) {
  const Solid block = *MakeBox({Vec3(0, 0, 0), Vec3(60, 40, 20)});
  RoundedRectangle shape;
  shape.centre_mm = Vec3(30, 20, 12);
  shape.length_mm = 40;
  shape.width_mm = 20;
  shape.corner_radius_mm = 4;
  shape.height_mm = 10;
  const FaceGraph graph = GraphOf(*Cut(block, {*MakeRoundedRectangle(shape)}));
  const auto corners = FacesOf(graph, SurfaceKind::kCylinder);
  ASSERT_EQ(corners.size(), 4u);
  for (const GraphFace* corner : corners) {
    EXPECT_TRUE(corner->hollow);
    EXPECT_NEAR(corner->turn_share, 0.25, 1e-9);
    ASSERT_EQ(corner->loops.size(), 1u);
    EXPECT_TRUE(corner->loops.front().outer);
    EXPECT_EQ(corner->loops.front().edges.size(), 4u);
  }
  EXPECT_EQ(CountBends(graph, Bend::kTangent), 8u);
  EXPECT_EQ(CountBends(graph, Bend::kConcave), 8u);       // round the floor
  EXPECT_EQ(CountBends(graph, Bend::kConvex), 12u + 8u);  // the block and the pocket's mouth
}

TEST(FaceGraphOf, SeveralBodiesGiveOneGraphEach) {
  const Solid block = *MakeBox({Vec3(0, 0, 0), Vec3(30, 20, 10)});
  const Solid slab = *MakeBox({Vec3(10, -1, -1), Vec3(12, 21, 11)});
  const auto graphs = MakeFaceGraphs(*Cut(block, {slab}));
  ASSERT_TRUE(graphs.has_value());
  ASSERT_EQ(graphs->size(), 2u);
  for (const FaceGraph& graph : *graphs) EXPECT_EQ(graph.faces.size(), 6u);
  EXPECT_EQ(MakeFaceGraphs(Solid()).error().code, ErrorCode::kOutOfRange);
}

}  // namespace
}  // namespace fitwright::solid
