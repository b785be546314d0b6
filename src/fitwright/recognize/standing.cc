#include "fitwright/recognize/standing.h"

#include <algorithm>
#include <cmath>

#include "fitwright/model/material.h"
#include "fitwright/model/shapes.h"

namespace fitwright::recognize {
namespace {

Axis3 InWorld(const Pose& X_WP, const Axis3& axis_P) {
  return {X_WP * axis_P.point_mm, X_WP.linear() * axis_P.direction};
}

struct Lister {
  Standing& standing;
  std::size_t index;
  const Body& body;
  const Feature& feature;

  FeatureRef ref() const { return {body.id, feature.name}; }
  void operator()(const OuterDiameter& o) const {
    standing.shafts.push_back(
        {index, ref(), InWorld(body.X_WP, o.axis_P), o.from_mm, o.to_mm, o.diameter});
  }
  void operator()(const Hole& h) const {
    for (std::size_t i = 0; i < h.entries_P_mm.size(); ++i) {
      standing.bores.push_back({index, ref(), i, h.entries_P_mm.size(),
                                InWorld(body.X_WP, {h.entries_P_mm[i], h.into_P}), h.depth_mm,
                                h.diameter, &h});
    }
  }
  void operator()(const PlanarFace& f) const {
    const Vec3 normal_W = body.X_WP.linear() * f.normal_P;
    const Vec3 point_W = body.X_WP * Vec3(f.at.middle_mm() * f.normal_P);
    standing.faces.push_back({index, ref(), normal_W, normal_W.dot(point_W)});
  }
  void operator()(const Groove& g) const {
    standing.grooves.push_back({index, ref(), InWorld(body.X_WP, g.axis_P), g.from_mm, g.to_mm,
                                2 * GrooveSurfaceRadius(*body.part, g), &g});
  }
  template <typename Other>
  void operator()(const Other&) const {}
};

void AddBodies(const Machine& machine, const std::vector<PartUse>& uses, Standing& standing) {
  for (const PartUse& use : uses) {
    const Part* part = machine.FindPart(use.part);
    if (part == nullptr || part->features.empty()) continue;
    Body body{use.part, part, machine.FindBought(use.part), use.X_WP, CalcEnvelope(*part)};
    standing.bodies.push_back(body);
    for (std::size_t i = 0; i < use.copies_X_WP.size(); ++i) {
      body.id = PartId(use.part.text() + "#" + std::to_string(i + 2));
      body.X_WP = use.copies_X_WP[i];
      standing.bodies.push_back(body);
    }
  }
}

// How far from the line from..to along the axis a point lies; nothing beyond its ends.
std::optional<double> Aside(const Axis3& axis, double from_mm, double to_mm, const Vec3& p) {
  const double along_mm = (p - axis.point_mm).dot(axis.direction);
  if (along_mm < from_mm || along_mm > to_mm) return std::nullopt;
  return DistanceFrom(axis, p);
}

struct TakesAway {
  Vec3 p;  // in the part's frame

