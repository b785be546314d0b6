// A screw whose thread is modelled turn by turn, by the faces that such a file has.
#include "fitwright/recognize/threads.h"

#include <gtest/gtest.h>

#include "fitwright/solid/primitives.h"
#include "tests/recognize/round_trip.h"

namespace fitwright::recognize_test {
namespace {

using solid::Bend;
using solid::CurveKind;
using solid::GraphFace;
using solid::SurfaceKind;

constexpr double kLength_mm = 20;

// Two flanks, their crest and two ends, with the edges between them as far as reading asks for them.
struct Screw {
  double major_mm = 10;
  double minor_mm = 8.2;
  double pitch_mm = 1.5;  // below 0 left-handed

  GraphFace Plane(double z) const {
    GraphFace face;
    face.surface.kind = SurfaceKind::kPlane;
    face.normal_F = z > 0 ? Vec3::UnitZ() : Vec3(-Vec3::UnitZ());
    face.surface.axis_F = {Vec3(0, 0, z), face.normal_F};
    face.inner_F_mm = Vec3(0, 0, z);
    face.area_mm2 = 0.25 * kPi * major_mm * major_mm;
    return face;
  }
  GraphFace Round(SurfaceKind kind, double radius_mm) const {
    GraphFace face;
    face.surface.kind = kind;
    face.surface.axis_F = {Vec3(0, 0, 0.5 * kLength_mm), Vec3::UnitZ()};
    face.surface.radius_mm = radius_mm;
    if (kind == SurfaceKind::kHelical) {
      face.surface.radius_mm = 0.5 * minor_mm;
      face.surface.reach_mm = 0.5 * major_mm;
      face.surface.pitch_mm = pitch_mm;
    }
    face.inner_F_mm = Vec3(radius_mm, 0, 0.5 * kLength_mm);
    face.normal_F = Vec3::UnitX();
    face.area_mm2 = 100;
    face.turn_share = 1;
    return face;
  }
  solid::FaceEdge Edge(CurveKind kind, std::size_t a, std::size_t b, double radius_mm, double from, double to) const {
    solid::FaceEdge edge;
    edge.kind = kind;
    edge.face_a = a;
    edge.face_b = b;
    edge.start_F_mm = Vec3(radius_mm, 0, from);
    edge.end_F_mm = Vec3(radius_mm, 0, to);
    edge.middle_F_mm = Vec3(-radius_mm, 0, 0.5 * (from + to));
    edge.closed = from == to;
    edge.length_mm = 2 * kPi * radius_mm;
    edge.axis_F = {Vec3(0, 0, from), Vec3::UnitZ()};
    edge.radius_mm = radius_mm;
    edge.bend = Bend::kConvex;
    return edge;
  }
  solid::FaceGraph Graph() const {
    solid::FaceGraph graph;
    graph.faces = {Plane(0), Plane(kLength_mm), Round(SurfaceKind::kHelical, 0.45 * major_mm), Round(SurfaceKind::kHelical, 0.45 * major_mm),
                   Round(SurfaceKind::kCylinder, 0.5 * major_mm)};
    graph.edges = {Edge(CurveKind::kCircle, 0, 2, 0.5 * major_mm, 0, 0), Edge(CurveKind::kCircle, 1, 4, 0.5 * major_mm, kLength_mm, kLength_mm),
                   Edge(CurveKind::kOther, 2, 4, 0.5 * major_mm, 0, kLength_mm), Edge(CurveKind::kOther, 2, 3, 0.5 * minor_mm, 0, kLength_mm),
                   Edge(CurveKind::kOther, 3, 4, 0.5 * major_mm, 0, kLength_mm)};
    for (std::size_t e = 0; e < graph.edges.size(); ++e) {
      for (const std::size_t f : {graph.edges[e].face_a, graph.edges[e].face_b}) {
        if (graph.faces[f].loops.empty()) graph.faces[f].loops.push_back({true, {}});
        graph.faces[f].loops.front().edges.push_back(e);
      }
    }
    return graph;
  }
  Result<recognize::PartReading> Read() const {
    const auto blank = solid::MakeCylinder({Vec3::Zero(), Vec3::UnitZ()}, 0, kLength_mm, major_mm);
    return recognize::ReadPart(Graph(), *blank, {PartId("screw"), "steel", {}});
  }
};

const ExternalThread* ThreadOf(const recognize::PartReading& reading) {
  for (const Feature& feature : reading.part.features) {
    if (const auto* thread = std::get_if<ExternalThread>(&feature.shape)) return thread;
  }
  return nullptr;
}

TEST(Threads, ModelledTurnsAreOneThreadOnTheirDiameter) {
  const Screw screw;
  const auto reading = screw.Read();
  ASSERT_TRUE(reading);
  ExpectEachFaceOnce(*reading, 5);
  EXPECT_TRUE(reading->unread.empty());
  const ExternalThread* thread = ThreadOf(*reading);
  ASSERT_NE(thread, nullptr);
  EXPECT_EQ(thread->designation, "M10");
  EXPECT_NEAR(thread->length_mm, kLength_mm, 1e-9);
  const auto& outer = std::get<OuterDiameter>(reading->part.Find(thread->on)->shape);
  EXPECT_NEAR(outer.diameter.nominal_mm, 10, 1e-9);
}

TEST(Threads, SizeThatNoTableHasStaysUnreadWithItsMeasures) {
  Screw screw;
  screw.pitch_mm = 1.9;
  const auto reading = screw.Read();
  ASSERT_TRUE(reading);
  ExpectEachFaceOnce(*reading, 5);
  EXPECT_EQ(ThreadOf(*reading), nullptr);
  ASSERT_EQ(reading->unread.size(), 1U);
  EXPECT_NE(reading->unread[0].why.find("pitch 1.9 mm"), std::string::npos) << reading->unread[0].why;
}

}  // namespace
}  // namespace fitwright::recognize_test
