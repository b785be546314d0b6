// Face graphs as the kernel never gives them, read in this process: figures, kinds, bends and
// neighbours of a true one changed. The reading must come to an end with every face in one feature
// or in one region left.
#include <fuzzer/FuzzedDataProvider.h>

#include <cstdlib>
#include <string>
#include <vector>

#include "tests/support/design_trip.h"
#include "tests/support/random_design.h"

namespace {

using namespace fitwright;

struct Base {
  solid::Solid solid;
  solid::FaceGraph graph;
};

const std::vector<Base>& Bases() {
  static const std::vector<Base> bases = [] {
    std::vector<Base> made;
    const testing::TripFolder folder;
    for (std::uint64_t seed = 1; made.size() < 16; ++seed) {
      std::string why;
      const auto part = testing::LoadDesign(
          folder, testing::MakeRandomDesign(seed, {seed % 2 == 0, 6}).sheet, why);
      const auto built = part ? testing::BuildDesign(*part) : std::nullopt;
      const auto graphs =
          built ? solid::MakeFaceGraphs(*built)
                : Result<std::vector<solid::FaceGraph>>(std::vector<solid::FaceGraph>{});
      if (graphs && graphs->size() == 1) made.push_back({*built, graphs->front()});
    }
    return made;
  }();
  return bases;
}

Vec3 SomeVector(FuzzedDataProvider& from) {
  switch (from.ConsumeIntegralInRange(0, 3)) {
    case 0:
      return Vec3::UnitX();
    case 1:
      return -Vec3::UnitY();
    case 2:
      return Vec3::UnitZ();
    default:
      return Vec3(from.ConsumeFloatingPointInRange(-50.0, 50.0),
                  from.ConsumeFloatingPointInRange(-50.0, 50.0),
                  from.ConsumeFloatingPointInRange(0.01, 50.0));
  }
}

void ChangeFace(FuzzedDataProvider& from, solid::FaceGraph& graph) {
  solid::GraphFace& face =
      graph.faces[from.ConsumeIntegralInRange<std::size_t>(0, graph.faces.size() - 1)];
  switch (from.ConsumeIntegralInRange(0, 9)) {
    case 0:
      face.surface.kind = static_cast<solid::SurfaceKind>(from.ConsumeIntegralInRange(0, 5));
      break;
    case 1:
      face.surface.radius_mm = from.ConsumeFloatingPointInRange(0.0, 100.0);
      break;
    case 2:
      face.surface.minor_radius_mm = from.ConsumeFloatingPointInRange(0.0, 20.0);
      break;
    case 3:
      face.surface.half_angle_rad = from.ConsumeFloatingPointInRange(1e-6, 1.57);
      break;
    case 4:
      face.surface.axis_F.direction = SomeVector(from).normalized();
      break;
    case 5:
      face.surface.axis_F.point_mm += SomeVector(from);
      break;
    case 6:
      face.hollow = !face.hollow;
      break;
    case 7:
      face.turn_share = from.ConsumeFloatingPointInRange(0.0, 1.0);
      break;
    case 8:
      face.inner_F_mm += SomeVector(from);
      break;
    default:
      if (!face.loops.empty() && !face.loops.back().edges.empty())
        face.loops.back().edges.pop_back();
      else
        face.loops.clear();
  }
}

void ChangeEdge(FuzzedDataProvider& from, solid::FaceGraph& graph) {
  if (graph.edges.empty()) return;
  solid::FaceEdge& edge =
      graph.edges[from.ConsumeIntegralInRange<std::size_t>(0, graph.edges.size() - 1)];
  switch (from.ConsumeIntegralInRange(0, 6)) {
    case 0:
      edge.bend = static_cast<solid::Bend>(from.ConsumeIntegralInRange(0, 2));
      break;
    case 1:
      edge.kind = static_cast<solid::CurveKind>(from.ConsumeIntegralInRange(0, 3));
      break;
    case 2:
      edge.face_b = from.ConsumeIntegralInRange<std::size_t>(0, graph.faces.size() - 1);
      break;
    case 3:
      edge.start_F_mm += SomeVector(from);
      break;
    case 4:
      edge.middle_F_mm += SomeVector(from);
      break;
    case 5:
      edge.radius_mm = from.ConsumeFloatingPointInRange(0.0, 100.0);
      break;
    default:
      edge.axis_F.direction = SomeVector(from).normalized();
  }
}

void Must(bool holds) {
  if (!holds) std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  FuzzedDataProvider from(data, size);
  const Base& base = Bases()[from.ConsumeIntegralInRange<std::size_t>(0, Bases().size() - 1)];
  solid::FaceGraph graph = base.graph;
  for (int changes = 0; from.remaining_bytes() > 0 && changes < 12; ++changes) {
    if (from.ConsumeBool())
      ChangeFace(from, graph);
    else
      ChangeEdge(from, graph);
  }
  const auto reading = recognize::ReadPart(graph, base.solid, {PartId("any"), "steel"});
  if (!reading) return 0;
  std::vector<int> seen(graph.faces.size(), 0);
  for (const auto& [name, faces] : reading->faces) {
    for (const std::size_t f : faces) ++seen.at(f);
  }
  for (const auto& region : reading->unread) {
    for (const std::size_t f : region.faces) ++seen.at(f);
  }
  for (const int times : seen) Must(times == 1);
  const auto text = files::WritePart(reading->part);
  Must(!text || (text->find("nan") == std::string::npos && text->find("inf") == std::string::npos));
  return 0;
}
