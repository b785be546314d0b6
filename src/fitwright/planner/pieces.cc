#include "fitwright/planner/pieces.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "fitwright/base/check.h"
#include "fitwright/model/already_made.h"
#include "fitwright/model/shapes.h"
#include "fitwright/planner/directions.h"
#include "fitwright/planner/paths_design.h"

namespace fitwright::planner {
namespace {

constexpr double kBarSize_mm = 0.1;  // a bar's limits lie within this of its name


double Along(const Part& part, const Vec3& p) {
  return part.turning_axis_P.direction.dot(p - part.turning_axis_P.point_mm);
}

double OffAxis_mm(const Part& part, const Vec3& p) {
  const Vec3 d = p - part.turning_axis_P.point_mm;
  return (d - part.turning_axis_P.direction * part.turning_axis_P.direction.dot(d)).norm();
}

// From-to of an outside along the part's turning axis, ascending.
std::pair<double, double> Span(const Part& part, const Axis3& axis, double from, double to) {
  const double a = Along(part, axis.point_mm + axis.direction * from);
  const double b = Along(part, axis.point_mm + axis.direction * to);
  return std::minmax(a, b);
}

// Turned sides from which a band a..b of diameter d can be reached past the other outsides.
std::vector<Vec3> OutsideSides(const Part& part, double a, double b, double d) {
  bool from_plus = true;
  bool from_minus = true;
  for (const Feature& other : part.features) {
    const auto* outer = std::get_if<OuterDiameter>(&other.shape);
    if (outer == nullptr || outer->diameter.nominal_mm <= d + kSame_mm) continue;
    const auto [oa, ob] = Span(part, outer->axis_P, outer->from_mm, outer->to_mm);
    if (oa >= b - kSame_mm) from_plus = false;
    if (ob <= a + kSame_mm) from_minus = false;
  }
  std::vector<Vec3> sides;
  if (from_plus) sides.push_back(part.turning_axis_P.direction);
  if (from_minus) sides.push_back(-part.turning_axis_P.direction);
  return sides;
}

std::vector<Vec3> GrooveSides(const Part& part, const Groove& groove) {
  const auto [a, b] = Span(part, groove.axis_P, groove.from_mm, groove.to_mm);
  if (!groove.internal) return OutsideSides(part, a, b, 2 * GrooveSurfaceRadius(part, groove));
  std::vector<Vec3> sides;
  for (const Feature& other : part.features) {
    const auto* hole = std::get_if<Hole>(&other.shape);
    if (hole == nullptr || !IsTurned(part, other)) continue;
    const double entry = Along(part, hole->entries_P_mm.front());
    const double exit = entry + hole->into_P.dot(part.turning_axis_P.direction) * hole->depth_mm;
    const auto [lo, hi] = std::minmax(entry, exit);
    if (a < lo - kSame_mm || b > hi + kSame_mm) continue;
    if (hole->diameter.nominal_mm > groove.diameter.nominal_mm) continue;
    sides.push_back(-hole->into_P);
    if (hole->through) sides.push_back(hole->into_P);
    break;
  }
  return sides;
}

std::vector<Vec3> RoundChamferSides(const Part& part, const RoundChamfer& chamfer) {
  const Feature* on = part.Find(chamfer.on);
  FW_CHECK(on != nullptr, chamfer.on.text());
  if (const auto* hole = std::get_if<Hole>(&on->shape)) {
    return {chamfer.at_start ? Vec3(-hole->into_P) : hole->into_P};
  }
  const auto& outer = std::get<OuterDiameter>(on->shape);
  return {chamfer.at_start ? Vec3(-outer.axis_P.direction) : outer.axis_P.direction};
}

// The ends from which a tool on a taper does not have to pass what is larger (inside: smaller).
std::vector<Vec3> TaperSides(const Part& part, const Taper& taper) {
  const double least = std::min(taper.start_diameter.nominal_mm, taper.end_diameter.nominal_mm);
  const auto [a, b] = Span(part, taper.axis_P, taper.from_mm, taper.to_mm);
  if (!taper.internal) {
    // A knife tool comes from where the cone is narrow.
    std::vector<Vec3> sides = OutsideSides(part, a, b, std::max(taper.start_diameter.nominal_mm, taper.end_diameter.nominal_mm));
    const Vec3 narrow = taper.end_diameter.nominal_mm < taper.start_diameter.nominal_mm ? taper.axis_P.direction : Vec3(-taper.axis_P.direction);
    std::erase_if(sides, [&](const Vec3& side) { return !SameWay(side, narrow); });
    return sides;
  }
  Groove mouth;
  mouth.internal = true;
  mouth.axis_P = taper.axis_P;
  mouth.from_mm = taper.from_mm;
  mouth.to_mm = taper.to_mm;
  mouth.diameter.nominal_mm = least + kSame_mm;
  std::vector<Vec3> sides;
  // A bar goes in where the cone is wide.
  const Vec3 wide = taper.end_diameter.nominal_mm > taper.start_diameter.nominal_mm ? taper.axis_P.direction : Vec3(-taper.axis_P.direction);
  for (const Vec3& side : GrooveSides(part, mouth)) {
    if (SameWay(side, wide)) sides.push_back(side);
  }
  return sides.empty() ? std::vector<Vec3>{wide} : sides;
}

bool OnOuterSide(const Part& part, const Vec3& p, const Vec3& side) {
  return std::abs(side.dot(p) - std::max(side.dot(part.block_P.min_mm), side.dot(part.block_P.max_mm))) < kDrawnAlike_mm;
}

Vec3 EdgeChamferNormal(const Part& part, const EdgeChamfer& chamfer) {
  const auto* a = std::get_if<PlanarFace>(&part.Find(chamfer.face_a)->shape);
  const auto* b = std::get_if<PlanarFace>(&part.Find(chamfer.face_b)->shape);
  FW_CHECK(a != nullptr && b != nullptr, "edge chamfer between two planar faces");
  // The chamfer's plane meets face a leg_a from the edge and face b leg_b from it.
  return (a->normal_P * chamfer.leg_a_mm + b->normal_P * chamfer.leg_b_mm).normalized();
}

}  // namespace

bool PieceState::IsMade(const FeatureId& id) const {
  return std::find(made.begin(), made.end(), id) != made.end();
}

bool HasItsOutline(const PieceState& piece) {
  return std::any_of(piece.made.begin(), piece.made.end(),
                     [&](const FeatureId& id) {
                       const auto* outline = std::get_if<Outline>(&piece.part->Find(id)->shape);
                       return outline != nullptr && !outline->within && outline->depth_mm == 0;
                     });
}

bool IsSheet(const Part& part) {
  constexpr double kSheet_mm = 1.5;  // opinion
  return part.stock.form == StockForm::kPlate && part.stock.box_P.size_mm().minCoeff() < kSheet_mm;
}

bool IsHubKeyway(const Feature& feature) {
  const auto* keyway = std::get_if<Keyway>(&feature.shape);
  return keyway != nullptr && keyway->internal;
}

bool IsHandWork(const Part& part, const Feature& feature) {
  constexpr double kThinnestCutter_mm = 1;  // opinion
  if (std::holds_alternative<Marking>(feature.shape) || std::holds_alternative<Outline>(feature.shape)) return true;
  if (const auto* edge = std::get_if<EdgeChamfer>(&feature.shape); edge != nullptr && edge->rounded) return true;
  const auto* slot = std::get_if<Slot>(&feature.shape);
  return IsSheet(part) || (slot != nullptr && slot->width.nominal_mm < kThinnestCutter_mm);
}

bool PieceState::IsCut() const {
  return std::any_of(made.begin(), made.end(), [&](const FeatureId& id) { return !IsAsSupplied(*part->Find(id)); });
}

bool IsTurned(const Part& part, const Feature& feature) {
  if (part.envelope != EnvelopeKind::kTurned) return false;
  const Vec3& axis = part.turning_axis_P.direction;
  if (const auto* hole = std::get_if<Hole>(&feature.shape)) {
    return hole->entries_P_mm.size() == 1 && Parallel(hole->into_P, axis) &&
           OffAxis_mm(part, hole->entries_P_mm.front()) < kSame_mm;
  }
  if (const auto* face = std::get_if<PlanarFace>(&feature.shape)) return Parallel(face->normal_P, axis);
  if (const auto* chamfer = std::get_if<RoundChamfer>(&feature.shape)) {
    const Feature* on = part.Find(chamfer->on);
    return on != nullptr && IsTurned(part, *on);
  }
  if (const auto* groove = std::get_if<Groove>(&feature.shape)) {
    return Parallel(groove->axis_P.direction, axis);
  }
  if (const auto* thread = std::get_if<ExternalThread>(&feature.shape)) {
    const Feature* on = part.Find(thread->on);
    return on != nullptr && IsTurned(part, *on);
  }
  return std::holds_alternative<OuterDiameter>(feature.shape) || std::holds_alternative<Taper>(feature.shape) ||
         std::holds_alternative<Knurl>(feature.shape);
}

Axis3 AxisOf(const Feature& feature, const Part& part) {
  if (const auto* hole = std::get_if<Hole>(&feature.shape)) {
    Vec3 centre = Vec3::Zero();
    for (const Vec3& p : hole->entries_P_mm) centre += p;
    if (hole->circle) return {hole->circle->axis_P.point_mm, -hole->into_P};
    return {centre / static_cast<double>(hole->entries_P_mm.size()), -hole->into_P};
  }
  if (const auto* outer = std::get_if<OuterDiameter>(&feature.shape)) return outer->axis_P;
  return part.turning_axis_P;
}

std::vector<Vec3> ToolSides(const Part& part, const Feature& feature) {
  const bool turned = IsTurned(part, feature);
  if (const auto* face = std::get_if<PlanarFace>(&feature.shape)) return {face->normal_P};
  if (const auto* hole = std::get_if<Hole>(&feature.shape)) {
    std::vector<Vec3> sides = {-hole->into_P};
    if (hole->through && hole->use == HoleUse::kHole && !hole->thread) sides.push_back(hole->into_P);
    // Drilled from an outer side rather than from inside a step that may not be there yet.
    if (sides.size() == 2 && !turned && part.envelope == EnvelopeKind::kBlock) {
      const Vec3 entry = hole->entries_P_mm.front();
      const Vec3 exit = entry + hole->into_P * hole->depth_mm;
      if (!OnOuterSide(part, entry, sides[0]) && OnOuterSide(part, exit, sides[1])) std::swap(sides[0], sides[1]);
    }
    return sides;
  }
  if (const auto* outer = std::get_if<OuterDiameter>(&feature.shape)) {
    if (!turned) return {outer->axis_P.direction};
    const auto [a, b] = Span(part, outer->axis_P, outer->from_mm, outer->to_mm);
    return OutsideSides(part, a, b, outer->diameter.nominal_mm);
  }
  if (const auto* slot = std::get_if<Slot>(&feature.shape)) {
    std::vector<Vec3> sides = {-slot->into_P};
    if (slot->through) sides.push_back(slot->into_P);
    return sides;
  }
  if (const auto* pocket = std::get_if<Pocket>(&feature.shape)) return {-pocket->into_P};
  if (const auto* step = std::get_if<StepCut>(&feature.shape)) return {-step->into_P};
  if (const auto* chamfer = std::get_if<EdgeChamfer>(&feature.shape)) {
    const auto plane = FindChamferPlane(part, *chamfer);
    if (chamfer->rounded && plane) return {plane->along_P};  // filed, looking along the edge
    return {EdgeChamferNormal(part, *chamfer)};
  }
  if (const auto* chamfer = std::get_if<RoundChamfer>(&feature.shape)) {
    return RoundChamferSides(part, *chamfer);
  }
  if (const auto* groove = std::get_if<Groove>(&feature.shape)) return GrooveSides(part, *groove);
  if (const auto* taper = std::get_if<Taper>(&feature.shape)) return TaperSides(part, *taper);
  if (const auto* thread = std::get_if<ExternalThread>(&feature.shape)) {
    RoundChamfer end;
    end.on = thread->on;
    end.at_start = thread->at_start;
    return RoundChamferSides(part, end);
  }
  if (const auto* knurl = std::get_if<Knurl>(&feature.shape)) return ToolSides(part, *part.Find(knurl->on));
  if (const auto* marking = std::get_if<Marking>(&feature.shape)) return {-marking->into_P};
  if (const auto* outline = std::get_if<Outline>(&feature.shape)) return {-outline->into_P};
  if (const auto* keyway = std::get_if<Keyway>(&feature.shape)) {
    if (keyway->internal) return {keyway->axis_P.direction, -keyway->axis_P.direction};
    return {keyway->side_P};
  }
  const auto& flats = std::get<Flats>(feature.shape);
  const auto [a, b] = Span(part, flats.axis_P, flats.from_mm, flats.to_mm);
  std::vector<Vec3> sides = OutsideSides(part, a, b, 2 * FlatDistance(part, flats));
  if (flats.count == 1) sides.push_back(flats.first_normal_P);
  return sides;
}

namespace {

struct Plane {
  Vec3 normal;
  double at;
};

// The flat walls of a closed line, as they look out of the metal, and the floor.
std::vector<Plane> PlanesOf(const Outline& outline) {
  std::vector<Plane> planes;
  const ClosedLine& line = outline.line;
  const double sense = (AreaWithin_mm2(line) > 0) == outline.within ? 1 : -1;
  for (std::size_t i = 0; i < line.size(); ++i) {
    if (line[i].turn_rad != 0) continue;
    const Vec2 way = (line[(i + 1) % line.size()].at_mm - line[i].at_mm).normalized();
    const Vec3 normal = sense * (-way.y() * outline.u_P + way.x() * outline.v_P);
    const Vec3 on = outline.origin_P_mm + line[i].at_mm.x() * outline.u_P + line[i].at_mm.y() * outline.v_P;
    planes.push_back({normal, normal.dot(on)});
  }
  if (outline.depth_mm > 0) planes.push_back({-outline.into_P, -outline.into_P.dot(outline.origin_P_mm) - outline.depth_mm});
  return planes;
}

}  // namespace

std::vector<FeatureId> CarriedFaces(const Part& part, const Feature& feature) {
  std::vector<Plane> planes;
  if (const auto* hole = std::get_if<Hole>(&feature.shape); hole != nullptr && !hole->through) {
    if (hole->bottom == HoleBottom::kFlat) {
      const Vec3 floor = hole->entries_P_mm.front() + hole->into_P * hole->depth_mm;
      planes.push_back({-hole->into_P, -hole->into_P.dot(floor)});
    }
  } else if (const auto* outer = std::get_if<OuterDiameter>(&feature.shape)) {
    const Vec3 d = outer->axis_P.direction;
    const double base = d.dot(outer->axis_P.point_mm);
    planes.push_back({d, base + outer->from_mm});
    planes.push_back({-d, -(base + outer->to_mm)});
  } else if (const auto* pocket = std::get_if<Pocket>(&feature.shape)) {
    const Vec3 floor = pocket->centre_P_mm + pocket->into_P * pocket->depth_mm;
    planes.push_back({-pocket->into_P, -pocket->into_P.dot(floor)});
  } else if (const auto* step = std::get_if<StepCut>(&feature.shape)) {
    for (int axis = 0; axis < 3; ++axis) {
      const Vec3 n = Vec3::Unit(axis);
      planes.push_back({n, step->removed_P.min_mm[axis]});
      planes.push_back({-n, -step->removed_P.max_mm[axis]});
    }
  } else if (const auto* flats = std::get_if<Flats>(&feature.shape)) {
    const double middle = flats->first_normal_P.dot(flats->axis_P.point_mm);
    const double half = flats->across.middle_mm() / 2;
    planes.push_back({flats->first_normal_P, middle + half});
    planes.push_back({-flats->first_normal_P, -middle + half});
  } else if (const auto* outline = std::get_if<Outline>(&feature.shape)) {
    planes = PlanesOf(*outline);
  }
  std::vector<FeatureId> carried;
  for (const Feature& other : part.features) {
    const auto* face = std::get_if<PlanarFace>(&other.shape);
    if (face == nullptr) continue;
    for (const Plane& plane : planes) {
      if (SameWay(plane.normal, face->normal_P) &&
          std::abs(plane.at - face->at.nominal_mm) < kDrawnAlike_mm) {
        carried.push_back(other.name);
        break;
      }
    }
  }
  return carried;
}

bool IsCarried(const Part& part, const Feature& face) {
  const auto* plane = std::get_if<PlanarFace>(&face.shape);
  if (plane == nullptr) return false;
  // An outermost face is cut by itself even where a turned diameter ends on it.
  double outermost = -std::numeric_limits<double>::infinity();
  if (part.envelope == EnvelopeKind::kBlock) {
    for (int i = 0; i < 8; ++i) {
      const Vec3 corner((i & 1) ? part.block_P.max_mm.x() : part.block_P.min_mm.x(),
                        (i & 2) ? part.block_P.max_mm.y() : part.block_P.min_mm.y(),
                        (i & 4) ? part.block_P.max_mm.z() : part.block_P.min_mm.z());
      outermost = std::max(outermost, plane->normal_P.dot(corner));
    }
  } else {
    for (const Feature& f : part.features) {
      if (const auto* outer = std::get_if<OuterDiameter>(&f.shape)) {
        const Vec3 d = outer->axis_P.direction;
        outermost = std::max({outermost, plane->normal_P.dot(outer->axis_P.point_mm + d * outer->from_mm),
                              plane->normal_P.dot(outer->axis_P.point_mm + d * outer->to_mm)});
      }
    }
  }
  if (std::abs(plane->at.nominal_mm - outermost) < kDrawnAlike_mm) return false;
  return std::any_of(part.features.begin(), part.features.end(), [&](const Feature& f) {
    const auto carried = CarriedFaces(part, f);
    return std::find(carried.begin(), carried.end(), face.name) != carried.end();
  });
}

int CutRank(const Feature& feature) {
  struct Ranker {
    int operator()(const PlanarFace&) const { return 0; }
    int operator()(const OuterDiameter& o) const {
      return 1000 - static_cast<int>(std::min(o.diameter.nominal_mm, 900.0));
    }
    int operator()(const StepCut&) const { return 1100; }
    int operator()(const Hole& h) const {
      const int big = 900 - static_cast<int>(std::min(h.diameter.nominal_mm, 890.0));
      if (h.use == HoleUse::kBore) return 2000 + big;
      if (h.use == HoleUse::kCounterbore) return 3000 + big;
      return 5000 + big;
    }
    int operator()(const Pocket&) const { return 4000; }
    int operator()(const Slot&) const { return 4100; }
    int operator()(const Flats&) const { return 4200; }
    int operator()(const Groove&) const { return 6000; }
    int operator()(const RoundChamfer&) const { return 7000; }
    int operator()(const EdgeChamfer&) const { return 7100; }
    int operator()(const Taper& t) const { return t.internal ? 5950 : 1050; }
    int operator()(const Outline&) const { return 6500; }  // keeps the piece square as long as it can
    int operator()(const Keyway&) const { return 6600; }
    int operator()(const ExternalThread&) const { return 7500; }
    int operator()(const Knurl&) const { return 1020; }
    int operator()(const Marking&) const { return 7600; }
  };
  return std::visit(Ranker{}, feature.shape);
}

bool IsAsSupplied(const Feature& feature) { return feature.finish == Finish::kAsSupplied; }

PieceState RawPiece(const Part& part) {
  PieceState piece;
  piece.part = &part;
  for (const Feature& f : part.features) {
    if (IsAsSupplied(f) && IsStockSurface(part, f)) piece.made.push_back(f.name);
  }
  const Stock& stock = part.stock;
  if (stock.IsBar() && part.envelope == EnvelopeKind::kTurned) {
    const auto [a, b] = Span(part, stock.axis_P, stock.from_mm, stock.to_mm);
    const double corners = stock.form == StockForm::kHex ? 2 / std::sqrt(3.0) : 1;
    Band band{a, b, corners * stock.diameter_mm, std::nullopt, stock.inner_diameter_mm};
    for (const Feature& f : part.features) {
      const auto* outer = std::get_if<OuterDiameter>(&f.shape);
      const bool own = outer != nullptr && IsAsSupplied(f) &&
                       std::abs(outer->diameter.middle_mm() - stock.diameter_mm) < kBarSize_mm;
      if (own) band.feature = f.name;
    }
    piece.bands.push_back(band);
  } else if (stock.form == StockForm::kRound) {
    const auto [a, b] = Span(part, stock.axis_P, stock.from_mm, stock.to_mm);
    piece.bands.push_back({a, b, stock.diameter_mm, std::nullopt});
  } else {
    piece.box_P = part.stock.box_P;
  }
  for (const Feature& f : part.features) {
    if (IsAlreadyMade(part, f)) ApplyCut(piece, f, ToolSides(part, f).front(), 0);
  }
  return piece;
}

namespace {

// Cuts every band between lo and hi down to d; what is cut becomes `feature`.
void TurnDown(PieceState& piece, double lo, double hi, double d, const std::optional<FeatureId>& feature,
              double feature_lo, double feature_hi) {
  std::vector<Band> bands;
  for (const Band& band : piece.bands) {
    std::array<double, 6> ends = {band.from_mm, band.to_mm, lo, hi, feature_lo, feature_hi};
    for (double& end : ends) end = std::clamp(end, band.from_mm, band.to_mm);
    std::sort(ends.begin(), ends.end());
    for (std::size_t i = 0; i + 1 < ends.size(); ++i) {
      if (ends[i + 1] - ends[i] < kSame_mm) continue;
      Band cut{ends[i], ends[i + 1], band.diameter_mm, band.feature, band.inner_diameter_mm};
      const double middle = 0.5 * (cut.from_mm + cut.to_mm);
      if (middle > lo && middle < hi && band.diameter_mm > d + kSame_mm) {
        cut.diameter_mm = d;
        cut.feature = std::nullopt;
      }
      bands.push_back(cut);
    }
  }
  for (Band& band : bands) {
    const bool in_feature = band.from_mm > feature_lo - kSame_mm && band.to_mm < feature_hi + kSame_mm;
    if (in_feature && std::abs(band.diameter_mm - d) < kSame_mm) band.feature = feature;
  }
  piece.bands.clear();
  for (const Band& band : bands) {
    const bool goes_on = !piece.bands.empty() && piece.bands.back().feature == band.feature &&
                         std::abs(piece.bands.back().diameter_mm - band.diameter_mm) < kSame_mm;
    if (goes_on) {
      piece.bands.back().to_mm = band.to_mm;
    } else {
      piece.bands.push_back(band);
    }
  }
}

void CutOff(PieceState& piece, const Vec3& normal_P, double at_mm) {
  const Part& part = *piece.part;
  if (piece.bands.empty()) {
    for (int axis = 0; axis < 3; ++axis) {
      if (normal_P[axis] > 1 - kSameDirection) {
        piece.box_P.max_mm[axis] = std::min(piece.box_P.max_mm[axis], at_mm);
      } else if (normal_P[axis] < -1 + kSameDirection) {
        piece.box_P.min_mm[axis] = std::max(piece.box_P.min_mm[axis], -at_mm);
      }
    }
    return;
  }
  if (!Parallel(normal_P, part.turning_axis_P.direction)) return;
  const double sign = normal_P.dot(part.turning_axis_P.direction);
  const double at = sign * (at_mm - normal_P.dot(part.turning_axis_P.point_mm));
  std::vector<Band> bands;
  for (Band band : piece.bands) {
    if (sign > 0) band.to_mm = std::min(band.to_mm, at);
    if (sign < 0) band.from_mm = std::max(band.from_mm, at);
    if (band.to_mm - band.from_mm > kSame_mm) bands.push_back(band);
  }
  piece.bands = std::move(bands);
}

// A stretch of an outside that no jaw closes on any more: a cone, a thread, a knurl.
struct Land {
  double low = 0;
  double high = 0;
  double diameter_mm = 0;
};
std::optional<Land> SpoiltLand(const Part& part, const Feature& feature) {
  const auto land = [&](const Axis3& axis, double from, double to, double d) {
    const auto [low, high] = Span(part, axis, from, to);
    return Land{low, high, d};
  };
  const auto outer_of = [&](const FeatureId& id) { return std::get_if<OuterDiameter>(&part.Find(id)->shape); };
  if (const auto* taper = std::get_if<Taper>(&feature.shape); taper != nullptr && !taper->internal) {
    return land(taper->axis_P, taper->from_mm, taper->to_mm,
                std::min(taper->start_diameter.middle_mm(), taper->end_diameter.middle_mm()));
  }
  if (const auto* thread = std::get_if<ExternalThread>(&feature.shape)) {
    const auto* o = outer_of(thread->on);
    const double sense = (o->to_mm > o->from_mm) == thread->at_start ? 1 : -1;
    const double end = thread->at_start ? o->from_mm : o->to_mm;
    return land(o->axis_P, end, end + sense * thread->length_mm, o->diameter.middle_mm());
  }
  if (const auto* knurl = std::get_if<Knurl>(&feature.shape)) {
    const auto* o = outer_of(knurl->on);
    return land(o->axis_P, knurl->from_mm, knurl->to_mm, o->diameter.middle_mm());
  }
  return std::nullopt;
}

}  // namespace

void ApplyCut(PieceState& piece, const Feature& feature, const Vec3& up_P, double leave_mm) {
  const Part& part = *piece.part;
  if (const auto* face = std::get_if<PlanarFace>(&feature.shape); face && !IsCarried(part, feature)) {
    CutOff(piece, face->normal_P, face->at.middle_mm() + leave_mm);
  } else if (const auto* outer = std::get_if<OuterDiameter>(&feature.shape);
             outer && !piece.bands.empty() && IsTurned(part, feature)) {
    const auto [a, b] = Span(part, outer->axis_P, outer->from_mm, outer->to_mm);
    const bool from_plus = up_P.dot(part.turning_axis_P.direction) > 0;
    const double far = 1e6;
    TurnDown(piece, from_plus ? a : -far, from_plus ? far : b, outer->diameter.middle_mm() + 2 * leave_mm,
             feature.name, a, b);
  }
  if (const auto land = SpoiltLand(part, feature); land && !piece.bands.empty()) {
    TurnDown(piece, land->low, land->high, land->diameter_mm, std::nullopt, land->low, land->high);
  }
  if (leave_mm == 0) piece.made.push_back(feature.name);
  if (leave_mm == 0 && !std::holds_alternative<PlanarFace>(feature.shape)) {
    for (const FeatureId& id : CarriedFaces(part, feature)) {
      const Feature* face = part.Find(id);
      if (IsCarried(part, *face) && !piece.IsMade(id)) piece.made.push_back(id);
    }
  }
}

void ApplyPartOff(PieceState& piece, const Feature& face, double leave_mm) {
  if (leave_mm == 0) piece.made.push_back(face.name);
  const auto& plane = std::get<PlanarFace>(face.shape);
  CutOff(piece, plane.normal_P, plane.at.middle_mm() + leave_mm);
}

Box3 BoxOf(const PieceState& piece) {
  if (piece.bands.empty()) return piece.box_P;
  const Axis3& axis = piece.part->turning_axis_P;
  Box3 box{Vec3::Constant(1e9), Vec3::Constant(-1e9)};
  for (const Band& band : piece.bands) {
    for (int i = 0; i < 3; ++i) {
      const double side = band.diameter_mm / 2 * std::sqrt(std::max(0.0, 1 - axis.direction[i] * axis.direction[i]));
      for (const double along : {band.from_mm, band.to_mm}) {
        const double centre = axis.point_mm[i] + axis.direction[i] * along;
        box.min_mm[i] = std::min(box.min_mm[i], centre - side);
        box.max_mm[i] = std::max(box.max_mm[i], centre + side);
      }
    }
  }
  return box;
}

namespace {

Vec3 CornerOf(const Box3& box, int i) {
  return {(i & 1) != 0 ? box.max_mm.x() : box.min_mm.x(), (i & 2) != 0 ? box.max_mm.y() : box.min_mm.y(), (i & 4) != 0 ? box.max_mm.z() : box.min_mm.z()};
}

bool IsWithin(const Box3& box, const Vec3& p) { return (p.array() > box.min_mm.array()).all() && (p.array() < box.max_mm.array()).all(); }

// Corners of a block as it stands, those that steps left among them.
std::vector<Vec3> StandingCorners(const PieceState& piece) {
  constexpr double kBeside_mm = 1e-3;
  const Box3& box = piece.box_P;
  std::vector<Box3> gone;
  for (const FeatureId& id : piece.made) {
    const auto* step = std::get_if<StepCut>(&piece.part->Find(id)->shape);
    if (step != nullptr) gone.push_back(step->removed_P);
  }
  std::vector<Vec3> corners;
  for (int i = 0; i < 8; ++i) {
    corners.push_back(CornerOf(box, i));
    for (const Box3& step : gone) corners.push_back(CornerOf(step, i).cwiseMax(box.min_mm).cwiseMin(box.max_mm));
  }
  std::erase_if(corners, [&](const Vec3& corner) {
    for (int i = 0; i < 8; ++i) {
      const Vec3 beside = corner + kBeside_mm * CornerOf({-Vec3::Ones(), Vec3::Ones()}, i);
      const bool metal = IsWithin(box, beside) && std::none_of(gone.begin(), gone.end(), [&](const Box3& step) { return IsWithin(step, beside); });
      if (metal) return false;
    }
    return true;
  });
  return corners;
}

}  // namespace

std::pair<double, double> ExtentOf(const PieceState& piece, const Vec3& direction_P) {
  double lo = 1e9;
  double hi = -1e9;
  if (piece.bands.empty()) {
    if (direction_P.cwiseAbs().maxCoeff() > 1 - 1e-9) {  // no step takes a whole side away
      const double a = direction_P.dot(piece.box_P.min_mm);
      const double b = direction_P.dot(piece.box_P.max_mm);
      return {std::min(a, b), std::max(a, b)};
    }
    for (const Vec3& corner : StandingCorners(piece)) {
      lo = std::min(lo, direction_P.dot(corner));
      hi = std::max(hi, direction_P.dot(corner));
    }
    return {lo, hi};
  }
  const Axis3& axis = piece.part->turning_axis_P;
  const double c = direction_P.dot(axis.direction);
  const double across = std::sqrt(std::max(0.0, 1 - c * c));
  for (const Band& band : piece.bands) {
    for (const double along : {band.from_mm, band.to_mm}) {
      const double centre = direction_P.dot(axis.point_mm) + c * along;
      lo = std::min(lo, centre - across * band.diameter_mm / 2);
      hi = std::max(hi, centre + across * band.diameter_mm / 2);
    }
  }
  return {lo, hi};
}

std::pair<double, double> SideSpan(const PieceState& piece, const Vec3& normal_P, const Vec3& along_P) {
  auto [lo, hi] = ExtentOf(piece, along_P);
  const Vec3 third = normal_P.cross(along_P);
  const auto reach = [](const Box3& box, const Vec3& d) -> std::pair<double, double> {
    const double p = d.dot(box.min_mm);
    const double q = d.dot(box.max_mm);
    return std::minmax(p, q);
  };
  const double side = ExtentOf(piece, normal_P).second;
  const auto [third_lo, third_hi] = ExtentOf(piece, third);
  const auto [block_lo, block_hi] = reach(piece.part->block_P, along_P);
  for (const FeatureId& id : piece.made) {
    const auto* step = std::get_if<StepCut>(&piece.part->Find(id)->shape);
    if (step == nullptr) continue;
    const auto [t0, t1] = reach(step->removed_P, third);
    const bool at_side = reach(step->removed_P, normal_P).second > side - 1;
    if (!at_side || t0 > third_lo + 1 || t1 < third_hi - 1) continue;
    const auto [a, b] = reach(step->removed_P, along_P);
    // An end that is not faced yet went with the step.
    if (b > std::min(hi, block_hi) - 1) hi = std::min(hi, a);
    if (a < std::max(lo, block_lo) + 1) lo = std::max(lo, b);
  }
  for (const FeatureId& id : piece.made) {  // broken edges of that side
    const auto* chamfer = std::get_if<EdgeChamfer>(&piece.part->Find(id)->shape);
    const auto plane = chamfer == nullptr ? std::nullopt : FindChamferPlane(*piece.part, *chamfer);
    if (!plane || std::abs(plane->along_P.dot(third)) < 0.9) continue;
    for (const Vec3& foot : {plane->foot_a_P_mm, plane->foot_b_P_mm}) {
      if (std::abs(normal_P.dot(foot) - side) > kDrawnAlike_mm) continue;
      const double edge = along_P.dot(plane->edge_P_mm);
      if (edge > hi - kDrawnAlike_mm) hi = std::min(hi, along_P.dot(foot));
      if (edge < lo + kDrawnAlike_mm) lo = std::max(lo, along_P.dot(foot));
    }
  }
  return {lo, hi};
}

std::optional<FeatureId> FinishedFace(const PieceState& piece, const Vec3& normal_P) {
  const double outermost = ExtentOf(piece, normal_P).second;
  for (const FeatureId& id : piece.made) {
    const auto* face = std::get_if<PlanarFace>(&piece.part->Find(id)->shape);
    if (face != nullptr && SameWay(face->normal_P, normal_P) &&
        std::abs(face->at.middle_mm() - outermost) < kDrawnAlike_mm) {
      return id;
    }
  }
  return std::nullopt;
}

}  // namespace fitwright::planner
