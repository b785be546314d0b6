// What stands in the way of what turns or closes, and what is shut off.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/model/shapes.h"
#include "fitwright/review/bores.h"
#include "fitwright/review/rules.h"

namespace fitwright::review {
namespace {

constexpr double kSkin_mm = 0.02;  // touching is no fouling
constexpr int kAroundRim = 120;
constexpr double kAlongStep_mm = 1;
constexpr double kRadialStep_mm = 0.5;
constexpr double kGridStep_mm = 1;
// How far a washer stands out beyond the hole of what it keeps on; opinion.
constexpr double kWasherRim_mm = 0.5;
constexpr double kEndAt_mm = 0.1;

bool MetalAtW(const Piece& piece, const Vec3& p_W) {
  return ((p_W - piece.box_W.min_mm).array() > 0).all() &&
         ((piece.box_W.max_mm - p_W).array() > 0).all() &&
         MetalAt(*piece.part, piece.X_WP.inverse() * p_W);
}

bool BoxesMeet(const Box3& a, const Box3& b) {
  return (a.min_mm.array() < b.max_mm.array()).all() && (b.min_mm.array() < a.max_mm.array()).all();
}

Vec3 OnAxis(const Axis3& axis, double along, double radius, double angle) {
  Vec3 u;
  Vec3 v;
  MakeSquare(axis.direction, u, v);
  return axis.point_mm + along * axis.direction +
         radius * (std::cos(angle) * u + std::sin(angle) * v);
}

// Box of the outer diameter's full turn, frame W.
Box3 SweptBox(const Piece& wheel, const OuterDiameter& rim) {
  const Vec3 axis = wheel.X_WP.linear() * rim.axis_P.direction;
  const double radius = 0.5 * rim.diameter.middle_mm();
  Box3 box;
  for (const double along : {rim.from_mm, rim.to_mm}) {
    const Vec3 end = wheel.X_WP * Vec3(rim.axis_P.point_mm + along * rim.axis_P.direction);
    const Vec3 reach = radius * (Vec3::Ones() - axis.cwiseProduct(axis)).cwiseMax(0).cwiseSqrt();
    const bool first = along == rim.from_mm;
    box.min_mm = first ? Vec3(end - reach) : Vec3(box.min_mm.cwiseMin(end - reach));
    box.max_mm = first ? Vec3(end + reach) : Vec3(box.max_mm.cwiseMax(end + reach));
  }
  return box;
}

// Least radius at which the turning rim meets the other piece; none when it clears it.
std::optional<double> FoulsFrom(const Piece& wheel, const OuterDiameter& rim, const Piece& other) {
  if (!BoxesMeet(SweptBox(wheel, rim), other.box_W)) return std::nullopt;
  const double radius = 0.5 * rim.diameter.middle_mm() - kSkin_mm;
  const int steps = std::max(1, static_cast<int>((rim.to_mm - rim.from_mm) / kAlongStep_mm));
  std::optional<double> least;
  for (int k = 0; k <= steps; ++k) {
    const double along =
        rim.from_mm + kSkin_mm + (rim.to_mm - rim.from_mm - 2 * kSkin_mm) * k / steps;
    for (int i = 0; i < kAroundRim; ++i) {
      const double angle = 2 * kPi * i / kAroundRim;
      for (double r = radius; r > 0 && (!least || r > *least - 3 * kRadialStep_mm);
           r -= kRadialStep_mm) {
        const Vec3 p = OnAxis(rim.axis_P, along, r, angle);
        if (r < radius && !MetalAt(*wheel.part, p)) break;
        if (MetalAtW(other, wheel.X_WP * p)) least = std::min(least.value_or(r), r);
      }
    }
  }
  return least;
}

void ReviewWheel(const Piece& wheel, const Groove& groove, const std::vector<Piece>& pieces,
                 std::vector<Finding>& findings) {
  for (const Feature& feature : wheel.part->features) {
    const auto* rim = std::get_if<OuterDiameter>(&feature.shape);
    if (rim == nullptr ||
        rim->axis_P.direction.cross(groove.axis_P.direction).norm() > kDrawnAlike)
      continue;
    for (const Piece& other : pieces) {
      if (other.id == wheel.id) continue;
      const auto from_mm = FoulsFrom(wheel, *rim, other);
      if (!from_mm) continue;
      findings.push_back(
          {Rule::kWheelFouls, wheel.id.text() + "." + feature.name.text(),
           fmt::format(
               "{:.2f} mm across, it runs into {} as it turns; up to about {:.0f} mm would pass",
               rim->diameter.middle_mm(), other.id.text(), 2 * (*from_mm - kRadialStep_mm)),
           fmt::format("make it smaller, raise its shaft, or cut {} away beside it",
                       other.id.text())});
    }
  }
}

const Piece* FindPiece(const std::vector<Piece>& pieces, const PartId& id) {
  const auto found =
      std::find_if(pieces.begin(), pieces.end(), [&](const Piece& p) { return p.id == id; });
  return found == pieces.end() ? nullptr : &*found;
}

// Greatest thickness of `other` that lies in the gap above face b, where both faces have metal.
double ThicknessInGap(const Piece& a, const Piece& b, const Piece& other, const FaceAt& at_b,
                      double gap_mm) {
  double thickness = 0;
  Vec3 u;
  Vec3 v;
  MakeSquare(at_b.normal_W, u, v);
  const Vec3 middle = b.X_WP * CalcEnvelope(*b.part).centre_mm();
  const Vec3 on_plane = middle - (middle - at_b.point_W_mm).dot(at_b.normal_W) * at_b.normal_W;
  const double half = 0.5 * CalcEnvelope(*b.part).size_mm().norm();
  const int count = static_cast<int>(half / kGridStep_mm);
  const Pose X_PW = other.X_WP.inverse();
  for (int i = -count; i <= count; ++i) {
    for (int j = -count; j <= count; ++j) {
      const Vec3 p = on_plane + kGridStep_mm * (i * u + j * v);
      if (!MetalAtW(b, p - kSkin_mm * at_b.normal_W)) continue;
      if (!MetalAtW(a, p + (gap_mm + kSkin_mm) * at_b.normal_W)) continue;
      for (const Stretch& s : MetalAlong(*other.part, X_PW * p, X_PW.linear() * at_b.normal_W)) {
        if (s.to_mm < kSkin_mm || s.from_mm > gap_mm - kSkin_mm) continue;
        thickness = std::max(thickness, s.to_mm - s.from_mm);
      }
    }
  }
  return thickness;
}

void ReviewGap(const Machine& machine, const Requirement& gap, const std::vector<Piece>& pieces,
               std::vector<Finding>& findings) {
  const auto at_a = PlaceOfFace(machine, gap.a);
  const auto at_b = PlaceOfFace(machine, gap.b);
  const Piece* a = FindPiece(pieces, gap.a.part);
  const Piece* b = FindPiece(pieces, gap.b.part);
  if (!at_a || !at_b || a == nullptr || b == nullptr) return;
  if (at_a->normal_W.dot(at_b->normal_W) > -1 + kDrawnAlike) return;
  const double gap_mm = (at_a->point_W_mm - at_b->point_W_mm).dot(at_b->normal_W);
  if (gap_mm <= 0) return;
  for (const Piece& other : pieces) {
    if (other.id == a->id || other.id == b->id) continue;
    double thickness = ThicknessInGap(*a, *b, other, *at_b, gap_mm);
    if (thickness <= 0) continue;
    thickness += other.part->stock.over_mm;
    if (thickness <= *gap.lower + kNoise_mm) continue;
    findings.push_back(
        {Rule::kGapTooSmall, other.id.text(),
         fmt::format("up to {:.2f} mm thick, it lies between {} and {}, which may come as near as "
                     "{:.2f} mm ({})",
                     thickness, gap.a.text(), gap.b.text(), *gap.lower, gap.name.text()),
         "take thinner strip, or ask for a larger gap"});
  }
}

// A closed cut with another way in: something that meets it and opens elsewhere.
bool HasOtherWayIn(const Part& part, const Feature& chamber, const Pocket& pocket) {
  const Vec3 side = pocket.into_P.cross(pocket.along_P);
  const auto inside = [&](const Vec3& p) {
    const Vec3 d = p - pocket.centre_P_mm;
    const double down = d.dot(pocket.into_P);
    return down > -kNoise_mm && down < pocket.depth_mm + kNoise_mm &&
           std::abs(d.dot(pocket.along_P)) < 0.5 * pocket.length_mm + kNoise_mm &&
           std::abs(d.dot(side)) < 0.5 * pocket.width_mm + kNoise_mm;
  };
  const auto opens_elsewhere = [&](const Vec3& entry) {
    return std::abs((entry - pocket.centre_P_mm).dot(pocket.into_P)) > kNoise_mm;
  };
  const auto leads_in = [&](const Vec3& entry, const Vec3& into, double depth_mm) {
    if (!opens_elsewhere(entry)) return false;
    for (double s = 0; s <= depth_mm + kNoise_mm; s += 0.25) {
      if (inside(entry + s * into)) return true;
    }
    return false;
  };
  for (const Feature& feature : part.features) {
    if (feature.name == chamber.name) continue;
    if (const auto* hole = std::get_if<Hole>(&feature.shape)) {
      for (const Vec3& entry : hole->entries_P_mm) {
        if (leads_in(entry, hole->into_P, hole->depth_mm)) return true;
      }
    } else if (const auto* slot = std::get_if<Slot>(&feature.shape)) {
      if (leads_in(slot->centre_P_mm, slot->into_P, slot->depth_mm)) return true;
    } else if (const auto* other = std::get_if<Pocket>(&feature.shape)) {
      if (leads_in(other->centre_P_mm, other->into_P, other->depth_mm)) return true;
    } else if (const auto* step = std::get_if<StepCut>(&feature.shape)) {
      if (inside(step->removed_P.centre_mm())) return true;
    }
  }
  return false;
}

void ReviewChambers(const Machine& machine, const FeatureRef& covered, const FeatureRef& by,
                    std::vector<Finding>& findings) {
  const Part* part = machine.FindPart(covered.part);
  const Feature* on = machine.Find(covered);
  const auto* face = on == nullptr ? nullptr : std::get_if<PlanarFace>(&on->shape);
  if (part == nullptr || face == nullptr) return;
  for (const Feature& feature : part->features) {
    const auto* pocket = std::get_if<Pocket>(&feature.shape);
    if (pocket == nullptr || face->normal_P.dot(pocket->into_P) > -1 + kDrawnAlike) continue;
    if (std::abs(face->normal_P.dot(pocket->centre_P_mm) - face->at.middle_mm()) > kEndAt_mm)
      continue;
    if (HasOtherWayIn(*part, feature, *pocket)) continue;
    findings.push_back({Rule::kChamberClosed, part->name.text() + "." + feature.name.text(),
                        fmt::format("nothing leads into {} from outside; its mouth lies under {}",
                                    feature.name.text(), by.part.text()),
                        "drill or tap a way in, or leave the pocket out"});
  }
}

// A washer against the shaft's end that what runs on the shaft would slip over.
void ReviewRetainer(const Machine& machine, const Joint& joint, const std::vector<Piece>& pieces,
                    std::vector<Finding>& findings) {
  const bool shaft_fixed = std::holds_alternative<OuterDiameter>(machine.Find(joint.fixed)->shape);
  const FeatureRef& shaft_ref = shaft_fixed ? joint.fixed : joint.moving;
  const FeatureRef& bore_ref = shaft_fixed ? joint.moving : joint.fixed;
  const auto* shaft = std::get_if<OuterDiameter>(&machine.Find(shaft_ref)->shape);
  const auto* bore = std::get_if<Hole>(&machine.Find(bore_ref)->shape);
  const auto X_WS = machine.FindPlace(shaft_ref.part);
  if (shaft == nullptr || bore == nullptr || !X_WS) return;
  const Vec3 axis = X_WS->linear() * shaft->axis_P.direction;
  for (const Piece& piece : pieces) {
    if (piece.id == shaft_ref.part || piece.id == bore_ref.part) continue;
    if (piece.part->envelope != EnvelopeKind::kTurned) continue;
    const Axis3& own = piece.part->turning_axis_P;
    const Vec3 own_axis = piece.X_WP.linear() * own.direction;
    if (own_axis.cross(axis).norm() > kDrawnAlike) continue;
    const Stretch length = CalcTurnedLength(*piece.part);
    for (const auto& [end, outward] :
         {std::pair(shaft->from_mm, -1.0), std::pair(shaft->to_mm, 1.0)}) {
      const Vec3 shaft_end = *X_WS * Vec3(shaft->axis_P.point_mm + end * shaft->axis_P.direction);
      const Vec3 off = piece.X_WP * own.point_mm - shaft_end;
      if ((off - off.dot(axis) * axis).norm() > kEndAt_mm) continue;
      const double sense = own_axis.dot(axis) > 0 ? 1 : -1;
      const double a = outward * (off.dot(axis) + sense * length.from_mm);
      const double b = outward * (off.dot(axis) + sense * length.to_mm);
      if (std::abs(std::min(a, b)) > kEndAt_mm) continue;
      const double outside_mm = CoveringDiameter(*piece.part, own, length.from_mm, length.to_mm);
      const double least_mm = bore->diameter.middle_mm() + 2 * kWasherRim_mm;
      if (outside_mm >= least_mm - kNoise_mm) continue;
      findings.push_back(
          {Rule::kWasherTooSmall, piece.id.text(),
           fmt::format(
               "{:.2f} mm across on the end of {}, it does not keep {} ({:.2f} mm) on; least "
               "{:.2f} mm",
               outside_mm, shaft_ref.part.text(), bore_ref.text(), bore->diameter.middle_mm(),
               least_mm),
           "make the washer larger than the hole that it keeps on"});
    }
  }
}

}  // namespace

void ReviewFouls(const Machine& machine, const std::vector<Piece>& pieces,
                 std::vector<Finding>& findings) {
  for (const Joint& joint : machine.joints) {
    if (machine.Find(joint.fixed) == nullptr || machine.Find(joint.moving) == nullptr) continue;
    if (joint.kind == JointKind::kBelt) {
      for (const FeatureRef& ref : {joint.fixed, joint.moving}) {
        const auto* groove = std::get_if<Groove>(&machine.Find(ref)->shape);
        const Piece* wheel = FindPiece(pieces, ref.part);
        if (groove != nullptr && wheel != nullptr) ReviewWheel(*wheel, *groove, pieces, findings);
      }
    }
    if (joint.kind == JointKind::kGasketedFace) {
      ReviewChambers(machine, joint.fixed, joint.moving, findings);
      ReviewChambers(machine, joint.moving, joint.fixed, findings);
    }
    if (joint.kind == JointKind::kRunningFit) ReviewRetainer(machine, joint, pieces, findings);
  }
  for (const Requirement& r : machine.requirements) {
    if (r.kind == RequirementKind::kDistance && r.lower && *r.lower > 0) {
      ReviewGap(machine, r, pieces, findings);
    }
  }
}

}  // namespace fitwright::review
