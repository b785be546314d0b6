#include "fitwright/planner/paths_design.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "fitwright/model/shapes.h"
#include "fitwright/planner/outline_path.h"

namespace fitwright::planner {
namespace {

constexpr double kGougeMargin_mm = 0.02;  // a tangent cutter is no gouge; replay measures the rest
constexpr double kSampleStep_mm = 1.5;
constexpr double kConeStep_mm = 0.4;
constexpr int kRimSamples = 32;  // a multiple of 4: flats and walls lie square to the axes

struct Cylindric {
  double along = 0;
  double away = 0;
};
Cylindric About(const Axis3& axis, const Vec3& p) {
  const Vec3 d = p - axis.point_mm;
  const double along = axis.direction.dot(d);
  return {along, (d - axis.direction * along).norm()};
}
bool Between(double v, double a, double b) { return v > std::min(a, b) && v < std::max(a, b); }

bool HoleTakes(const Hole& hole, const Vec3& p) {
  const double r = hole.diameter.middle_mm() / 2;
  for (const Vec3& entry : hole.entries_P_mm) {
    const Cylindric c = About({entry, hole.into_P}, p);
    if (c.along <= 0 || c.away >= r) continue;
    if (c.along < hole.depth_mm) return true;
    if (hole.through || hole.bottom == HoleBottom::kFlat) continue;
    const double half = (hole.bottom == HoleBottom::kPoint118 ? 59.0 : 67.5) * kRadPerDeg;
    if (c.away < r - (c.along - hole.depth_mm) * std::tan(half)) return true;
  }
  return false;
}

struct InPlane {
  double u = 0;
  double v = 0;
  double down = 0;
};
InPlane Local(const Vec3& centre, const Vec3& into, const Vec3& along, const Vec3& p) {
  const Vec3 d = p - centre;
  return {along.dot(d), into.cross(along).dot(d), into.dot(d)};
}

bool SlotTakes(const Slot& slot, const Vec3& p) {
  const InPlane q = Local(slot.centre_P_mm, slot.into_P, slot.along_P, p);
  if (!Between(q.down, 0, slot.depth_mm)) return false;
  const double r = slot.width.middle_mm() / 2;
  const double half = std::max(0.0, slot.length_mm / 2 - r);
  return std::hypot(std::max(0.0, std::abs(q.u) - half), q.v) < r;
}

bool PocketTakes(const Pocket& pocket, const Vec3& p) {
  const InPlane q = Local(pocket.centre_P_mm, pocket.into_P, pocket.along_P, p);
  if (!Between(q.down, 0, pocket.depth_mm)) return false;
  const double r = pocket.corner_radius_mm;
  const double du = std::abs(q.u) - (pocket.length_mm / 2 - r);
  const double dv = std::abs(q.v) - (pocket.width_mm / 2 - r);
  if (du <= 0 || dv <= 0) return std::max(du, dv) < r;
  return std::hypot(du, dv) < r;
}

bool StepTakes(const StepCut& step, const Vec3& p) {
  return ((p - step.removed_P.min_mm).array() > 0).all() &&
         ((step.removed_P.max_mm - p).array() > 0).all();
}

// In the corner between two faces, outside the round that is tangent to both.
bool EdgeRoundTakes(const ChamferPlane& plane, double radius, const Vec3& na, const Vec3& nb,
                    const Vec3& p) {
  const Vec3 centre = plane.edge_P_mm - radius * (na + nb) / (1 + na.dot(nb));
  const Vec3 d = p - centre;
  const Vec3 across = d - plane.along_P * plane.along_P.dot(d);
  if (across.norm() <= radius) return false;
  // Between the two ways out of the faces: across = a na + b nb with neither below zero.
  const double cosine = na.dot(nb);
  return across.dot(na) > cosine * across.dot(nb) && across.dot(nb) > cosine * across.dot(na);
}

bool EdgeChamferTakes(const Part& part, const EdgeChamfer& chamfer, const Vec3& p) {
  const auto plane = FindChamferPlane(part, chamfer);
  if (!plane) return false;
  if (chamfer.rounded) {
    const auto& a = std::get<PlanarFace>(part.Find(chamfer.face_a)->shape);
    const auto& b = std::get<PlanarFace>(part.Find(chamfer.face_b)->shape);
    // Only near the edge, as below.
    return (p - plane->edge_P_mm - plane->along_P * plane->along_P.dot(p - plane->edge_P_mm)).norm() <
               chamfer.leg_a_mm &&
           EdgeRoundTakes(*plane, chamfer.leg_a_mm, a.normal_P, b.normal_P, p);
  }
  if (plane->normal_P.dot(p) <= plane->at_mm) return false;
  // Only near the edge: the same plane may pass over material that stands elsewhere.
  const Vec3 d = p - plane->edge_P_mm;
  const Vec3 across = d - plane->along_P * plane->along_P.dot(d);
  return across.norm() < std::max(chamfer.leg_a_mm, chamfer.leg_b_mm) + kGeometryNoise_mm;
}

// What a convex round of this radius leaves standing at `in` from the edge's two faces.
bool BeyondRound(double from_a, double from_b, double radius) {
  if (from_a >= radius || from_b >= radius) return false;
  return std::hypot(radius - from_a, radius - from_b) > radius;
}

bool RoundChamferTakes(const Part& part, const RoundChamfer& chamfer, const Vec3& p) {
  const Feature* on = part.Find(chamfer.on);
  if (on == nullptr) return false;
  if (const auto* hole = std::get_if<Hole>(&on->shape)) {
    for (const Vec3& entry : hole->entries_P_mm) {
      const Vec3 end = chamfer.at_start ? entry : Vec3(entry + hole->into_P * hole->depth_mm);
      const Vec3 in = chamfer.at_start ? hole->into_P : Vec3(-hole->into_P);
      const Cylindric c = About({end, in}, p);
      if (!Between(c.along, 0, chamfer.axial_mm)) continue;
      const double out = c.away - hole->diameter.middle_mm() / 2;
      if (chamfer.rounded ? out <= 0 || BeyondRound(out, c.along, chamfer.radial_mm)
                          : out < chamfer.radial_mm * (1 - c.along / chamfer.axial_mm)) {
        return true;
      }
    }
    return false;
  }
  const auto* outer = std::get_if<OuterDiameter>(&on->shape);
  if (outer == nullptr) return false;
  const bool low_end = chamfer.at_start;
  const double end = low_end ? outer->from_mm : outer->to_mm;
  const double in = (outer->to_mm > outer->from_mm) == low_end ? 1 : -1;
  const Cylindric c = About(outer->axis_P, p);
  const double depth = in * (c.along - end);
  if (!Between(depth, 0, chamfer.axial_mm)) return false;
  const double r = outer->diameter.middle_mm() / 2;
  if (chamfer.rounded) return c.away < r && BeyondRound(r - c.away, depth, chamfer.radial_mm);
  return c.away > r - chamfer.radial_mm * (1 - depth / chamfer.axial_mm) && c.away < r;
}

// Radius of a groove's wall or floor at a place along the axis.
double GrooveRadiusAt(const Part& part, const Groove& groove, double along) {
  const double floor = groove.diameter.middle_mm() / 2;
  const double inward = groove.internal ? -1 : 1;  // the way out of the groove
  const double half = std::abs(groove.to_mm - groove.from_mm) / 2;
  const double off = std::abs(along - 0.5 * (groove.from_mm + groove.to_mm));
  if (groove.profile == GrooveProfile::kRound)
    return floor + inward * (half - std::sqrt(std::max(0.0, half * half - off * off)));
  if (groove.profile == GrooveProfile::kVee) {
    const double rise = (half - off) / std::tan(0.5 * groove.vee_deg * kRadPerDeg);
    const double wall = GrooveSurfaceRadius(part, groove) - inward * rise;
    return inward > 0 ? std::max(floor, wall) : std::min(floor, wall);
  }
  return floor;
}

bool GrooveTakes(const Part& part, const Groove& groove, const Vec3& p) {
  const Cylindric c = About(groove.axis_P, p);
  if (!Between(c.along, groove.from_mm, groove.to_mm)) return false;
  const double r = GrooveRadiusAt(part, groove, c.along);
  return groove.internal ? c.away < r : c.away > r;
}

bool FlatsTake(const Part& part, const Flats& flats, const Vec3& p) {
  const Cylindric c = About(flats.axis_P, p);
  if (!Between(c.along, flats.from_mm, flats.to_mm)) return false;
  const double off = FlatDistance(part, flats);
  const Vec3 d = p - flats.axis_P.point_mm;
  for (int i = 0; i < flats.count; ++i) {
    if (FlatNormal(flats, i).dot(d) > off) return true;
  }
  return false;
}

bool TaperTakes(const Taper& taper, const Vec3& p) {
  const Cylindric c = About(taper.axis_P, p);
  if (!Between(c.along, taper.from_mm, taper.to_mm)) return false;
  const double t = (c.along - taper.from_mm) / (taper.to_mm - taper.from_mm);
  const double r = 0.5 * ((1 - t) * taper.start_diameter.middle_mm() + t * taper.end_diameter.middle_mm());
  return taper.internal ? c.away < r : c.away > r;
}

bool KeywayTakes(const Part& part, const Keyway& keyway, const Vec3& p) {
  const Cylindric c = About(keyway.axis_P, p);
  const Vec3 d = p - keyway.axis_P.point_mm;
  const double up = keyway.side_P.dot(d);
  const double aside = std::abs(keyway.axis_P.direction.cross(keyway.side_P).dot(d));
  const double half = keyway.width.middle_mm() / 2;
  if (aside >= half) return false;
  if (keyway.internal) return up > 0 && up < keyway.floor_mm && Between(c.along, keyway.from_mm, keyway.to_mm);
  if (up <= keyway.floor_mm) return false;
  const auto [open_from, open_to] = OpenEnds(part, keyway);
  const double from = keyway.from_mm + (open_from ? -half : half);
  const double to = keyway.to_mm + (open_to ? half : -half);
  const double beyond = std::max({0.0, from - c.along, c.along - to});
  return std::hypot(beyond, aside) < half;
}

// Signed distance to the outline's union of discs and bars, negative inside; exact outside corners.
double OutlineDistance(const Outline& outline, const Vec2& q) {
  double least = 1e9;
  for (const Outline::Disc& disc : outline.discs) least = std::min(least, DistanceTo(disc, q));
  for (const Outline::Bar& bar : outline.bars) least = std::min(least, DistanceTo(bar, q));
  return least;
}

// The direction nearby in which a cutter's middle, `reach` away, stands farthest from the union.
double RefinedWay(const Outline& outline, const Vec2& q, double reach, double way_rad, double step_rad) {
  constexpr double kGolden = 0.6180339887498949;
  const auto clear = [&](double a) {
    return OutlineDistance(outline, q + reach * Vec2(std::cos(a), std::sin(a)));
  };
  double low = way_rad - step_rad;
  double high = way_rad + step_rad;
  for (int i = 0; i < 24; ++i) {
    const double a = high - kGolden * (high - low);
    const double b = low + kGolden * (high - low);
    (clear(a) > clear(b) ? high : low) = clear(a) > clear(b) ? b : a;
  }
  return clear(0.5 * (low + high));
}

// Outside the union, and a cutter of the inside radius can reach it: some middle at least that far from
// the union stands within the radius of the point.
bool OutlineTakes(const Outline& outline, const Vec3& p) {
  const Vec3 d = p - outline.origin_P_mm;
  const Vec2 q(outline.u_P.dot(d), outline.v_P.dot(d));
  const double deep = outline.into_P.dot(d);
  if (outline.depth_mm > 0 && (deep < 0 || deep > outline.depth_mm)) return false;
  if (!outline.line.empty()) return Encloses(outline.line, q) == outline.within;
  const double distance = OutlineDistance(outline, q);
  const double r = outline.inside_radius_mm;
  if (distance <= 0) return false;
  if (distance >= r || r <= 0) return true;
  constexpr int kWays = 72;
  const double step_rad = 2 * kPi / kWays;
  const double reach = 0.999 * r;
  std::array<double, kWays> clear{};
  for (int i = 0; i < kWays; ++i) {
    const double a = i * step_rad;
    clear[static_cast<std::size_t>(i)] =
        OutlineDistance(outline, q + reach * Vec2(std::cos(a), std::sin(a)));
    if (clear[static_cast<std::size_t>(i)] >= reach) return true;
  }
  // Deep in an inside corner only a narrow range of ways is open.
  for (std::size_t i = 0; i < kWays; ++i) {
    const double here = clear[i];
    if (here < clear[(i + 1) % kWays] || here < clear[(i + kWays - 1) % kWays]) continue;
    if (here < reach - reach * step_rad) continue;
    if (RefinedWay(outline, q, reach, static_cast<double>(i) * step_rad, step_rad) >= reach) return true;
  }
  return false;
}

bool EnvelopeHolds(const Part& part, const Vec3& p) {
  if (part.envelope == EnvelopeKind::kBlock && ((p - part.block_P.min_mm).array() > 0).all() &&
      ((part.block_P.max_mm - p).array() > 0).all()) {
    return true;
  }
  return std::any_of(part.features.begin(), part.features.end(), [&](const Feature& f) {
    const auto* outer = std::get_if<OuterDiameter>(&f.shape);
    if (outer == nullptr) return false;
    const Cylindric c = About(outer->axis_P, p);
    return Between(c.along, outer->from_mm, outer->to_mm) &&
           c.away < outer->diameter.middle_mm() / 2;
  });
}

// Half outline of a spindle tool: radius at a height above the tip.
double RadiusAt(const Tool& tool, const PathPiece& piece, double above_tip_mm) {
  const double d = piece.set_diameter_mm > 0 ? piece.set_diameter_mm : tool.diameter_mm;
  const bool flat =
      tool.point_deg >= 180 || tool.kind == ToolKind::kBoringHead || tool.kind == ToolKind::kHone;
  const double cone = flat ? 0 : d / 2 / std::tan(tool.point_deg / 2 * kRadPerDeg);
  if (above_tip_mm < cone) return d / 2 * above_tip_mm / cone;
  return above_tip_mm <= tool.flute_mm || tool.shank_mm <= 0 ? d / 2 : tool.shank_mm / 2;
}

std::vector<double> HeightsOf(const Tool& tool, const PathPiece& piece, double tip_mm,
                              double top_mm) {
  const double d = piece.set_diameter_mm > 0 ? piece.set_diameter_mm : tool.diameter_mm;
  const double cone = tool.point_deg >= 180 ? 0 : d / 2 / std::tan(tool.point_deg / 2 * kRadPerDeg);
  std::vector<double> heights = {2 * kGougeMargin_mm};
  const int cone_steps = std::min(24, static_cast<int>(std::ceil(cone / kConeStep_mm)));
  for (int i = 1; i <= cone_steps; ++i) heights.push_back(cone * i / cone_steps);
  const double height = top_mm - tip_mm;
  const int count = std::max(1, static_cast<int>(std::ceil(height / kSampleStep_mm)));
  for (int i = 1; i <= std::min(count, 60); ++i)
    heights.push_back(height * i / std::min(count, 60));
  return heights;
}

// A box that all of the design is in.
Box3 BoundsOf(const Part& part) {
  constexpr double kFar_mm = 1e9;
  Box3 bounds{Vec3::Constant(kFar_mm), Vec3::Constant(-kFar_mm)};
  const auto take = [&](const Vec3& low, const Vec3& high) {
    bounds.min_mm = bounds.min_mm.cwiseMin(low);
    bounds.max_mm = bounds.max_mm.cwiseMax(high);
  };
  if (part.envelope == EnvelopeKind::kBlock) take(part.block_P.min_mm, part.block_P.max_mm);
  for (const Feature& feature : part.features) {
    const auto* outer = std::get_if<OuterDiameter>(&feature.shape);
    if (outer == nullptr) continue;
    const Vec3 round = Vec3::Constant(outer->diameter.middle_mm() / 2 + kGeometryNoise_mm);
    for (const double along : {outer->from_mm, outer->to_mm}) {
      const Vec3 end = outer->axis_P.point_mm + outer->axis_P.direction * along;
      take(end - round, end + round);
    }
  }
  return bounds;
}

// The design as a cutter in S meets it.
struct Target {
  const Part& part;
  const Pose& X_PS;
  Box3 bounds_P;
  mutable const Feature* last_taken = nullptr;  // by what was cut: its neighbours mostly are too
};

bool PointGouges(const Target& target, const Vec3& p_S) {
  const Vec3 p = target.X_PS * p_S;
  if ((p.array() < target.bounds_P.min_mm.array()).any() || (p.array() > target.bounds_P.max_mm.array()).any()) return false;
  if (target.last_taken != nullptr && FeatureTakes(target.part, *target.last_taken, p)) return false;
  for (const Feature& feature : target.part.features) {
    if (!FeatureTakes(target.part, feature, p)) continue;
    target.last_taken = &feature;
    return false;
  }
  return DesignHoldsDeep(target.part, p, kGougeMargin_mm);
}

// The whole rim, a circle square to z of S, stands clear of the box round the design.
bool RimIsClear(const Target& target, const Vec3& middle_S, double radius_mm) {
  const Vec3 middle = target.X_PS * middle_S;
  const Vec3 axis = target.X_PS.linear().col(2);
  for (int k = 0; k < 3; ++k) {
    const double reach = radius_mm * std::sqrt(std::max(0.0, 1 - axis[k] * axis[k])) + kGeometryNoise_mm;
    if (middle[k] - reach > target.bounds_P.max_mm[k] || middle[k] + reach < target.bounds_P.min_mm[k]) return true;
  }
  return false;
}

// Cosine and sine of the samples' places on a rim.
const std::array<Vec2, kRimSamples>& RimWays() {
  static const std::array<Vec2, kRimSamples> ways = [] {
    std::array<Vec2, kRimSamples> all;
    for (int i = 0; i < kRimSamples; ++i) {
      const double a = 2 * kPi * i / kRimSamples;
      all[static_cast<std::size_t>(i)] = {std::cos(a), std::sin(a)};
    }
    return all;
  }();
  return ways;
}

std::optional<Vec3> FindGougeAt(const Target& target, const Tool& tool, const PathPiece& piece,
                                const Vec3& tip_S, double top_mm) {
  for (const double h : HeightsOf(tool, piece, tip_S.z(), top_mm)) {
    const double r = RadiusAt(tool, piece, h) - kGougeMargin_mm;
    if (r <= 0 || RimIsClear(target, tip_S + Vec3(0, 0, h), r)) continue;
    for (const Vec2& way : RimWays()) {
      const Vec3 p = tip_S + Vec3(r * way.x(), r * way.y(), h);
      if (PointGouges(target, p)) return p;
    }
  }
  return std::nullopt;
}

std::vector<Vec3> AlongPath(const std::vector<Vec3>& points) {
  std::vector<Vec3> samples;
  for (std::size_t i = 0; i < points.size(); ++i) {
    samples.push_back(points[i]);
    if (i + 1 == points.size()) break;
    const Vec3 d = points[i + 1] - points[i];
    const int count = std::min(40, static_cast<int>(d.norm() / (2 * kSampleStep_mm)));
    for (int k = 1; k <= count; ++k) samples.push_back(points[i] + d * (k / (count + 1.0)));
  }
  return samples;
}

// All round the box that a stroke sweeps, a little within it.
std::optional<Vec3> FindStrokeGouge(const Target& target, const Tool& tool, const PathPiece& piece) {
  constexpr double kAcross_mm = 0.5;
  const double half = tool.width_mm / 2 - kGougeMargin_mm;
  const double edge = piece.points_S_mm.front().x() - kGougeMargin_mm;
  const int wide = 1 + static_cast<int>(2 * half / kAcross_mm);
  const int deep = 1 + static_cast<int>(edge / kAcross_mm);
  for (const Vec3& at : AlongPath(piece.points_S_mm)) {
    for (int i = 0; i <= wide; ++i) {
      const Vec3 p(edge, half * (2.0 * i / wide - 1), at.z());
      if (PointGouges(target, p)) return p;
    }
    for (int i = 0; i <= deep; ++i) {
      for (const double y : {-half, half}) {
        const Vec3 p(edge * i / deep, y, at.z());
        if (PointGouges(target, p)) return p;
      }
    }
  }
  return std::nullopt;
}

std::optional<Vec3> FindTurnGouge(const Target& target, const Tool& tool, const PathPiece& piece) {
  std::vector<Vec2> outline;
  const auto& section = tool.section_T_mm;
  for (std::size_t i = 0; i < section.size(); ++i) {
    const Vec2& a = section[i];
    const Vec2 d = section[(i + 1) % section.size()] - a;
    const int count = std::min(6, 1 + static_cast<int>(d.norm() / kSampleStep_mm));
    for (int k = 0; k < count; ++k) outline.push_back(a + d * (static_cast<double>(k) / count));
  }
  for (const Vec3& at : AlongPath(piece.points_S_mm)) {
    for (const Vec2& q : outline) {
      const double r = at.x() + q.x();
      if (r <= 0) continue;
      for (std::size_t i = 0; i < kRimSamples; i += 2) {
        const Vec2& way = RimWays()[i];
        const Vec3 p(r * way.x(), r * way.y(), at.z() + q.y());
        if (PointGouges(target, p)) return p;
      }
    }
  }
  return std::nullopt;
}

}  // namespace

bool FeatureTakes(const Part& part, const Feature& feature, const Vec3& p) {
  struct Taker {
    const Part& part;
    const Vec3& p;
    bool operator()(const PlanarFace&) const { return false; }
    bool operator()(const OuterDiameter&) const { return false; }
    bool operator()(const Hole& s) const { return HoleTakes(s, p); }
    bool operator()(const Slot& s) const { return SlotTakes(s, p); }
    bool operator()(const Pocket& s) const { return PocketTakes(s, p); }
    bool operator()(const StepCut& s) const { return StepTakes(s, p); }
    bool operator()(const EdgeChamfer& s) const { return EdgeChamferTakes(part, s, p); }
    bool operator()(const RoundChamfer& s) const { return RoundChamferTakes(part, s, p); }
    bool operator()(const Groove& s) const { return GrooveTakes(part, s, p); }
    bool operator()(const Flats& s) const { return FlatsTake(part, s, p); }
    bool operator()(const Taper& s) const { return TaperTakes(s, p); }
    bool operator()(const Keyway& s) const { return KeywayTakes(part, s, p); }
    bool operator()(const Outline& s) const { return OutlineTakes(s, p); }
    bool operator()(const ExternalThread&) const { return false; }
    bool operator()(const Knurl&) const { return false; }
    bool operator()(const Marking&) const { return false; }
  };
  return std::visit(Taker{part, p}, feature.shape);
}

bool DesignHolds(const Part& part, const Vec3& p) {
  if (!EnvelopeHolds(part, p)) return false;
  return std::none_of(part.features.begin(), part.features.end(),
                      [&](const Feature& f) { return FeatureTakes(part, f, p); });
}

bool DesignHoldsDeep(const Part& part, const Vec3& p, double margin_mm) {
  if (!DesignHolds(part, p)) return false;
  // Corners of a small cube: a point in an inside edge is free towards one of them at least.
  for (int i = 0; i < 8; ++i) {
    const Vec3 corner((i & 1) ? 1 : -1, (i & 2) ? 1 : -1, (i & 4) ? 1 : -1);
    if (!DesignHolds(part, p + margin_mm * corner)) return false;
  }
  return true;
}

std::optional<ChamferPlane> FindChamferPlane(const Part& part, const EdgeChamfer& chamfer) {
  const Feature* a = part.Find(chamfer.face_a);
  const Feature* b = part.Find(chamfer.face_b);
  const auto* face_a = a == nullptr ? nullptr : std::get_if<PlanarFace>(&a->shape);
  const auto* face_b = b == nullptr ? nullptr : std::get_if<PlanarFace>(&b->shape);
  if (face_a == nullptr || face_b == nullptr) return std::nullopt;
  const Vec3 along = face_a->normal_P.cross(face_b->normal_P);
  if (along.norm() < 1e-6) return std::nullopt;
  ChamferPlane plane;
  plane.along_P = along.normalized();
  Eigen::Matrix3d rows;
  rows << face_a->normal_P.transpose(), face_b->normal_P.transpose(), plane.along_P.transpose();
  plane.edge_P_mm = rows.inverse() * Vec3(face_a->at.middle_mm(), face_b->at.middle_mm(), 0);
  // Into each face, away from the edge and into the material of the other.
  Vec3 in_a = plane.along_P.cross(face_a->normal_P);
  if (in_a.dot(face_b->normal_P) > 0) in_a = -in_a;
  Vec3 in_b = plane.along_P.cross(face_b->normal_P);
  if (in_b.dot(face_a->normal_P) > 0) in_b = -in_b;
  plane.foot_a_P_mm = plane.edge_P_mm + in_a * chamfer.leg_a_mm;
  plane.foot_b_P_mm = plane.edge_P_mm + in_b * chamfer.leg_b_mm;
  Vec3 normal = plane.along_P.cross(plane.foot_a_P_mm - plane.foot_b_P_mm).normalized();
  if (normal.dot(plane.edge_P_mm - plane.foot_a_P_mm) < 0) normal = -normal;
  plane.normal_P = normal;
  plane.at_mm = normal.dot(plane.foot_a_P_mm);
  return plane;
}

std::optional<Vec3> FindGouge(const Part& part, const Pose& X_PS, const Tool& tool,
                              const PathPiece& piece, double top_S_mm) {
  const Target target{part, X_PS, BoundsOf(part), nullptr};
  if (piece.kind == PathKind::kTurn) return FindTurnGouge(target, tool, piece);
  if (piece.kind == PathKind::kStroke) return FindStrokeGouge(target, tool, piece);
  if (piece.kind == PathKind::kSaw) return std::nullopt;
  const auto tips =
      piece.kind == PathKind::kMill ? AlongPath(piece.points_S_mm) : piece.points_S_mm;
  for (const Vec3& tip : tips) {
    if (auto p = FindGougeAt(target, tool, piece, tip, std::max(top_S_mm, tip.z() + 0.1))) return p;
  }
  return std::nullopt;
}

}  // namespace fitwright::planner
