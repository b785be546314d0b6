// A face graph seen in the part's frame P, with what the readers of features ask of it.
#pragma once

#include <optional>
#include <vector>

#include "fitwright/solid/face_graph.h"
#include "fitwright/units/geometry.h"

namespace fitwright::recognize {

// Places that a file means as one may differ by its exporter's rounding.
inline constexpr double kSamePlace_mm = 2e-3;
// Directions closer than this are the same.
inline constexpr double kSameWay_rad = 1e-4;

struct PlacedFace {
  solid::SurfaceKind kind = solid::SurfaceKind::kOther;
  Axis3 axis_P;  // as solid::Surface::axis_F; exact where it lies along an axis of P
  double radius_mm = 0;
  double minor_radius_mm = 0;
  double half_angle_rad = 0;
  double pitch_mm =
      0;  // helical, above 0 right-handed; its radius is the least, its reach the greatest
  double reach_mm = 0;
  bool hollow = false;
  double area_mm2 = 0;
  double turn_share = 0;
  Vec3 inner_P_mm = Vec3::Zero();
  Vec3 normal_P = Vec3::UnitZ();
  std::vector<std::size_t> edges;  // places in PlacedGraph::edges, each once
};

struct PlacedEdge {
  solid::CurveKind kind = solid::CurveKind::kOther;
  std::size_t face_a = 0;
  std::size_t face_b = 0;
  Vec3 start_P_mm = Vec3::Zero();
  Vec3 end_P_mm = Vec3::Zero();
  Vec3 middle_P_mm = Vec3::Zero();
  bool closed = false;
  double length_mm = 0;
  Axis3 axis_P;
  double radius_mm = 0;
  solid::Bend bend = solid::Bend::kConvex;
  std::size_t Other(std::size_t face) const { return face == face_a ? face_b : face_a; }
};

struct PlacedGraph {
  std::vector<PlacedFace> faces;
  std::vector<PlacedEdge> edges;
  Box3 box_P;                                     // of the solid
  std::vector<std::vector<std::size_t>> sources;  // of each face, its places in FaceGraph::faces
};

// Faces stand in an order of their places in P, so that the file's order has no part in what is
// read.
PlacedGraph Place(const solid::FaceGraph& graph, const Pose& X_PF, const Box3& box_P);

struct Span {
  double from_mm = 0;
  double to_mm = 0;
  double length_mm() const { return to_mm - from_mm; }
  double middle_mm() const { return 0.5 * (from_mm + to_mm); }
  bool Holds(double mm) const { return mm > from_mm - kSamePlace_mm && mm < to_mm + kSamePlace_mm; }
};

// How far the edge reaches along the unit direction, counted from the origin. Lines and circles
// exactly, others as far as their known points.
Span SpanAlong(const PlacedEdge& edge, const Vec3& direction);
// The same of all edges of a face; none for a face without edges.
std::optional<Span> SpanAlong(const PlacedGraph& graph, std::size_t face, const Vec3& direction);

// The axis of P that the direction lies along: 0 x, 1 y, 2 z.
std::optional<int> AlongAxis(const Vec3& direction);
bool IsAlong(const Vec3& a, const Vec3& b);  // either way round
bool IsSquareTo(const Vec3& a, const Vec3& b);
bool IsSame(double a_mm, double b_mm);
bool AreCoaxial(const Axis3& a, const Axis3& b);
double DistanceFromAxis(const Axis3& axis, const Vec3& point_mm);

// The radius of a cone square to its axis at the point.
double ConeRadiusAt(const PlacedFace& cone, const Vec3& point_mm);
Vec3 ConeTip(const PlacedFace& cone);

bool IsPlane(const PlacedFace& face);
bool IsCylinder(const PlacedFace& face);
bool IsHollowCylinder(const PlacedFace& face);
// How far a plane stands along its own normal.
double PlaceOf(const PlacedFace& plane);

// A hollow cylinder that rounds a corner or ends a slot: it runs on smoothly beyond a line along
// it.
bool IsFillet(const PlacedGraph& graph, std::size_t face);

// A figure that noise alone keeps from a whole number of 1e-6 mm becomes it; never -0.
double Tidy(double mm);
Vec3 Tidy(const Vec3& mm);

}  // namespace fitwright::recognize
