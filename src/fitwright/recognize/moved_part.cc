#include "fitwright/recognize/moved_part.h"

#include <cmath>

namespace fitwright::recognize {
namespace {

struct Mover {
  const Pose& X_AB;

  Vec3 Point(const Vec3& p) const { return X_AB * p; }
  Vec3 Turned(const Vec3& v) const { return X_AB.linear() * v; }
  Axis3 Line(const Axis3& a) const { return {Point(a.point_mm), Turned(a.direction)}; }
  Box3 Box(const Box3& b) const {
    const Vec3 one = Point(b.min_mm);
    const Vec3 other = Point(b.max_mm);
    return {one.cwiseMin(other), one.cwiseMax(other)};
  }

  PlanarFace operator()(PlanarFace f) const {
    f.normal_P = Turned(f.normal_P);
    const double shift_mm = f.normal_P.dot(X_AB.translation());
    for (double* at_mm : {&f.at.nominal_mm, &f.at.lower_mm, &f.at.upper_mm}) *at_mm += shift_mm;
    return f;
  }
  Hole operator()(Hole h) const {
    h.into_P = Turned(h.into_P);
    for (Vec3& entry : h.entries_P_mm) entry = Point(entry);
    if (!h.circle) return h;
    h.circle->axis_P = Line(h.circle->axis_P);
    h.circle->zero_P = Turned(h.circle->zero_P);
    return h;
  }
  Slot operator()(Slot s) const {
    s.into_P = Turned(s.into_P);
    s.centre_P_mm = Point(s.centre_P_mm);
    s.along_P = Turned(s.along_P);
    return s;
  }
  Pocket operator()(Pocket p) const {
    p.into_P = Turned(p.into_P);
    p.centre_P_mm = Point(p.centre_P_mm);
    p.along_P = Turned(p.along_P);
    return p;
  }
  StepCut operator()(const StepCut& s) const { return {Turned(s.into_P), Box(s.removed_P)}; }
  EdgeChamfer operator()(const EdgeChamfer& c) const { return c; }
  RoundChamfer operator()(const RoundChamfer& c) const { return c; }
  ExternalThread operator()(const ExternalThread& t) const { return t; }
  Knurl operator()(const Knurl& k) const { return k; }
  Flats operator()(Flats f) const {
    f.axis_P = Line(f.axis_P);
    f.first_normal_P = Turned(f.first_normal_P);
    return f;
  }
  Keyway operator()(Keyway k) const {
    k.axis_P = Line(k.axis_P);
    k.side_P = Turned(k.side_P);
    return k;
  }
  Marking operator()(Marking m) const {
    m.into_P = Turned(m.into_P);
    m.at_P_mm = Point(m.at_P_mm);
    m.along_P = Turned(m.along_P);
    return m;
  }
  Outline operator()(Outline o) const {
    o.into_P = Turned(o.into_P);
    o.origin_P_mm = Point(o.origin_P_mm);
    o.u_P = Turned(o.u_P);
    o.v_P = Turned(o.v_P);
    return o;
  }
  // Outer diameters, grooves, tapers: about an axis and no more.
  template <typename Round>
  Round operator()(Round round) const {
    round.axis_P = Line(round.axis_P);
    return round;
  }
};

}  // namespace

Part MovedPart(const Part& part_B, const Pose& X_AB) {
  const Mover mover{X_AB};
  Part part = part_B;
  part.block_P = mover.Box(part_B.block_P);
  part.turning_axis_P = mover.Line(part_B.turning_axis_P);
  part.stock.box_P = mover.Box(part_B.stock.box_P);
  part.stock.axis_P = mover.Line(part_B.stock.axis_P);
  part.stock.flat_normal_P = mover.Turned(part_B.stock.flat_normal_P);
  for (Feature& feature : part.features) {
    feature.shape =
        std::visit([&](const auto& shape) { return FeatureShape(mover(shape)); }, feature.shape);
  }
  return part;
}

bool MakeRightAngled(Pose& pose) {
  constexpr double kWhole = 1e-6;
  const Eigen::Matrix3d turn = pose.linear();
  for (int row = 0; row < 3; ++row) {
    for (int column = 0; column < 3; ++column) {
      const double whole = std::round(turn(row, column));
      if (std::abs(turn(row, column) - whole) > kWhole) return false;
      pose.linear()(row, column) = whole;
    }
  }
  return true;
}

}  // namespace fitwright::recognize
