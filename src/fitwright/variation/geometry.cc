#include "fitwright/variation/geometry.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "fitwright/base/hash.h"
#include "fitwright/variation/form.h"

namespace fitwright::variation {
namespace {

constexpr double kParallel = 1 - 1e-9;
// Contacts stand a little inside the rim of what touches.
constexpr double kRimShare = 0.95;

Datum AxisDatum(const Axis3& axis, double from, double to, const Size& size, bool inside) {
  Datum datum;
  datum.kind = DatumKind::kAxis;
  datum.point_P_mm = axis.point_mm;
  datum.direction_P = axis.direction;
  datum.from_mm = from;
  datum.to_mm = to;
  datum.inside = inside;
  datum.diameter_mm = size.middle_mm();
  return datum;
}

struct MakeDatum {
  Datum operator()(const PlanarFace& face) const {
    Datum datum;
    datum.kind = DatumKind::kPlane;
    datum.direction_P = face.normal_P;
    datum.point_P_mm = face.normal_P * face.at.middle_mm();
    return datum;
  }
  Datum operator()(const Hole& hole) const {
    const Vec3 entry = hole.entries_P_mm.empty() ? Vec3(Vec3::Zero()) : hole.entries_P_mm.front();
    return AxisDatum({entry, hole.into_P}, 0, hole.depth_mm, hole.diameter, true);
  }
  Datum operator()(const OuterDiameter& outer) const {
    return AxisDatum(outer.axis_P, outer.from_mm, outer.to_mm, outer.diameter, false);
  }
  Datum operator()(const Groove& groove) const {
    return AxisDatum(groove.axis_P, groove.from_mm, groove.to_mm, groove.diameter, groove.internal);
  }
  Datum operator()(const Flats& flats) const {
    return AxisDatum(flats.axis_P, flats.from_mm, flats.to_mm, flats.across, false);
  }
  Datum operator()(const Slot& slot) const {
    return Sunk(slot.centre_P_mm, slot.into_P, slot.depth_mm, slot.width.middle_mm());
  }
  Datum operator()(const Pocket& pocket) const {
    return Sunk(pocket.centre_P_mm, pocket.into_P, pocket.depth_mm, pocket.width_mm);
  }
  Datum operator()(const StepCut& step) const {
    Datum datum;
    datum.point_P_mm = step.removed_P.centre_mm();
    datum.direction_P = step.into_P;
    return datum;
  }
  Datum operator()(const EdgeChamfer&) const { return {}; }
  Datum operator()(const RoundChamfer&) const { return {}; }
  Datum operator()(const Taper& taper) const {
    return AxisDatum(taper.axis_P, taper.from_mm, taper.to_mm, taper.start_diameter,
                     taper.internal);
  }
  Datum operator()(const Keyway& keyway) const {
    Datum datum;
    datum.point_P_mm = keyway.axis_P.point_mm + keyway.floor_mm * keyway.side_P +
                       0.5 * (keyway.from_mm + keyway.to_mm) * keyway.axis_P.direction;
    datum.direction_P = keyway.internal ? keyway.side_P : Vec3(-keyway.side_P);
    datum.inside = true;
    datum.diameter_mm = keyway.width.middle_mm();
    return datum;
  }
  Datum operator()(const Outline& outline) const {
    Datum datum;
    datum.point_P_mm = outline.origin_P_mm;
    datum.direction_P = outline.into_P;
    return datum;
  }
  Datum operator()(const ExternalThread&) const { return {}; }
  Datum operator()(const Knurl&) const { return {}; }
  Datum operator()(const Marking&) const { return {}; }
  static Datum Sunk(const Vec3& centre, const Vec3& into, double depth, double width) {
    Datum datum;
    datum.point_P_mm = centre;
    datum.direction_P = into;
    datum.to_mm = depth;
    datum.inside = true;
    datum.diameter_mm = width;
    return datum;
  }
};

// Half sizes of a box across n, with its centre put on the plane.
Region BoxRegion(const Box3& box, const Vec3& n, double at) {
  Region region;
  region.normal = n;
  region.u = SquareTo(n)[0];
  const Vec3 v = n.cross(region.u);
  const Vec3 half = 0.5 * box.size_mm();
  region.half_u = half.dot(region.u.cwiseAbs());
  region.half_v = half.dot(v.cwiseAbs());
  const Vec3 c = box.centre_mm();
  region.centre = c + n * (at - n.dot(c));
  return region;
}

Region Disc(const Vec3& on_axis, const Vec3& n, double at, double radius) {
  Region region;
  region.round = true;
  region.normal = n;
  region.u = SquareTo(n)[0];
  region.half_u = region.half_v = radius;
  region.centre = on_axis + n * (at - n.dot(on_axis));
  return region;
}

// Centre of the end of the cylinder whose outward normal is n.
std::optional<Vec3> CapEnd(const OuterDiameter& outer, const Vec3& n) {
  const double along = n.dot(outer.axis_P.direction);
  if (std::abs(along) < kParallel) return std::nullopt;
  const double end =
      along > 0 ? std::max(outer.from_mm, outer.to_mm) : std::min(outer.from_mm, outer.to_mm);
  return Vec3(outer.axis_P.point_mm + end * outer.axis_P.direction);
}

std::optional<Region> FloorRegion(const Part& part, const Feature& face, const PlanarFace& plane) {
  const double at = plane.at.middle_mm();
  std::optional<Region> widest;
  const auto take = [&](const Region& region) {
    if (!widest || region.half_u > widest->half_u) widest = region;
  };
  for (const Feature& other : part.features) {
    if (const auto* outer = std::get_if<OuterDiameter>(&other.shape)) {
      const auto end = CapEnd(*outer, plane.normal_P);
      if (end && std::abs(plane.normal_P.dot(*end) - at) < kDrawnAlike_mm) {
        take(Disc(outer->axis_P.point_mm, plane.normal_P, at, 0.5 * outer->diameter.middle_mm()));
      }
    }
    if (!IsFloorOf(face, other)) continue;
    if (const auto* hole = std::get_if<Hole>(&other.shape)) {
      take(Disc(hole->entries_P_mm.front(), plane.normal_P, at, 0.5 * hole->diameter.middle_mm()));
    } else if (const auto* step = std::get_if<StepCut>(&other.shape)) {
      take(BoxRegion(step->removed_P, plane.normal_P, at));
    }
  }
  return widest;
}

struct Span {
  double low;
  double high;
};

// Extent of region along `axis` from `origin`.
Span SpanOf(const Region& region, const Vec3& origin, const Vec3& axis) {
  const Vec3 v = region.normal.cross(region.u);
  const double middle = axis.dot(region.centre - origin);
  const double half = region.round ? region.half_u
                                   : region.half_u * std::abs(axis.dot(region.u)) +
                                         region.half_v * std::abs(axis.dot(v));
  return {middle - half, middle + half};
}

std::vector<Vec3> RimPoints(const Region& disc, const Region& other) {
  const Vec3 v = disc.normal.cross(disc.u);
  const Vec3 other_v = other.normal.cross(other.u);
  std::vector<Vec3> points;
  for (int i = 0; i < 3; ++i) {
    const double angle = kPi / 2 + i * 2 * kPi / 3;
    const Vec3 out = std::cos(angle) * disc.u + std::sin(angle) * v;
    double reach = kRimShare * disc.half_u;
    if (!other.round) {
      const Vec3 from = disc.centre - other.centre;
      for (const auto& [axis, half] :
           {std::pair(other.u, other.half_u), std::pair(other_v, other.half_v)}) {
        const double along = out.dot(axis);
        if (std::abs(along) < 1e-9) continue;
        const double room = half - std::copysign(1.0, along) * from.dot(axis);
        if (room <= 0) return {};
        reach = std::min(reach, kRimShare * room / std::abs(along));
      }
    }
    points.push_back(disc.centre + reach * out);
  }
  return points;
}

}  // namespace

const Part* FindSheet(const Machine& machine, const PartId& part) { return machine.FindPart(part); }

const Feature* FindFeature(const Machine& machine, const FeatureRef& ref) {
  return machine.Find(ref);
}

std::optional<Pose> FindPlace(const Machine& machine, const PartId& part) {
  const std::optional<Pose> own = machine.FindPlace(part);
  return own ? own : machine.FindPlace(SheetIdOf(part));
}

PartId CopyOf(const PartId& sheet, std::size_t number) {
  return number <= 1 ? sheet : PartId(sheet.text() + "#" + std::to_string(number));
}

std::uint64_t KeyOf(const FeatureRef& ref) {
  return StableHash(ref.feature.text(), StableHash(ref.part.text()));
}

Datum DatumOf(const Feature& feature) { return std::visit(MakeDatum{}, feature.shape); }

const Size* SizeOf(const Feature& feature) {
  if (const auto* face = std::get_if<PlanarFace>(&feature.shape)) return &face->at;
  if (const auto* hole = std::get_if<Hole>(&feature.shape)) return &hole->diameter;
  if (const auto* outer = std::get_if<OuterDiameter>(&feature.shape)) return &outer->diameter;
  if (const auto* slot = std::get_if<Slot>(&feature.shape)) return &slot->width;
  if (const auto* groove = std::get_if<Groove>(&feature.shape)) return &groove->diameter;
  if (const auto* flats = std::get_if<Flats>(&feature.shape)) return &flats->across;
  if (const auto* taper = std::get_if<Taper>(&feature.shape)) return &taper->start_diameter;
  if (const auto* keyway = std::get_if<Keyway>(&feature.shape)) return &keyway->width;
  return nullptr;
}

double NominalSize_mm(const Feature& feature) {
  const Size* size = SizeOf(feature);
  return size == nullptr ? 0 : size->middle_mm();
}

bool IsFloorOf(const Feature& face, const Feature& by) {
  const auto* plane = std::get_if<PlanarFace>(&face.shape);
  if (plane == nullptr) return false;
  const Vec3& n = plane->normal_P;
  const double at = plane->at.middle_mm();
  const auto lies = [&](const Vec3& p) { return std::abs(n.dot(p) - at) < kDrawnAlike_mm; };
  if (const auto* hole = std::get_if<Hole>(&by.shape)) {
    return !hole->through && n.dot(hole->into_P) < -kParallel && !hole->entries_P_mm.empty() &&
           lies(hole->entries_P_mm.front() + hole->depth_mm * hole->into_P);
  }
  if (const auto* outer = std::get_if<OuterDiameter>(&by.shape)) {
    // Shoulders face into what was turned away: +axis where the cylinder starts, -axis where it
    // ends.
    return CapEnd(*outer, -n) && lies(*CapEnd(*outer, -n));
  }
  if (const auto* step = std::get_if<StepCut>(&by.shape)) {
    // A wall or floor of the cut faces into the removed box: it bounds it on the side away from n.
    return lies(step->removed_P.min_mm) || lies(step->removed_P.max_mm)
               ? n.dot(step->removed_P.centre_mm()) > at + kDrawnAlike_mm
               : false;
  }
  if (const auto* pocket = std::get_if<Pocket>(&by.shape)) {
    return n.dot(pocket->into_P) < -kParallel &&
           lies(pocket->centre_P_mm + pocket->depth_mm * pocket->into_P);
  }
  return false;
}

Region RegionOf(const Part& part, const Feature& face) {
  const auto* plane = std::get_if<PlanarFace>(&face.shape);
  if (plane == nullptr) return {};
  if (const auto floor = FloorRegion(part, face, *plane)) return *floor;
  const double at = plane->at.middle_mm();
  if (part.envelope == EnvelopeKind::kBlock) return BoxRegion(part.block_P, plane->normal_P, at);
  double widest = 0;
  for (const Feature& feature : part.features) {
    const auto* outer = std::get_if<OuterDiameter>(&feature.shape);
    if (outer != nullptr) widest = std::max(widest, outer->diameter.middle_mm());
  }
  return Disc(part.turning_axis_P.point_mm, plane->normal_P, at, 0.5 * widest);
}

Region Moved(const Region& region, const Pose& X_AB) {
  Region moved = region;
  moved.centre = X_AB * region.centre;
  moved.normal = X_AB.linear() * region.normal;
  moved.u = X_AB.linear() * region.u;
  return moved;
}

std::vector<Vec3> TouchPoints(const Region& a, const Region& b) {
  if (a.round || b.round) {
    const bool use_a = a.round && (!b.round || a.half_u <= b.half_u);
    std::vector<Vec3> points = use_a ? RimPoints(a, b) : RimPoints(b, a);
    for (Vec3& p : points) p -= a.normal * a.normal.dot(p - a.centre);
    return points;
  }
  const Vec3 v = a.normal.cross(a.u);
  const Span bu = SpanOf(b, a.centre, a.u);
  const Span bv = SpanOf(b, a.centre, v);
  const double u0 = std::max(bu.low, -a.half_u);
  const double u1 = std::min(bu.high, a.half_u);
  const double v0 = std::max(bv.low, -a.half_v);
  const double v1 = std::min(bv.high, a.half_v);
  if (u1 - u0 < kDrawnAlike_mm || v1 - v0 < kDrawnAlike_mm) return {};
  const auto at = [&](double x, double y) { return Vec3(a.centre + x * a.u + y * v); };
  return {at(u0, v0), at(u1, v0), at(0.5 * (u0 + u1), v1)};
}

std::vector<Vec3> ReadingPoints(const Region& region) {
  return region.round ? RimPoints(region, region) : std::vector<Vec3>{region.centre};
}

std::vector<Vec3> SharedCorners(const Region& a, const Region& b) {
  const Vec3 v = a.normal.cross(a.u);
  std::array<std::vector<double>, 2> ends;
  const std::array<Vec3, 2> axes = {a.u, v};
  for (std::size_t i = 0; i < 2; ++i) {
    const Span sa = SpanOf(a, a.centre, axes[i]);
    const Span sb = SpanOf(b, a.centre, axes[i]);
    const double low = std::max(sa.low, sb.low);
    const double high = std::min(sa.high, sb.high);
    if (high - low > kDrawnAlike_mm) {
      ends[i] = {low, high};
    } else {
      ends[i] = {0.5 * (low + high)};
    }
  }
  std::vector<Vec3> corners;
  for (const double x : ends[0]) {
    for (const double y : ends[1]) corners.push_back(a.centre + x * a.u + y * v);
  }
  return corners;
}

}  // namespace fitwright::variation
