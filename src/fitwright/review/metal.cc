#include "fitwright/review/metal.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>
#include <optional>

#include "fitwright/model/shapes.h"

namespace fitwright::review {
namespace {

constexpr double kFar_mm = std::numeric_limits<double>::infinity();
constexpr double kAlong = 1e-12;

struct Line {
  Vec3 point_mm;
  Vec3 direction;
};

using Gaps = std::vector<Stretch>;

// Empty where from_mm >= to_mm.
Stretch Both(const Stretch& a, const Stretch& b) {
  return {std::max(a.from_mm, b.from_mm), std::min(a.to_mm, b.to_mm)};
}

bool Empty(const Stretch& s) { return s.to_mm - s.from_mm <= kGeometryNoise_mm; }

constexpr Stretch kNothing{0, 0};
constexpr Stretch kAll{-kFar_mm, kFar_mm};

// s with low <= start + s * slope <= high.
Stretch InSlab(double start, double slope, double low, double high) {
  if (std::abs(slope) < kAlong) return start < low || start > high ? kNothing : kAll;
  const double a = (low - start) / slope;
  const double b = (high - start) / slope;
  return {std::min(a, b), std::max(a, b)};
}

Stretch Across(const Line& line, const Vec3& origin, const Vec3& axis, double low, double high) {
  return InSlab((line.point_mm - origin).dot(axis), line.direction.dot(axis), low, high);
}

// A piece of cone from low to high along the axis, its radius running from r_low to r_high.
Stretch InFrustum(const Line& line, const Axis3& axis, double low, double high, double r_low,
                  double r_high) {
  const Stretch slab = Across(line, axis.point_mm, axis.direction, low, high);
  if (Empty(slab)) return kNothing;
  const double slope = (r_high - r_low) / (high - low);
  const Vec3 from = line.point_mm - axis.point_mm;
  const double a0 = from.dot(axis.direction);
  const double a1 = line.direction.dot(axis.direction);
  const Vec3 c0 = from - a0 * axis.direction;
  const Vec3 c1 = line.direction - a1 * axis.direction;
  const double r0 = r_low + slope * (a0 - low);
  const double r1 = slope * a1;
  // |c0 + c1 s|^2 <= (r0 + r1 s)^2
  const double a = c1.squaredNorm() - r1 * r1;
  const double b = c0.dot(c1) - r0 * r1;
  const double c = c0.squaredNorm() - r0 * r0;
  if (std::abs(a) < kAlong) {
    if (std::abs(b) < kAlong) return c <= 0 ? slab : kNothing;
    const double root = -0.5 * c / b;
    return Both(slab, b > 0 ? Stretch{-kFar_mm, root} : Stretch{root, kFar_mm});
  }
  const double root = b * b - a * c;
  if (root <= 0) return a > 0 ? kNothing : slab;
  const double low_s = (-b - std::sqrt(root)) / a;
  const double high_s = (-b + std::sqrt(root)) / a;
  if (a > 0) return Both(slab, {low_s, high_s});
  const Stretch before = Both(slab, {-kFar_mm, std::min(low_s, high_s)});
  const Stretch after = Both(slab, {std::max(low_s, high_s), kFar_mm});
  return Empty(before) ? after : before;
}

Stretch InCylinder(const Line& line, const Axis3& axis, double low, double high, double radius) {
  return InFrustum(line, axis, std::min(low, high), std::max(low, high), radius, radius);
}

void Add(Gaps& gaps, const Stretch& gap) {
  if (!Empty(gap)) gaps.push_back(gap);
}

// `outer` where it is not `inner`.
void AddBetween(Gaps& gaps, const Stretch& outer, const Stretch& inner) {
  if (Empty(outer)) return;
  if (Empty(inner)) return gaps.push_back(outer);
  Add(gaps, Both(outer, {-kFar_mm, inner.from_mm}));
  Add(gaps, Both(outer, {inner.to_mm, kFar_mm}));
}

// What one feature takes from a line.
class Taken {
 public:
  Taken(const Part& part, const Line& line, Gaps& gaps) : part_(part), line_(line), gaps_(gaps) {}

