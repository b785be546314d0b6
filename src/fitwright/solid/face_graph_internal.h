// Private to this layer: the pieces of a face graph while it is made. The solid's own frame, mm.
#pragma once

#include <BRepAdaptor_Surface.hxx>
#include <TopTools_IndexedMapOfShape.hxx>
#include <TopoDS_Edge.hxx>
#include <TopoDS_Face.hxx>
#include <TopoDS_Solid.hxx>
#include <optional>
#include <vector>

#include "fitwright/solid/face_graph.h"

namespace fitwright::solid {

// A face as the solid holds it, before neighbours are joined.
struct RawFace {
  TopoDS_Face face;
  GraphFace graph;
  double outward = 1;           // sign of the surface's own normal that points out of the material
  Vec3 turn_middle_F = Vec3::Zero();  // a point half way round the turn that the face covers
  double turn_half_rad = 0;
  double extent_mm = 0;         // diagonal of the box
};

// An edge between two uses of it; `edge` runs forward.
struct RawEdge {
  TopoDS_Edge edge;
  FaceEdge graph;               // face_a, face_b: places among the raw faces
  std::size_t start = 0;        // vertices, by number
  std::size_t end = 0;
  std::vector<Vec3> line_F;     // along it, both ends included; straight edges have two points
  Box3 box_F;
  bool seam = false;
};

// An edge as one face's border meets it, the face to the left seen from outside.
struct EdgeUse {
  std::size_t edge = 0;
  bool reversed = false;
};

struct RawGraph {
  std::vector<RawFace> faces;
  std::vector<RawEdge> edges;
  std::vector<std::vector<EdgeUse>> uses;  // of each face, wire after wire, in order
};

// face_surface.cc
// The elementary surface behind the kernel's, its direction by face_graph.h's rule; a plane's normal as
// the surface has it, not yet out of the material. kOther when the kernel knows no better name.
Surface ElementarySurface(const BRepAdaptor_Surface& surface);
// To what share of itself a named face's measure is refined. On splines the adaptive quadrature is slow
// and the plain one out by some thousandths; on faces without a name the plain one has to do.
double QuadratureOf(const TopoDS_Face& face);
// Each curved surface's axis point moved to the middle of what the points span along the axis.
void CentreAxis(const std::vector<Vec3>& points, Surface& surface);
// The two are one surface, within the tolerance, as far as `extent_mm` from where they meet.
bool IsSameSurface(const Surface& a, const Surface& b, double extent_mm, double tolerance_mm);
Vec3 CanonicalDirection(const Vec3& direction);

// face_edges.cc
void AddEdges(const TopoDS_Solid& solid, const FaceGraphSettings& settings, RawGraph& graph);
void Include(const Vec3& point, Box3& box);
Box3 EmptyBox();

// face_measures.cc: the surface where the kernel has no name for it, area, box, inner point, normal
// there, hollow, the turn covered.
void MeasureFace(const RawGraph& graph, std::size_t face, double tolerance_mm, RawFace& raw);

// face_joining.cc: neighbours on one surface become one face, loops are laid, split edges joined.
FaceGraph JoinFaces(RawGraph raw, const FaceGraphSettings& settings);

// face_loops.cc
// Loops of `uses`, closed by the vertices where edges end.
std::vector<std::vector<EdgeUse>> ChainLoops(const std::vector<EdgeUse>& uses,
                                             const std::vector<RawEdge>& edges);
// Which of the loops bound the face from outside; a rim round a curved face's axis does.
std::vector<bool> FindOuterLoops(const GraphFace& face, const std::vector<RawEdge>& edges,
                                 const std::vector<std::vector<EdgeUse>>& loops);

}  // namespace fitwright::solid
