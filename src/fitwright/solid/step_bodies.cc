#include <BRepBuilderAPI_MakeSolid.hxx>
#include <BRepBuilderAPI_Sewing.hxx>
#include <BRepCheck_Analyzer.hxx>
#include <BRepGProp.hxx>
#include <BRepLib.hxx>
#include <BRep_Tool.hxx>
#include <GProp_GProps.hxx>
#include <TopExp.hxx>
#include <TopExp_Explorer.hxx>
#include <TopTools_IndexedDataMapOfShapeListOfShape.hxx>
#include <TopoDS.hxx>
#include <TopoDS_Shell.hxx>
#include <TopoDS_Solid.hxx>
#include <cmath>

#include "fitwright/solid/kernel.h"
#include "fitwright/solid/step_transfer.h"

namespace fitwright::solid {
namespace {

// Skins whose edges lie up to this far apart are sewn together.
constexpr double kSewing_mm = 0.01;

std::string Called(const std::string& name) { return name.empty() ? "an unnamed body" : name; }

// Every edge borders two faces, or one twice.
bool IsClosed(const TopoDS_Shape& shape) {
  TopTools_IndexedDataMapOfShapeListOfShape edges;
  TopExp::MapShapesAndAncestors(shape, TopAbs_EDGE, TopAbs_FACE, edges);
  if (edges.IsEmpty()) return shape.ShapeType() == TopAbs_SHELL && BRep_Tool::IsClosed(shape);
  for (int i = 1; i <= edges.Extent(); ++i) {
    const TopoDS_Edge edge = TopoDS::Edge(edges.FindKey(i));
    const bool border =
        edge.Orientation() == TopAbs_FORWARD || edge.Orientation() == TopAbs_REVERSED;
    if (!border || BRep_Tool::Degenerated(edge)) continue;
    if (edges(i).Extent() >= 2) continue;
    if (edges(i).IsEmpty() || !BRep_Tool::IsClosed(edge, TopoDS::Face(edges(i).First()))) {
      return false;
    }
  }
  return true;
}

double Volume_mm3(const TopoDS_Shape& shape) {
  GProp_GProps props;
  BRepGProp::VolumeProperties(shape, props);
  return props.Mass();
}

// One shell out of loose faces or a gaping one; null when it does not close.
TopoDS_Shape Sewn(const TopoDS_Shape& skin) {
  BRepBuilderAPI_Sewing sewing(kSewing_mm);
  sewing.Add(skin);
  sewing.Perform();
  TopoDS_Shape found;
  int shells = 0;
  for (TopExp_Explorer it(sewing.SewedShape(), TopAbs_SHELL); it.More(); it.Next()) {
    found = it.Current();
    ++shells;
  }
  return shells == 1 && IsClosed(found) ? found : TopoDS_Shape();
}

// A body bounded by the skin, the right way out; null when it encloses nothing.
TopoDS_Shape Filled(const TopoDS_Shape& skin) {
  TopoDS_Solid body = BRepBuilderAPI_MakeSolid(TopoDS::Shell(skin)).Solid();
  if (!BRepLib::OrientClosedSolid(body) || !(std::abs(Volume_mm3(body)) > 0)) return {};
  return body;
}

// What is wrong with a body is mended where that is safe, and said.
TopoDS_Shape Mended(const TopoDS_Shape& body, const std::string& name,
                    std::vector<std::string>& notes) {
  if (!IsClosed(body)) {
    const TopoDS_Shape skin = Sewn(body);
    const TopoDS_Shape closed = skin.IsNull() ? TopoDS_Shape() : Filled(skin);
    notes.push_back(closed.IsNull()
                        ? Called(name) + ": its skin is not closed, so it bounds no body; left out"
                        : Called(name) + ": its skin gaped and was sewn together");
    return closed;
  }
  const double volume_mm3 = Volume_mm3(body);
  if (!(std::abs(volume_mm3) > 0)) {
    notes.push_back(Called(name) + ": encloses no volume; left out");
    return {};
  }
  if (volume_mm3 < 0) {
    TopoDS_Solid turned = TopoDS::Solid(body);
    BRepLib::OrientClosedSolid(turned);
    notes.push_back(Called(name) + ": was written inside out and has been turned");
    return turned;
  }
  if (!BRepCheck_Analyzer(body).IsValid()) {
    notes.push_back(Called(name) +
                    ": its boundary crosses itself or does not fit together; what is read from it "
                    "may be wrong there");
  }
  return body;
}

}  // namespace

std::vector<TopoDS_Shape> FindBodies(const TopoDS_Shape& shape, const std::string& name,
                                     std::vector<std::string>& notes) {
  std::vector<TopoDS_Shape> bodies;
  for (TopExp_Explorer it(shape, TopAbs_SOLID); it.More(); it.Next()) {
    const TopoDS_Shape body = Mended(it.Current(), name, notes);
    if (!body.IsNull()) bodies.push_back(body);
  }
  for (TopExp_Explorer it(shape, TopAbs_SHELL, TopAbs_SOLID); it.More(); it.Next()) {
    const bool closed = IsClosed(it.Current());
    const TopoDS_Shape skin = closed ? it.Current() : Sewn(it.Current());
    const TopoDS_Shape body = skin.IsNull() ? TopoDS_Shape() : Filled(skin);
    if (body.IsNull()) {
      notes.push_back(Called(name) + ": a skin that is not closed bounds no body; left out");
      continue;
    }
    notes.push_back(Called(name) + ": written as a skin; it closes and was taken as a body");
    bodies.push_back(body);
  }
  std::size_t loose = 0;
  for (TopExp_Explorer it(shape, TopAbs_FACE, TopAbs_SHELL); it.More(); it.Next()) ++loose;
  const TopoDS_Shape skin = loose > 3 && bodies.empty() ? Sewn(shape) : TopoDS_Shape();
  const TopoDS_Shape body = skin.IsNull() ? TopoDS_Shape() : Filled(skin);
  if (!body.IsNull()) {
    notes.push_back(Called(name) + ": written as loose faces; they close and were sewn together");
    bodies.push_back(body);
  } else if (loose > 0) {
    notes.push_back(
        fmt::format("{}: {} loose faces that bound no body; left out", Called(name), loose));
  }
  return bodies;
}

}  // namespace fitwright::solid
