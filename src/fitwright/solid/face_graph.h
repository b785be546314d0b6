// The boundary of one solid as plain data, faces and edges with what lies beside them, so that
// features can be read without the kernel. All in the solid's own frame F, mm, rad.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/solid/solid.h"
#include "fitwright/units/geometry.h"

namespace fitwright::solid {

// kHelical: comes to lie on itself by a turn about an axis with an advance along it, as a thread's flank.
enum class SurfaceKind { kPlane, kCylinder, kCone, kSphere, kTorus, kHelical, kOther };
// One of the elementary kinds, whose measures say where it is.
inline bool IsElementary(SurfaceKind kind) { return kind != SurfaceKind::kHelical && kind != SurfaceKind::kOther; }

// An elementary surface, whatever the file wrote it as. Members that a kind does not name are zero.
struct Surface {
  SurfaceKind kind = SurfaceKind::kOther;
  // plane: a point on it and the normal out of the material. Others: the axis (sphere: the centre, the
  // direction z); its direction has its first component that is not zero positive, a cone's widens along
  // it. A cylinder's and a cone's point is half way along what the face spans.
  Axis3 axis_F;
  double radius_mm = 0;        // cylinder, sphere; torus: of the circle of centres; cone: at axis_F's point
  double minor_radius_mm = 0;  // torus: of the tube
  double half_angle_rad = 0;   // cone, between axis and side, in (0, pi/2)
  double pitch_mm = 0;         // helical: advance in a full turn, above 0 right-handed; its radius is the face's least
  double reach_mm = 0;         // helical: the greatest distance of the face from the axis
  double misfit_mm = 0;        // greatest distance of the file's surface from this one where it was fitted, else 0
};

enum class CurveKind { kLine, kCircle, kEllipse, kOther };
// How the material turns at an edge: convex as a block's corner, concave as a pocket's, tangent within
// the tolerance of the reading.
enum class Bend { kConvex, kConcave, kTangent };

// A boundary between two faces (or a face and itself, at a seam, which is left out). Indices are places
// in FaceGraph::faces.
struct FaceEdge {
  CurveKind kind = CurveKind::kOther;
  std::size_t face_a = 0;
  std::size_t face_b = 0;
  Vec3 start_F_mm = Vec3::Zero();  // closed edges: start == end
  Vec3 end_F_mm = Vec3::Zero();
  Vec3 middle_F_mm = Vec3::Zero();
  bool closed = false;
  double length_mm = 0;
  Axis3 axis_F;                    // circle: centre and normal, its sign by Surface's rule
  double radius_mm = 0;            // circle
  Bend bend = Bend::kConvex;
  double turn_rad = 0;             // between the outward normals at the middle, in [0, pi]
};

// The face lies to the left of a loop's run, seen from outside.
struct FaceLoop {
  bool outer = false;  // bounds the face from outside; each rim that goes round a curved face's axis does
  std::vector<std::size_t> edges;  // places in FaceGraph::edges, in order round the face
};

struct GraphFace {
  Surface surface;
  bool hollow = false;      // curved: the material lies outside (a hole's wall, a fillet in a corner)
  std::vector<FaceLoop> loops;
  double area_mm2 = 0;
  Box3 box_F;
  Vec3 inner_F_mm = Vec3::Zero();   // a point of the face away from its edges
  Vec3 normal_F = Vec3::UnitZ();    // out of the material there
  // Curved: the share of the full turn about the axis that the face covers, 1 when it closes on itself.
  // Of a sphere: the share of its whole area.
  double turn_share = 0;
  std::string label;        // the face's name in the file, often empty; joined faces: the first's that has one
  std::vector<std::size_t> sources;  // places among the faces of the file's solid, before faces were joined
};

struct FaceGraph {
  std::vector<GraphFace> faces;  // neighbours on one surface that meet along a mere split are one face
  std::vector<FaceEdge> edges;
  double volume_mm3 = 0;
  double area_mm2 = 0;
  Box3 box_F;
  double tolerance_mm = 0;       // the greatest misfit that a fitted surface may have
};

struct FaceGraphSettings {
  double tolerance_mm = 0.002;   // of a fitted elementary surface against the file's
  double tangent_rad = 0.5 * kRadPerDeg;
};

// The same solid gives the same graph, faces in the order of the solid's own. Solids of several bodies
// give one graph each, in order. `labels`: the faces' names in the file (a file that was read brings them),
// body after body in the solid's order; empty where there are none. Errors: kOutOfRange (an empty
// solid), kKernel.
Result<std::vector<FaceGraph>> MakeFaceGraphs(const Solid& solid,
                                              const FaceGraphSettings& settings = {},
                                              const std::vector<std::string>& labels = {});

}  // namespace fitwright::solid
