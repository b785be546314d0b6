// The same machine told otherwise: axes turned, names changed, lists in another order. A planner that
// reasons about shape gives the same decisions.
#pragma once

#include <algorithm>
#include <string>
#include <variant>

#include "fitwright/model/machine.h"

namespace fitwright::testing {

struct Relabel {
  Eigen::Matrix3d turn = Eigen::Matrix3d::Identity();  // a proper rotation onto axes
  std::string prefix;
  bool reverse_lists = false;

  template <typename T>
  T Name(const T& id) const {
    return id.empty() ? id : T(prefix + id.text());
  }
  FeatureRef Name(const FeatureRef& ref) const { return {Name(ref.part), Name(ref.feature)}; }
  Vec3 V(const Vec3& v) const {
    Vec3 out = turn * v;
    for (int i = 0; i < 3; ++i) {
      if (std::abs(out[i] - std::round(out[i])) < 1e-12) out[i] = std::round(out[i]);
    }
    return out;
  }
  Axis3 A(const Axis3& a) const { return {V(a.point_mm), V(a.direction)}; }
  Box3 B(const Box3& b) const {
    const Vec3 p = V(b.min_mm);
    const Vec3 q = V(b.max_mm);
    return {p.cwiseMin(q), p.cwiseMax(q)};
  }

  struct Shape {
    const Relabel& r;
    void operator()(PlanarFace& f) const { f.normal_P = r.V(f.normal_P); }
    void operator()(Hole& f) const {
      f.into_P = r.V(f.into_P);
      for (Vec3& p : f.entries_P_mm) p = r.V(p);
      if (f.circle) {
        f.circle->axis_P = r.A(f.circle->axis_P);
        f.circle->zero_P = r.V(f.circle->zero_P);
      }
    }
    void operator()(OuterDiameter& f) const { f.axis_P = r.A(f.axis_P); }
    void operator()(Slot& f) const {
      f.into_P = r.V(f.into_P);
      f.centre_P_mm = r.V(f.centre_P_mm);
      f.along_P = r.V(f.along_P);
    }
    void operator()(Pocket& f) const {
      f.into_P = r.V(f.into_P);
      f.centre_P_mm = r.V(f.centre_P_mm);
      f.along_P = r.V(f.along_P);
    }
    void operator()(StepCut& f) const {
      f.into_P = r.V(f.into_P);
      f.removed_P = r.B(f.removed_P);
    }
    void operator()(EdgeChamfer& f) const {
      f.face_a = r.Name(f.face_a);
      f.face_b = r.Name(f.face_b);
    }
    void operator()(RoundChamfer& f) const { f.on = r.Name(f.on); }
    void operator()(Groove& f) const { f.axis_P = r.A(f.axis_P); }
    void operator()(Flats& f) const {
      f.axis_P = r.A(f.axis_P);
      f.first_normal_P = r.V(f.first_normal_P);
    }
    void operator()(Taper& f) const { f.axis_P = r.A(f.axis_P); }
    void operator()(ExternalThread& f) const { f.on = r.Name(f.on); }
    void operator()(Keyway& f) const {
      f.axis_P = r.A(f.axis_P);
      f.side_P = r.V(f.side_P);
    }
    void operator()(Knurl& f) const { f.on = r.Name(f.on); }
    void operator()(Marking& f) const {
      f.into_P = r.V(f.into_P);
      f.at_P_mm = r.V(f.at_P_mm);
      f.along_P = r.V(f.along_P);
    }
    void operator()(Outline& f) const {
      f.into_P = r.V(f.into_P);
      f.origin_P_mm = r.V(f.origin_P_mm);
      f.u_P = r.V(f.u_P);
      f.v_P = r.V(f.v_P);
    }
  };

  Part Apply(Part part) const {
    part.name = Name(part.name);
    part.block_P = B(part.block_P);
    part.turning_axis_P = A(part.turning_axis_P);
    part.stock.box_P = B(part.stock.box_P);
    part.stock.axis_P = A(part.stock.axis_P);
    part.stock.flat_normal_P = V(part.stock.flat_normal_P);
    if (part.mirror_of) part.mirror_of = Name(*part.mirror_of);
    for (Feature& feature : part.features) {
      feature.name = Name(feature.name);
      std::visit(Shape{*this}, feature.shape);
    }
    return part;
  }

  Machine Apply(Machine machine) const {
    Eigen::Isometry3d X_WW = Eigen::Isometry3d::Identity();
    X_WW.linear() = turn;
    for (Part& part : machine.parts) part = Apply(part);
    for (PartUse& use : machine.uses) {
      use.part = Name(use.part);
      use.X_WP = X_WW * use.X_WP * X_WW.inverse();
    }
    for (Joint& joint : machine.joints) {
      joint.name = Name(joint.name);
      joint.fixed = Name(joint.fixed);
      joint.moving = Name(joint.moving);
      joint.push_W = V(joint.push_W);
    }
    for (Requirement& requirement : machine.requirements) {
      requirement.name = Name(requirement.name);
      if (requirement.joint) requirement.joint = Name(*requirement.joint);
      requirement.a = Name(requirement.a);
      requirement.b = Name(requirement.b);
      if (requirement.at_W_mm) requirement.at_W_mm = V(*requirement.at_W_mm);
    }
    if (reverse_lists) {
      // The first use stays first: it is the part that the others are put on.
      std::reverse(machine.parts.begin(), machine.parts.end());
      std::reverse(machine.uses.begin() + 1, machine.uses.end());
      std::reverse(machine.joints.begin(), machine.joints.end());
      std::reverse(machine.requirements.begin(), machine.requirements.end());
    }
    return machine;
  }
};

}  // namespace fitwright::testing
