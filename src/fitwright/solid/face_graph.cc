#include "fitwright/solid/face_graph.h"

#include <BRepGProp.hxx>
#include <GProp_GProps.hxx>
#include <TopExp.hxx>
#include <TopExp_Explorer.hxx>
#include <TopoDS.hxx>
#include <algorithm>
#include <cmath>

#include "fitwright/solid/face_graph_internal.h"
#include "fitwright/solid/kernel.h"

namespace fitwright::solid {
namespace {

// Negative when the solid is written inside out. The plain quadrature, good enough for the sign.
double RoughVolume_mm3(const TopoDS_Solid& solid) {
  GProp_GProps props;
  BRepGProp::VolumeProperties(solid, props);
  return props.Mass();
}

// As fine as the least tractable of the faces allows.
double Volume_mm3(const TopoDS_Solid& solid, const RawGraph& raw) {
  double quadrature = kQuadrature;
  for (const RawFace& face : raw.faces) {
    if (!IsElementary(face.graph.surface.kind)) return std::abs(RoughVolume_mm3(solid));
    quadrature = std::max(quadrature, QuadratureOf(face.face));
  }
  GProp_GProps props;
  BRepGProp::VolumeProperties(solid, props, quadrature, false, false);
  return std::abs(props.Mass());
}

FaceGraph MakeOne(const TopoDS_Solid& solid, const std::vector<std::string>& labels,
                  const FaceGraphSettings& settings) {
  const bool inside_out = RoughVolume_mm3(solid) < 0;
  TopTools_IndexedMapOfShape faces;
  TopExp::MapShapes(solid, TopAbs_FACE, faces);
  RawGraph raw;
  for (int i = 1; i <= faces.Extent(); ++i) {
    RawFace face;
    face.face = TopoDS::Face(faces.FindKey(i));
    face.outward = (face.face.Orientation() == TopAbs_REVERSED) == inside_out ? 1 : -1;
    face.graph.surface = ElementarySurface(BRepAdaptor_Surface(face.face, false));
    face.graph.sources = {static_cast<std::size_t>(i - 1)};
    if (raw.faces.size() < labels.size()) face.graph.label = labels[raw.faces.size()];
    raw.faces.push_back(std::move(face));
  }
  AddEdges(solid, settings, raw);
  for (std::size_t i = 0; i < raw.faces.size(); ++i) {
    MeasureFace(raw, i, settings.tolerance_mm, raw.faces[i]);
  }
  const double volume_mm3 = Volume_mm3(solid, raw);
  FaceGraph graph = JoinFaces(std::move(raw), settings);
  graph.volume_mm3 = volume_mm3;
  graph.tolerance_mm = settings.tolerance_mm;
  graph.box_F = EmptyBox();
  for (const GraphFace& face : graph.faces) {
    Include(face.box_F.min_mm, graph.box_F);
    Include(face.box_F.max_mm, graph.box_F);
  }
  return graph;
}

}  // namespace

Result<std::vector<FaceGraph>> MakeFaceGraphs(const Solid& solid, const FaceGraphSettings& settings,
                                              const std::vector<std::string>& labels) {
  if (solid.empty()) return Unexpected(RangeError("no solid to look at", "", "give a solid"));
  return Guard("reading a solid's faces", [&]() -> Result<std::vector<FaceGraph>> {
    std::vector<FaceGraph> graphs;
    std::size_t label = 0;
    for (TopExp_Explorer it(ShapeOf(solid), TopAbs_SOLID); it.More(); it.Next()) {
      const TopoDS_Solid one = TopoDS::Solid(it.Current());
      std::vector<std::string> own;
      TopTools_IndexedMapOfShape faces;
      TopExp::MapShapes(one, TopAbs_FACE, faces);
      for (int i = 0; i < faces.Extent() && label < labels.size(); ++i) {
        own.push_back(labels[label++]);
      }
      graphs.push_back(MakeOne(one, own, settings));
    }
    return graphs;
  });
}

}  // namespace fitwright::solid
