#include "fitwright/solid/face_reach.h"

#include <BRepAdaptor_Curve.hxx>
#include <BRepBndLib.hxx>
#include <BRepTools.hxx>
#include <BRep_Tool.hxx>
#include <TopExp_Explorer.hxx>
#include <TopoDS.hxx>
#include <algorithm>
#include <cmath>
#include <gp_Circ.hxx>
#include <gp_Cone.hxx>
#include <gp_Cylinder.hxx>
#include <gp_Pln.hxx>
#include <gp_Pnt2d.hxx>
#include <gp_Sphere.hxx>
#include <gp_Torus.hxx>
#include <limits>

#include "fitwright/solid/kernel.h"

namespace fitwright::solid {
namespace {

constexpr double kInfinite = std::numeric_limits<double>::infinity();
// Directions this close are the same or square: 1e-8 mm over 100 mm.
constexpr double kSameDirection = 1e-10;
// A circle that leans so little is out by the square of it.
constexpr double kLean = 1e-7;

Vec3 DirectionOf(const gp_Dir& d) { return {d.X(), d.Y(), d.Z()}; }

// Of cos(u - at_rad) over the turn from..to.
Reach CosineOver(double from_rad, double to_rad, double at_rad) {
  Reach reach{std::min(std::cos(from_rad - at_rad), std::cos(to_rad - at_rad)),
              std::max(std::cos(from_rad - at_rad), std::cos(to_rad - at_rad))};
  // The next whole and half turn after the start.
  const double whole = std::ceil((from_rad - at_rad) / (2 * kPi)) * 2 * kPi + at_rad;
  const double half = std::ceil((from_rad - at_rad - kPi) / (2 * kPi)) * 2 * kPi + at_rad + kPi;
  if (whole <= to_rad) reach.to_mm = 1;
  if (half <= to_rad) reach.from_mm = -1;
  return reach;
}

Reach Scaled(const Reach& unit, double by) {
  return by >= 0 ? Reach{by * unit.from_mm, by * unit.to_mm}
                 : Reach{by * unit.to_mm, by * unit.from_mm};
}

Reach Moved(const Reach& reach, double by) { return {reach.from_mm + by, reach.to_mm + by}; }

// Across the axis, from it to the point.
Vec3 Across(const Axis3& axis, const Vec3& point) {
  const Vec3 off = point - axis.point_mm;
  return off - off.dot(axis.direction) * axis.direction;
}

Reach Around(double distance_mm, double radius_mm) {
  return {std::max(0.0, distance_mm - radius_mm), distance_mm + radius_mm};
}

// The distance from a point at distance_mm of points on a circle's part, both square to the axis.
Reach CircleAbout(double distance_mm, double radius_mm, const Reach& cosine) {
  const auto at = [&](double c) {
    const double square =
        distance_mm * distance_mm + radius_mm * radius_mm + 2 * distance_mm * radius_mm * c;
    return std::sqrt(std::max(0.0, square));
  };
  if (distance_mm < 1e-12) return {radius_mm, radius_mm};
  return {at(cosine.from_mm), at(cosine.to_mm)};
}

EdgeReach ReachOf(const TopoDS_Edge& edge) {
  EdgeReach found;
  const BRepAdaptor_Curve curve(edge);
  const double from = curve.FirstParameter();
  const double to = curve.LastParameter();
  if (curve.GetType() == GeomAbs_Line) {
    found.kind = EdgeReach::Kind::kLine;
    found.start = ToVec(curve.Value(from));
    found.end = ToVec(curve.Value(to));
  } else if (curve.GetType() == GeomAbs_Circle) {
    found.kind = EdgeReach::Kind::kCircle;
    const gp_Circ circle = curve.Circle();
    found.middle = ToVec(circle.Location());
    found.x = DirectionOf(circle.XAxis().Direction());
    found.y = DirectionOf(circle.YAxis().Direction());
    found.radius_mm = circle.Radius();
    found.from_rad = from;
    found.to_rad = to;
  } else {
    Bnd_Box box;
    BRepBndLib::Add(edge, box, false);
    if (box.IsVoid()) return found;
    found.middle = 0.5 * (ToVec(box.CornerMin()) + ToVec(box.CornerMax()));
    found.radius_mm = 0.5 * (ToVec(box.CornerMax()) - ToVec(box.CornerMin())).norm();
  }
  return found;
}

}  // namespace

void Reach::Include(const Reach& other) {
  from_mm = std::min(from_mm, other.from_mm);
  to_mm = std::max(to_mm, other.to_mm);
}

Reach EdgeReach::Along(const Vec3& direction) const {
  if (kind == Kind::kLine) {
    const auto [low, high] = std::minmax({direction.dot(start), direction.dot(end)});
    return {low, high};
  }
  const double at = direction.dot(middle);
  if (kind == Kind::kOther) {
    const double reach = radius_mm * direction.norm();
    return {at - reach, at + reach};
  }
  const double dx = direction.dot(x);
  const double dy = direction.dot(y);
  return Moved(
      Scaled(CosineOver(from_rad, to_rad, std::atan2(dy, dx)), radius_mm * std::hypot(dx, dy)), at);
}

Reach EdgeReach::About(const Axis3& axis) const {
  if (kind == Kind::kLine) {
    const Vec3 a = Across(axis, start);
    const Vec3 way = Across(axis, end) - a;
    const double square = way.squaredNorm();
    const double t = square > 0 ? std::clamp(-a.dot(way) / square, 0.0, 1.0) : 0.0;
    return {(a + t * way).norm(), std::max(a.norm(), (a + way).norm())};
  }
  const Vec3 off = Across(axis, middle);
  const bool square_to = kind == Kind::kCircle && axis.direction.cross(x.cross(y)).norm() < kLean;
  if (!square_to) return Around(off.norm(), radius_mm);
  return CircleAbout(off.norm(), radius_mm,
                     CosineOver(from_rad, to_rad, std::atan2(off.dot(y), off.dot(x))));
}

FaceReach::FaceReach(const TopoDS_Face& face) : face_(face) {
  const BRepAdaptor_Surface surface(face, false);
  kind_ = surface.GetType();
  BRepBndLib::Add(face, box_, false);
  BRepTools::UVBounds(face, u0_, u1_, v0_, v1_);
  gp_Ax3 frame;
  switch (kind_) {
    case GeomAbs_Plane:
      frame = surface.Plane().Position();
      break;
    case GeomAbs_Cylinder:
      frame = surface.Cylinder().Position();
      radius_mm_ = surface.Cylinder().Radius();
      break;
    case GeomAbs_Cone:
      frame = surface.Cone().Position();
      radius_mm_ = surface.Cone().RefRadius();
      half_angle_rad_ = surface.Cone().SemiAngle();
      break;
    case GeomAbs_Sphere:
      frame = surface.Sphere().Position();
      radius_mm_ = surface.Sphere().Radius();
      break;
    case GeomAbs_Torus:
      frame = surface.Torus().Position();
      radius_mm_ = surface.Torus().MajorRadius();
      minor_mm_ = surface.Torus().MinorRadius();
      break;
    default:
      return;
  }
  axis_ = {ToVec(frame.Location()), DirectionOf(frame.Direction())};
  x_ = DirectionOf(frame.XDirection());
  y_ = DirectionOf(frame.YDirection());
  bool plain = true;
  int wires = 0;
  for (TopExp_Explorer it(face, TopAbs_WIRE); it.More(); it.Next()) ++wires;
  for (TopExp_Explorer it(face, TopAbs_EDGE); it.More(); it.Next()) {
    const TopoDS_Edge edge = TopoDS::Edge(it.Current());
    if (BRep_Tool::Degenerated(edge)) continue;
    edges_.push_back(ReachOf(edge));
    plain = plain && edges_.back().kind != EdgeReach::Kind::kOther;
  }
  rectangle_ = plain && wires == 1 && edges_.size() <= 4 && kind_ != GeomAbs_Plane;
}

double FaceReach::RadiusAt(double v) const {
  switch (kind_) {
    case GeomAbs_Cone:
      return std::abs(radius_mm_ + v * std::sin(half_angle_rad_));
    case GeomAbs_Sphere:
      return radius_mm_ * std::cos(v);
    case GeomAbs_Torus:
      return radius_mm_ + minor_mm_ * std::cos(v);
    default:
      return radius_mm_;
  }
}

double FaceReach::HeightAt(double v) const {
  return kind_ == GeomAbs_Cone ? v * std::cos(half_angle_rad_) : v;
}

Reach FaceReach::Along(const Vec3& direction) const {
  const double at = direction.dot(axis_.point_mm);
  const double along = direction.dot(axis_.direction);
  switch (kind_) {
    case GeomAbs_Plane: {
      Reach reach{kInfinite, -kInfinite};
      for (const EdgeReach& edge : edges_) reach.Include(edge.Along(direction));
      return reach;
    }
    case GeomAbs_Cylinder:
    case GeomAbs_Cone: {
      const double dx = direction.dot(x_);
      const double dy = direction.dot(y_);
      const Reach cosine = CosineOver(u0_, u1_, std::atan2(dy, dx));
      Reach reach{kInfinite, -kInfinite};
      for (const double v : {v0_, v1_}) {
        const double r =
            kind_ == GeomAbs_Cone ? radius_mm_ + v * std::sin(half_angle_rad_) : radius_mm_;
        reach.Include(Moved(Scaled(cosine, r * std::hypot(dx, dy)), at + HeightAt(v) * along));
      }
      return reach;
    }
    case GeomAbs_Sphere:
      return {at - radius_mm_, at + radius_mm_};
    case GeomAbs_Torus: {
      const double most = radius_mm_ * std::sqrt(std::max(0.0, 1 - along * along)) + minor_mm_;
      return {at - most, at + most};
    }
    default: {
      if (box_.IsVoid()) return {-kInfinite, kInfinite};
      const Vec3 middle = 0.5 * (ToVec(box_.CornerMin()) + ToVec(box_.CornerMax()));
      const Vec3 half = 0.5 * (ToVec(box_.CornerMax()) - ToVec(box_.CornerMin()));
      const double most = half.dot(direction.cwiseAbs());
      return {direction.dot(middle) - most, direction.dot(middle) + most};
    }
  }
}

bool FaceReach::Holds(const Vec3& point_on_plane) const {
  if (box_.IsOut(ToPnt(point_on_plane))) return false;
  if (trim_ == nullptr) trim_ = std::make_unique<BRepTopAdaptor_FClass2d>(face_, 1e-7);
  const Vec3 off = point_on_plane - axis_.point_mm;
  return trim_->Perform(gp_Pnt2d(off.dot(x_), off.dot(y_))) != TopAbs_OUT;
}

Reach FaceReach::PlaneAbout(const Axis3& axis) const {
  Reach reach{kInfinite, 0};
  for (const EdgeReach& edge : edges_) reach.Include(edge.About(axis));
  const double lean = axis_.direction.dot(axis.direction);
  const double off = axis_.direction.dot(axis_.point_mm - axis.point_mm);
  if (std::abs(lean) < kSameDirection) {
    reach.from_mm = std::abs(off);
  } else if (Holds(axis.point_mm + off / lean * axis.direction)) {
    reach.from_mm = 0;
  }
  return reach;
}

Reach FaceReach::BallAbout(const Axis3& axis) const {
  if (box_.IsVoid()) return {0, kInfinite};
  const Vec3 middle = 0.5 * (ToVec(box_.CornerMin()) + ToVec(box_.CornerMax()));
  const double radius = 0.5 * (ToVec(box_.CornerMax()) - ToVec(box_.CornerMin())).norm();
  return Around(Across(axis, middle).norm(), radius);
}

Reach FaceReach::RoundAbout(const Axis3& axis) const {
  const Vec3 off = Across(axis, axis_.point_mm);
  const double distance = off.norm();
  if (axis_.direction.cross(axis.direction).norm() >= kSameDirection) {
    // Square or askew: no nearer than the two axes come, less the radius.
    Reach reach = BallAbout(axis);
    if (kind_ != GeomAbs_Cylinder) return reach;
    const Vec3 both = axis_.direction.cross(axis.direction).normalized();
    const double apart = std::abs(both.dot(axis_.point_mm - axis.point_mm)) - radius_mm_;
    reach.from_mm = std::max(reach.from_mm, apart);
    return reach;
  }
  const Reach cosine = CosineOver(u0_, u1_, std::atan2(off.dot(y_), off.dot(x_)));
  if (kind_ == GeomAbs_Cylinder) return CircleAbout(distance, radius_mm_, cosine);
  if (kind_ == GeomAbs_Torus && distance > 1e-12) return BallAbout(axis);
  if (kind_ == GeomAbs_Torus) return {radius_mm_ - minor_mm_, radius_mm_ + minor_mm_};
  const auto [low, high] = std::minmax({RadiusAt(v0_), RadiusAt(v1_)});
  if (distance < 1e-12) return {low, high};
  Reach reach = Around(distance, high);
  if (distance < low) reach.from_mm = low - distance;
  return reach;
}

Reach FaceReach::About(const Axis3& axis) const {
  switch (kind_) {
    case GeomAbs_Plane:
      return PlaneAbout(axis);
    case GeomAbs_Cylinder:
    case GeomAbs_Cone:
    case GeomAbs_Torus:
      return RoundAbout(axis);
    case GeomAbs_Sphere:
      return Around(Across(axis, axis_.point_mm).norm(), radius_mm_);
    default:
      return BallAbout(axis);
  }
}

bool FaceReach::LiesOn(const FaceReach& other, double depth_mm) const {
  if (kind_ != other.kind_ || !other.rectangle_) return false;
  if (kind_ != GeomAbs_Cylinder && kind_ != GeomAbs_Cone) return false;
  const double size = std::max(radius_mm_, std::sqrt(box_.SquareExtent()));
  const double with = other.axis_.direction.dot(axis_.direction);
  if (axis_.direction.cross(other.axis_.direction).norm() * size > depth_mm) return false;
  if (Across(other.axis_, axis_.point_mm).norm() > depth_mm) return false;
  const double foot = (axis_.point_mm - other.axis_.point_mm).dot(other.axis_.direction);
  Reach own{kInfinite, -kInfinite};
  Reach its{kInfinite, -kInfinite};
  for (const double v : {v0_, v1_}) {
    const double height = foot + with * HeightAt(v);
    own.Include({height, height});
    if (kind_ != GeomAbs_Cone) continue;
    const double radius = other.radius_mm_ + height * std::tan(other.half_angle_rad_);
    if (std::abs(radius - (radius_mm_ + v * std::sin(half_angle_rad_))) > depth_mm) return false;
  }
  for (const double v : {other.v0_, other.v1_}) its.Include({other.HeightAt(v), other.HeightAt(v)});
  if (kind_ == GeomAbs_Cylinder && std::abs(radius_mm_ - other.radius_mm_) > depth_mm) return false;
  if (own.from_mm < its.from_mm - depth_mm || own.to_mm > its.to_mm + depth_mm) return false;
  const double u = 0.5 * (u0_ + u1_);
  const Vec3 middle = std::cos(u) * x_ + std::sin(u) * y_;
  return other.HoldsTurn(middle, 0.5 * (u1_ - u0_), depth_mm / size);
}

bool FaceReach::HoldsTurn(const Vec3& middle, double half_rad, double slack_rad) const {
  const double own_half_rad = 0.5 * (u1_ - u0_);
  if (own_half_rad >= kPi - 1e-9) return true;
  const double at = std::atan2(middle.dot(y_), middle.dot(x_));
  const double turn = std::remainder(at - 0.5 * (u0_ + u1_), 2 * kPi);
  return std::abs(turn) + half_rad <= own_half_rad + slack_rad;
}

bool FaceReach::HoldsArc(const EdgeReach& edge, double depth_mm) const {
  if (kind_ != GeomAbs_Cylinder || !rectangle_ || edge.kind != EdgeReach::Kind::kCircle)
    return false;
  const Vec3 normal = edge.x.cross(edge.y);
  if (axis_.direction.cross(normal).norm() * edge.radius_mm > depth_mm) return false;
  if (Across(axis_, edge.middle).norm() > depth_mm) return false;
  if (std::abs(radius_mm_ - edge.radius_mm) > depth_mm) return false;
  const double height = (edge.middle - axis_.point_mm).dot(axis_.direction);
  if (height < std::min(v0_, v1_) - depth_mm || height > std::max(v0_, v1_) + depth_mm)
    return false;
  const double u = 0.5 * (edge.from_rad + edge.to_rad);
  const Vec3 middle = std::cos(u) * edge.x + std::sin(u) * edge.y;
  return HoldsTurn(middle, 0.5 * (edge.to_rad - edge.from_rad), depth_mm / radius_mm_);
}

}  // namespace fitwright::solid