  void operator()(const Hole& hole) const {
    const double radius = 0.5 * hole.diameter.middle_mm();
    const bool pointed = !hole.through && hole.bottom != HoleBottom::kFlat;
    const double half_deg = hole.bottom == HoleBottom::kPoint118 ? 59.0 : 67.5;
    for (const Vec3& entry : hole.entries_P_mm) {
      const Axis3 axis{entry, hole.into_P};
      Add(gaps_, InCylinder(line_, axis, 0, hole.depth_mm, radius));
      if (!pointed) continue;
      const double tip = hole.depth_mm + radius / std::tan(half_deg * kRadPerDeg);
      Add(gaps_, InFrustum(line_, axis, hole.depth_mm, tip, radius, 0));
    }
  }
  void operator()(const Slot& slot) const {
    const double radius = 0.5 * slot.width.middle_mm();
    const double half = std::max(0.0, 0.5 * slot.length_mm - radius);
    const Vec3 side = slot.into_P.cross(slot.along_P);
    const Stretch deep = Across(line_, slot.centre_P_mm, slot.into_P, 0, slot.depth_mm);
    const Stretch middle = Both(Across(line_, slot.centre_P_mm, slot.along_P, -half, half),
                                Across(line_, slot.centre_P_mm, side, -radius, radius));
    Add(gaps_, Both(deep, middle));
    for (const double sense : {-1.0, 1.0}) {
      const Axis3 end{slot.centre_P_mm + sense * half * slot.along_P, slot.into_P};
      Add(gaps_, InCylinder(line_, end, 0, slot.depth_mm, radius));
    }
  }
  void operator()(const Groove& groove) const {
    const double floor = 0.5 * groove.diameter.middle_mm();
    const double surface = GrooveSurfaceRadius(part_, groove);
    const auto disc = [&](double radius) {
      return InCylinder(line_, groove.axis_P, groove.from_mm, groove.to_mm, radius);
    };
    if (groove.internal) return Add(gaps_, disc(floor));
    AddBetween(gaps_, disc(surface + kDrawnAlike_mm), disc(floor));
  }
  void operator()(const Flats& flats) const {
    const double off = FlatDistance(part_, flats);
    const double covering =
        0.5 * CoveringDiameter(part_, flats.axis_P, flats.from_mm, flats.to_mm) + kDrawnAlike_mm;
    const Stretch round = InCylinder(line_, flats.axis_P, flats.from_mm, flats.to_mm, covering);
    for (int i = 0; i < flats.count; ++i) {
      Add(gaps_,
          Both(round, Across(line_, flats.axis_P.point_mm, FlatNormal(flats, i), off, kFar_mm)));
    }
  }
  void operator()(const Taper& taper) const {
    const Stretch cone =
        InFrustum(line_, taper.axis_P, taper.from_mm, taper.to_mm,
                  0.5 * taper.start_diameter.middle_mm(), 0.5 * taper.end_diameter.middle_mm());
    if (taper.internal) return Add(gaps_, cone);
    const double covering =
        0.5 * CoveringDiameter(part_, taper.axis_P, taper.from_mm, taper.to_mm) + kDrawnAlike_mm;
    AddBetween(gaps_, InCylinder(line_, taper.axis_P, taper.from_mm, taper.to_mm, covering), cone);
  }
  void operator()(const Keyway& keyway) const {
    const double half = 0.5 * keyway.width.middle_mm();
    const Vec3& axis = keyway.axis_P.direction;
    const Vec3& point = keyway.axis_P.point_mm;
    const Stretch beside = Both(Across(line_, point, axis, keyway.from_mm, keyway.to_mm),
                                Across(line_, point, axis.cross(keyway.side_P), -half, half));
    const auto [low, high] = keyway.internal ? std::pair(0.0, keyway.floor_mm) : std::pair(keyway.floor_mm, kFar_mm);
    Add(gaps_, Both(beside, Across(line_, point, keyway.side_P, low, high)));
  }
  void operator()(const RoundChamfer& chamfer) const {
    const Feature* on = part_.Find(chamfer.on);
    if (on == nullptr || chamfer.rounded) return;
    if (const auto* hole = std::get_if<Hole>(&on->shape)) {
      const double radius = 0.5 * hole->diameter.middle_mm();
      for (const Vec3& entry : hole->entries_P_mm) {
        const Vec3 end = chamfer.at_start ? entry : Vec3(entry + hole->depth_mm * hole->into_P);
        const Axis3 inward{end, chamfer.at_start ? hole->into_P : Vec3(-hole->into_P)};
        Add(gaps_,
            InFrustum(line_, inward, 0, chamfer.axial_mm, radius + chamfer.radial_mm, radius));
      }
    } else if (const auto* outer = std::get_if<OuterDiameter>(&on->shape)) {
      const double radius = 0.5 * outer->diameter.middle_mm();
      const double low = chamfer.at_start ? outer->from_mm : outer->to_mm - chamfer.axial_mm;
      const double cut = radius - chamfer.radial_mm;
      AddBetween(
          gaps_,
          InCylinder(line_, outer->axis_P, low, low + chamfer.axial_mm, radius + kDrawnAlike_mm),
          InFrustum(line_, outer->axis_P, low, low + chamfer.axial_mm,
                    chamfer.at_start ? cut : radius, chamfer.at_start ? radius : cut));
    }
  }
  // Counted in CalcMaterialAlong, or take nothing that matters here.
  template <typename Other>
  void operator()(const Other&) const {}

