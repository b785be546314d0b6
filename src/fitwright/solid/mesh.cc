#include "fitwright/solid/mesh.h"

#include <BRepBuilderAPI_Copy.hxx>
#include <BRepMesh_IncrementalMesh.hxx>
#include <BRep_Tool.hxx>
#include <Poly_Triangulation.hxx>
#include <TopExp.hxx>
#include <TopExp_Explorer.hxx>
#include <TopLoc_Location.hxx>
#include <TopTools_IndexedDataMapOfShapeListOfShape.hxx>
#include <TopoDS.hxx>
#include <utility>

#include "fitwright/solid/kernel.h"
#include "fitwright/solid/lines.h"

namespace fitwright::solid {
namespace {

constexpr double kTurn_rad = 0.25;  // between neighbouring chords

void AddFace(const TopoDS_Face& face, Mesh& out) {
  TopLoc_Location place;
  const Handle(Poly_Triangulation) mesh = BRep_Tool::Triangulation(face, place);
  if (mesh.IsNull()) return;
  const auto first = static_cast<std::uint32_t>(out.points_mm.size());
  for (int i = 1; i <= mesh->NbNodes(); ++i)
    out.points_mm.push_back(ToVec(mesh->Node(i).Transformed(place.Transformation())));
  const bool inside_out = face.Orientation() == TopAbs_REVERSED;
  for (int i = 1; i <= mesh->NbTriangles(); ++i) {
    int a = 0;
    int b = 0;
    int c = 0;
    mesh->Triangle(i).Get(a, b, c);
    if (inside_out) std::swap(b, c);
    const auto at = [&](int node) { return first + static_cast<std::uint32_t>(node - 1); };
    out.triangles.push_back({at(a), at(b), at(c)});
  }
}

// Where a round face meets itself, or two faces run into each other, nobody sees an edge.
bool IsSeen(const TopoDS_Edge& edge, const TopTools_ListOfShape& faces) {
  if (BRep_Tool::Degenerated(edge) || faces.Size() < 2) return false;
  const TopoDS_Face& one = TopoDS::Face(faces.First());
  const TopoDS_Face& other = TopoDS::Face(faces.Last());
  if (one.IsSame(other)) return false;
  return BRep_Tool::Continuity(edge, one, other) == GeomAbs_C0;
}

}  // namespace

Result<Mesh> MakeMesh(const Solid& solid, double chord_mm) {
  return Guard("meshing a solid", [&]() -> Result<Mesh> {
    Mesh out;
    if (solid.empty()) return out;
    const TopoDS_Shape copy = BRepBuilderAPI_Copy(ShapeOf(solid)).Shape();
    const BRepMesh_IncrementalMesh mesher(copy, chord_mm, false, kTurn_rad, false);
    for (TopExp_Explorer it(copy, TopAbs_FACE); it.More(); it.Next())
      AddFace(TopoDS::Face(it.Current()), out);
    TopTools_IndexedDataMapOfShapeListOfShape faces_of;
    TopExp::MapShapesAndAncestors(copy, TopAbs_EDGE, TopAbs_FACE, faces_of);
    for (int i = 1; i <= faces_of.Extent(); ++i) {
      const TopoDS_Edge& edge = TopoDS::Edge(faces_of.FindKey(i));
      if (IsSeen(edge, faces_of.FindFromIndex(i)))
        out.edges_mm.push_back(SampleCurve(BRepAdaptor_Curve(edge), chord_mm));
    }
    return out;
  });
}

}  // namespace fitwright::solid
