// Private to this layer: how far a face reaches along a direction and about an axis, in closed
// form.
#pragma once

#include <BRepAdaptor_Surface.hxx>
#include <BRepTopAdaptor_FClass2d.hxx>
#include <Bnd_Box.hxx>
#include <TopoDS_Face.hxx>
#include <gp_Ax3.hxx>
#include <memory>
#include <optional>
#include <vector>

#include "fitwright/units/geometry.h"

namespace fitwright::solid {

struct Reach {
  double from_mm = 0;
  double to_mm = 0;
  void Include(const Reach& other);
};

// An edge as a segment, an arc, or whatever fits in a ball.
struct EdgeReach {
  enum class Kind { kLine, kCircle, kOther } kind = Kind::kOther;
  Vec3 start = Vec3::Zero();  // line
  Vec3 end = Vec3::Zero();
  Vec3 middle = Vec3::Zero();  // circle, other: of the ball
  Vec3 x = Vec3::UnitX();      // circle: its plane, from_rad and to_rad from x to y
  Vec3 y = Vec3::UnitY();
  double from_rad = 0;
  double to_rad = 0;
  double radius_mm = 0;

  Reach Along(const Vec3& direction) const;
  Reach About(const Axis3& axis) const;
};

// Reaches hold the whole face; they are tight for planes between lines and circles and for round
// faces along and about their own axis.
class FaceReach {
 public:
  explicit FaceReach(const TopoDS_Face& face);

  // Of direction . p.
  Reach Along(const Vec3& direction) const;
  // Of the distance from the axis.
  Reach About(const Axis3& axis) const;
  // A cylinder, cone, sphere, torus or plane that lies on the other's surface and within its
  // borders, where those are plain (a whole rectangle of both parameters); by depth_mm off at most.
  bool LiesOn(const FaceReach& other, double depth_mm) const;

  // An arc that lies on this cylinder and within its borders, as above.
  bool HoldsArc(const EdgeReach& edge, double depth_mm) const;
  // Of a plane: whether its point lies within the face or on its border.
  bool Holds(const Vec3& point_on_plane) const;

  const std::vector<EdgeReach>& edges() const { return edges_; }
  const Bnd_Box& box() const { return box_; }
  const TopoDS_Face& face() const { return face_; }
  bool IsPlane() const { return kind_ == GeomAbs_Plane; }
  bool IsCylinder() const { return kind_ == GeomAbs_Cylinder; }
  const Axis3& axis() const { return axis_; }  // plane: point and surface normal
  double radius_mm() const { return radius_mm_; }

 private:
  Reach PlaneAbout(const Axis3& axis) const;
  Reach RoundAbout(const Axis3& axis) const;
  Reach BallAbout(const Axis3& axis) const;
  double RadiusAt(double v) const;
  double HeightAt(double v) const;
  bool HoldsTurn(const Vec3& middle, double half_rad, double slack_rad) const;

  TopoDS_Face face_;
  GeomAbs_SurfaceType kind_ = GeomAbs_OtherSurface;
  Bnd_Box box_;
  Axis3 axis_;
  Vec3 x_ = Vec3::UnitX();
  Vec3 y_ = Vec3::UnitY();
  double radius_mm_ = 0;
  double minor_mm_ = 0;
  double half_angle_rad_ = 0;
  double u0_ = 0, u1_ = 0, v0_ = 0, v1_ = 0;
  bool rectangle_ = false;
  std::vector<EdgeReach> edges_;
  mutable std::unique_ptr<BRepTopAdaptor_FClass2d> trim_;
};

}  // namespace fitwright::solid