  bool operator()(const Hole& h) const {
    return std::any_of(h.entries_P_mm.begin(), h.entries_P_mm.end(), [&](const Vec3& entry) {
      const auto aside_mm = Aside({entry, h.into_P}, 0, h.depth_mm, p);
      return aside_mm && *aside_mm < 0.5 * h.diameter.middle_mm();
    });
  }
  bool operator()(const Slot& s) const {
    const Vec3 from = p - s.centre_P_mm;
    const double down_mm = from.dot(s.into_P);
    if (down_mm < 0 || down_mm > s.depth_mm) return false;
    const double half_mm = 0.5 * (s.length_mm - s.width.middle_mm());
    const double along_mm = std::clamp(from.dot(s.along_P), -half_mm, half_mm);
    return (from - down_mm * s.into_P - along_mm * s.along_P).norm() < 0.5 * s.width.middle_mm();
  }
  bool operator()(const Groove& g) const {
    const auto aside_mm = Aside(g.axis_P, g.from_mm, g.to_mm, p);
    if (!aside_mm) return false;
    return g.internal ? *aside_mm < 0.5 * g.diameter.middle_mm()
                      : *aside_mm > 0.5 * g.diameter.middle_mm();
  }
  template <typename Other>
  bool operator()(const Other&) const {
    return false;
  }
};

// Bounds of the body's box along a direction.
std::pair<double, double> BoundsAlong(const Body& body, const Vec3& direction) {
  double low = 1e300;
  double high = -1e300;
  for (int corner = 0; corner < 8; ++corner) {
    Vec3 p = body.box_P.min_mm;
    for (int k = 0; k < 3; ++k) {
      if ((corner >> k & 1) != 0) p[k] = body.box_P.max_mm[k];
    }
    const double at = direction.dot(body.X_WP * p);
    low = std::min(low, at);
    high = std::max(high, at);
  }
  return {low, high};
}

bool IsFilled(const Standing& standing, const Face& a, const Face& b, const Vec3& p_W_mm) {
  for (std::size_t i = 0; i < standing.bodies.size(); ++i) {
    if (i != a.body && i != b.body && Contains(standing.bodies[i], p_W_mm)) return true;
  }
  return false;
}

}  // namespace

const Feature* Standing::Find(const FeatureRef& ref) const {
  for (const Body& body : bodies) {
    if (body.id == ref.part) return body.part->Find(ref.feature);
  }
  return nullptr;
}

Standing StandUp(const Machine& machine) {
  Standing standing;
  AddBodies(machine, machine.uses, standing);
  AddBodies(machine, machine.bought_uses, standing);
  for (std::size_t i = 0; i < standing.bodies.size(); ++i) {
    const Body& body = standing.bodies[i];
    for (const Feature& feature : body.part->features) {
      std::visit(Lister{standing, i, body, feature}, feature.shape);
    }
  }
  return standing;
}

double DistanceFrom(const Axis3& axis, const Vec3& point) {
  return (point - axis.point_mm).cross(axis.direction).norm();
}

bool OnOneLine(const Axis3& a, const Axis3& b) {
  return AreParallel(a.direction, b.direction) && DistanceFrom(a, b.point_mm) < kMeant_mm;
}

bool Contains(const Body& body, const Vec3& p_W_mm) {
  const Vec3 p = body.X_WP.inverse() * p_W_mm;
  if ((p - body.box_P.min_mm).minCoeff() < 0 || (body.box_P.max_mm - p).minCoeff() < 0)
    return false;
  const auto stretches = CalcMaterialAlong(*body.part, p, Vec3::UnitZ());
  const bool inside = std::any_of(stretches.begin(), stretches.end(),
                                  [](const Stretch& s) { return s.from_mm <= 0 && s.to_mm >= 0; });
  const TakesAway takes{p};
  return inside && std::none_of(body.part->features.begin(), body.part->features.end(),
                                [&](const Feature& f) { return std::visit(takes, f.shape); });
}

double GapBetween_mm(const Face& a, const Face& b) { return -b.at_mm - a.at_mm; }

double FacingArea_mm2(const Standing& standing, const Face& a, const Face& b, bool free) {
  if (a.normal_W.dot(b.normal_W) > -1 + kSameWay) return 0;
  const double gap_mm = GapBetween_mm(a, b);
  const Body& body_a = standing.bodies[a.body];
  const Body& body_b = standing.bodies[b.body];
  const Vec3 u = a.normal_W.unitOrthogonal();
  const Vec3 v = a.normal_W.cross(u);
  Vec2 low;
  Vec2 high;
  for (int k = 0; k < 2; ++k) {
    const auto [low_a, high_a] = BoundsAlong(body_a, k == 0 ? u : v);
    const auto [low_b, high_b] = BoundsAlong(body_b, k == 0 ? u : v);
    low[k] = std::max(low_a, low_b);
    high[k] = std::min(high_a, high_b);
  }
  if ((high - low).minCoeff() <= 0) return 0;
  constexpr int kSteps = 32;
  constexpr double kUnder_mm = 0.02;
  const Vec2 cell = (high - low) / kSteps;
  int both = 0;
  for (int i = 0; i < kSteps; ++i) {
    for (int j = 0; j < kSteps; ++j) {
      const Vec3 p = a.at_mm * a.normal_W + (low[0] + (i + 0.5) * cell[0]) * u +
                     (low[1] + (j + 0.5) * cell[1]) * v;
      const bool in_a = Contains(body_a, p - kUnder_mm * a.normal_W);
      if (!in_a || !Contains(body_b, p + (gap_mm + kUnder_mm) * a.normal_W)) continue;
      if (!free || !IsFilled(standing, a, b, p + 0.5 * gap_mm * a.normal_W)) ++both;
    }
  }
  return both * cell[0] * cell[1];
}

}  // namespace fitwright::recognize