 private:
  const Part& part_;
  const Line& line_;
  Gaps& gaps_;
};

std::vector<Stretch> Without(const std::vector<Stretch>& stretches, const Stretch& gap) {
  std::vector<Stretch> left;
  for (const Stretch& s : stretches) {
    AddBetween(left, s, Both(s, gap));
  }
  return left;
}

Box3 BoxOf(const Part& part, const Pose& X_WP) {
  const Box3 own = CalcEnvelope(part);
  Box3 box;
  for (int corner = 0; corner < 8; ++corner) {
    const Vec3 p = X_WP * Vec3((corner & 1) != 0 ? own.max_mm.x() : own.min_mm.x(),
                               (corner & 2) != 0 ? own.max_mm.y() : own.min_mm.y(),
                               (corner & 4) != 0 ? own.max_mm.z() : own.min_mm.z());
    box.min_mm = corner == 0 ? p : Vec3(box.min_mm.cwiseMin(p));
    box.max_mm = corner == 0 ? p : Vec3(box.max_mm.cwiseMax(p));
  }
  return box;
}

}  // namespace

std::vector<Stretch> MetalAlong(const Part& part, const Vec3& point_P_mm, const Vec3& direction_P) {
  std::vector<Stretch> metal = CalcMaterialAlong(part, point_P_mm, direction_P);
  if (metal.empty()) return metal;
  const Line line{point_P_mm, direction_P};
  Gaps gaps;
  for (const Feature& feature : part.features) {
    std::visit(Taken(part, line, gaps), feature.shape);
  }
  for (const Stretch& gap : gaps) metal = Without(metal, gap);
  return metal;
}

bool MetalAt(const Part& part, const Vec3& point_P_mm) {
  const std::vector<Stretch> metal = MetalAlong(part, point_P_mm, Vec3::UnitX());
  return std::any_of(metal.begin(), metal.end(),
                     [](const Stretch& s) { return s.from_mm < 0 && s.to_mm > 0; });
}

std::vector<Piece> PiecesOf(const Machine& machine) {
  std::vector<Piece> pieces;
  for (const auto* list : {&machine.uses, &machine.bought_uses}) {
    for (const PartUse& use : *list) {
      const Part* part = machine.FindPart(use.part);
      if (part == nullptr || part->features.empty()) continue;
      const BoughtPart* bought = machine.FindBought(use.part);
      pieces.push_back({use.part, part, use.X_WP, bought, BoxOf(*part, use.X_WP)});
      for (std::size_t i = 0; i < use.copies_X_WP.size(); ++i) {
        const PartId copy(use.part.text() + "#" + std::to_string(i + 2));
        pieces.push_back(
            {copy, part, use.copies_X_WP[i], bought, BoxOf(*part, use.copies_X_WP[i])});
      }
    }
  }
  return pieces;
}

bool SitsInGroove(const Piece& ring, const Piece& holder) {
  constexpr double kOnAxis_mm = 0.5;
  const Vec3 middle = holder.X_WP.inverse() * (ring.X_WP * CalcEnvelope(*ring.part).centre_mm());
  return std::any_of(holder.part->features.begin(), holder.part->features.end(),
                     [&](const Feature& feature) {
                       const auto* groove = std::get_if<Groove>(&feature.shape);
                       if (groove == nullptr) return false;
                       const Vec3 off = middle - groove->axis_P.point_mm;
                       const double along = off.dot(groove->axis_P.direction);
                       return (off - along * groove->axis_P.direction).norm() < kOnAxis_mm &&
                              along > groove->from_mm && along < groove->to_mm;
                     });
}

}  // namespace fitwright::review
