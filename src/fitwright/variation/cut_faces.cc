// Faces, outside diameters and sunk shapes.
#include <algorithm>
#include <cmath>
#include <limits>

#include "fitwright/base/hash.h"
#include "fitwright/variation/cut_reader.h"
#include "fitwright/variation/geometry.h"
#include "fitwright/variation/joint_limits.h"
#include "fitwright/variation/source_laws.h"

namespace fitwright::variation {
namespace {

constexpr double kPerDishing_mm = 50;  // facing_concavity is per 100 mm of diameter

}  // namespace

Work CutReader::WorkOfFace(const FeatureRef& ref, const PlanarFace& face) const {
  const double up = PoseInSetup(ref.part).linear().col(2).dot(face.normal_P);
  if (now_.machine != nullptr && now_.machine->kind == MachineToolKind::kLathe)
    return Work::kFaceInLathe;
  return std::abs(up) > kAlong ? Work::kFaceFromAbove : Work::kWall;
}

// A length crept up on and measured, not run to a stop: what is left is a last cut's spread as on a
// diameter (common practice: fitted lengths come within half to one times the instrument). Rubbed down on a plate
// it is no worse than turned (common practice: to 0.005 and better).
SpreadId CutReader::CreptUp() const {
  const bool mill = now_.machine != nullptr && now_.machine->kind == MachineToolKind::kMill;
  return !mill ? SpreadId::kTurnedDiameter : SpreadId::kMilledThickness;
}

// Faces at one height that one step cuts share the visit: one pass made them all.
std::uint64_t CutReader::HeightKey(const Step& step, const FeatureRef& ref,
                                   std::uint64_t visit) const {
  const auto height = [&](const FeatureRef& r) {
    const Feature* feature = FindFeature(machine_, r);
    const auto* face = feature == nullptr ? nullptr : std::get_if<PlanarFace>(&feature->shape);
    if (face == nullptr) return std::nan("");
    return (PoseInSetup(r.part).inverse() * (face->normal_P * face->at.middle_mm())).z();
  };
  const double own = height(ref);
  for (const FeatureRef& other : step.features) {
    if (other == ref) break;
    if (std::abs(height(other) - own) < kDrawnAlike_mm) {
      return MixKeys(MixKeys(KeyOf(other), static_cast<std::uint64_t>(step.operation)), 0x68676874);
    }
  }
  if (step.features.size() > 1)
    return MixKeys(MixKeys(KeyOf(ref), static_cast<std::uint64_t>(step.operation)), 0x68676874);
  return visit;
}

Status CutReader::CutFace(const Step& step, const FeatureRef& ref, const PlanarFace& face,
                          FeatureForms& forms) {
  forms = FeatureForms{};
  forms.made = true;
  forms.pose.base = BaseOf(ref.part);
  const std::uint64_t visit = VisitKey(step, ref, 0);
  const OperationRow& row = FindRow(step.operation, WorkOfFace(ref, face));
  const bool suited = step.aim && step.aim->kind == AimKind::kFitToMeasured &&
                      !step.features.empty() && step.features.front() == ref;
  const bool closing = suited && !step.aim->closes.empty();
  const bool fitted = closing || (suited && step.aim->mate);
  for (const SourceUse& use : row.uses) {
    if (fitted && use.effect == Effect::kHeight) continue;
    ApplyFaceUse(use, step, ref, face, visit, forms);
  }
  if (closing) return FitStack(step, ref, face, forms);
  if (fitted) FitFace(step, ref, face, forms);
  return Ok{};
}

void CutReader::ApplyFaceUse(const SourceUse& use, const Step& step, const FeatureRef& ref,
                             const PlanarFace& face, std::uint64_t visit, FeatureForms& forms) {
  const Feature& feature = *FindFeature(machine_, ref);
  const Part& part = *FindSheet(machine_, ref.part);
  const Region region = RegionOf(part, feature);
  const Pose X_PS = PoseInSetup(ref.part);
  const Vec3& n = face.normal_P;
  switch (use.effect) {
    case Effect::kHeight: {
      const bool own_aim = step.aim && !step.features.empty() && step.features.front() == ref;
      Step plain;
      plain.operation = step.operation;
      const bool crept =
          own_aim && step.aim->kind != AimKind::kOneShot && use.spread == SpreadId::kDepthStop;
      const SpreadId spread = crept ? CreptUp() : use.spread;
      const Form height =
          SizeForm(own_aim ? step : plain, ref, feature, spread, HeightKey(step, ref, visit), 1, 0);
      AddShift(forms.pose.own, n, height);
      return;
    }
    case Effect::kPlaceAlong:
      if (use.spread == SpreadId::kCutterRunout) {
        // A cutter that runs out cuts deeper, never less.
        AddShift(forms.pose.own, n, Draw(use.spread, Law::kHalfNormal, visit, 1 / kMedianToSigma),
                 -1);
      } else {
        const bool dials = use.spread == SpreadId::kReadoutPosition && now_.machine != nullptr &&
                           !now_.machine->readout;
        AddShift(forms.pose.own, n,
                 Draw(dials ? SpreadId::kDialPosition : use.spread, Law::kNormal, visit, 1));
      }
      return;
    case Effect::kWallLean: {
      const Vec3 about = X_PS.linear().col(2).cross(n);
      if (about.norm() > 1e-6)
        AddTurn(forms.pose.own, region.centre, about.normalized(),
                Draw(use.spread, Law::kHalfNormal, visit, 1));
      return;
    }
    case Effect::kSkewXY:
      if (std::abs(X_PS.linear().col(0).dot(n)) > kAlong) {
        AddTurn(forms.pose.own, X_PS.translation(), X_PS.linear().col(2),
                Draw(use.spread, Law::kNormal, StableHash(now_.setup->machine.text()), 1), -1);
      }
      return;
    case Effect::kDishing:
      forms.dishing =
          FormOf(Draw(use.spread, Law::kHalfNormal, StableHash(now_.setup->machine.text()), 1),
                 1 / kPerDishing_mm);
      forms.dishing = Plus(forms.dishing, SteadyLean());
      forms.dish_centre =
          X_PS.translation() + n * (face.at.middle_mm() - n.dot(X_PS.translation()));
      forms.rim_mm = std::max(region.half_u, region.half_v);
      return;
    default:
      AddPlaceUse(use, ref, visit, region.centre, forms.pose);
  }
}

// The thickness from the part's own seat is cut to the measured depth from the mate's seat to its
// face.
void CutReader::FitFace(const Step& step, const FeatureRef& ref, const PlanarFace& face,
                        FeatureForms& forms) {
  const Aim& aim = *step.aim;
  const Feature& feature = *FindFeature(machine_, ref);
  const FeatureRef* own_seat = nullptr;
  const FeatureRef* mate_seat = nullptr;
  for (const Joint& joint : machine_.joints) {
    const bool joins = Joins(joint, ref.part) && OtherEnd(joint, ref.part).part == aim.mate->part;
    if (joint.kind != JointKind::kFaceContact || !joins) continue;
    own_seat = &EndOn(joint, ref.part);
    mate_seat = &OtherEnd(joint, ref.part);
    break;
  }
  const Datum top_W = DatumInW(machine_, ref);
  const Datum deck_W = DatumInW(machine_, *aim.mate);
  const Vec3 n_W = top_W.direction_P;
  const std::uint64_t visit = MixKeys(KeyOf(ref), 0x666974);
  FormSum sum;
  sum.Add(aim.clearance_mm - n_W.dot(top_W.point_P_mm - deck_W.point_P_mm));
  sum.Add(WorkedSource(step, CreptUp(), feature, aim.clearance_lower_mm - aim.clearance_mm,
                       aim.clearance_upper_mm - aim.clearance_mm, visit, ref.part),
          1);
  AddReadings(sum, InstrumentFor(step, feature), feature, 0, -1);
  const Feature* mate_feature = FindFeature(machine_, *aim.mate);
  if (mate_feature != nullptr)
    AddReadings(sum, InstrumentFor(Step{}, *mate_feature), *mate_feature,
                MixKeys(KeyOf(*aim.mate), visit), 1);
  const PlacedMap at_rest;
  const std::vector<Vec3> points =
      ReadingPoints(RegionInW(machine_, own_seat != nullptr ? *own_seat : ref));
  const double share = 1 / static_cast<double>(points.size());
  for (const Vec3& at_W : points) {
    if (own_seat != nullptr) {
      AddMoveInW(sum, assembly_, at_rest, *own_seat, at_W, n_W, share);
      AddMoveInW(sum, assembly_, at_rest, *aim.mate, at_W, n_W, share);
      AddMoveInW(sum, assembly_, at_rest, *mate_seat, at_W, n_W, -share);
    }
    AddFeatureMove(sum, forms, PlaceOf(machine_, ref.part).inverse() * at_W, face.normal_P, -share);
  }
  AddShift(forms.pose.own, face.normal_P, sum.Take());
}

// A tailstock that stands off the axis makes a bar on its centre a cone: about the jaws' mouth, or between
// centres about the other centre, whatever drives it.
void CutReader::AddCentreTaper(double along, FeatureForms& forms) {
  double jaws = -std::numeric_limits<double>::infinity();
  std::optional<double> other_centre;
  std::optional<double> centre;
  for (const FixtureSolid& fixture : now_.setup->fixtures) {
    const auto* ring = std::get_if<FixtureCylinder>(&fixture.shape);
    if (ring == nullptr) continue;
    if (fixture.grips) jaws = std::max(jaws, ring->to_mm);
    if (fixture.role == FixtureRole::kTailstock && fixture.supports) centre = ring->from_mm;
    if (fixture.role == FixtureRole::kSpindleNose && fixture.supports) other_centre = ring->to_mm;
  }
  const double turns_about = other_centre.value_or(jaws);
  if (!centre || *centre <= turns_about) return;
  const SourceIndex offset = Draw(SpreadId::kTailstockOffset, Law::kNormal, StableHash(now_.setup->machine.text()), 1, 0);
  forms.taper = Plus(forms.taper, FormOf(offset, along), 2 / (*centre - turns_about));
}

// In a fixed steady the work turns about the line from the jaws to where its fingers hold it.
Form CutReader::SteadyLean() {
  double jaws = -std::numeric_limits<double>::infinity();
  std::optional<double> held;
  for (const FixtureSolid& fixture : now_.setup->fixtures) {
    const auto* ring = std::get_if<FixtureCylinder>(&fixture.shape);
    if (ring == nullptr) continue;
    if (fixture.grips) jaws = std::max(jaws, ring->to_mm);
    if (fixture.role == FixtureRole::kSteady) held = 0.5 * (ring->from_mm + ring->to_mm);
  }
  if (!held || *held <= jaws) return {};
  return FormOf(Draw(SpreadId::kSteadyOffAxis, Law::kNormal, now_.key, 1), 1 / (*held - jaws));
}

// The tailstock set over by indicator, over the length between the centres: both sides of the cone count.
void CutReader::AddSetOver(FeatureForms& forms) {
  double low = std::numeric_limits<double>::infinity();
  double high = -low;
  for (const FixtureSolid& fixture : now_.setup->fixtures) {
    const auto* point = std::get_if<FixtureCylinder>(&fixture.shape);
    if (point == nullptr || !fixture.supports) continue;
    low = std::min(low, point->to_mm);
    high = std::max(high, point->from_mm);
  }
  if (high <= low) return;
  forms.taper = Plus(forms.taper, FormOf(Draw(SpreadId::kAdjustByIndicator, Law::kNormal, now_.key, 1)), 2 / (high - low));
}

void CutReader::CutRound(const Step& step, const FeatureRef& ref, const Feature& feature,
                         FeatureForms& forms) {
  const Datum datum = DatumOf(feature);
  const std::uint64_t visit = VisitKey(step, ref, 0);
  const InstrumentId measured = forms.measured_with;
  forms = FeatureForms{};
  forms.measured_with = measured;
  forms.made = true;
  forms.pose.base = BaseOf(ref.part);
  const Pose X_PS = PoseInSetup(ref.part);
  const bool outside = std::holds_alternative<OuterDiameter>(feature.shape);
  const bool lathe = now_.machine != nullptr && now_.machine->kind == MachineToolKind::kLathe;
  const auto* cone = std::get_if<Taper>(&feature.shape);
  const bool bored = cone != nullptr && cone->internal;
  const Work work = !lathe                       ? Work::kSunkShape
                    : bored                      ? Work::kHoleOnAxis
                    : outside || cone != nullptr ? Work::kRoundOutside
                                                 : Work::kSunkShape;
  for (const SourceUse& use : FindRow(step.operation, work).uses) {
    if (use.effect == Effect::kSize) {
      forms.size = SizeForm(step, ref, feature, use.spread, visit, 1, datum.diameter_mm);
    } else if (use.effect == Effect::kTaper) {
      const double along = X_PS.linear().col(2).dot(datum.direction_P);
      forms.taper = FormOf(
          Draw(use.spread, Law::kNormal, StableHash(now_.setup->machine.text()), 1), along / 100);
    } else if (use.effect == Effect::kHeight) {
      AddShift(forms.pose.own, X_PS.linear().col(2), Draw(use.spread, Law::kNormal, visit, 1));
    } else {
      AddPlaceUse(use, ref, visit, datum.middle_P_mm(), forms.pose);
    }
  }
  if (forms.size.constant == 0) forms.size.constant = datum.diameter_mm;
  const double outward = X_PS.linear().col(2).dot(datum.direction_P);
  if (work == Work::kRoundOutside) AddCentreTaper(outward, forms);
  if (work != Work::kSunkShape) forms.taper = Plus(forms.taper, SteadyLean(), 2 * outward);
  if (cone != nullptr && now_.setup->tailstock_over_mm != 0) return AddSetOver(forms);
  // The slide that cuts a cone stands at its angle by its own graduations: both sides count.
  if (cone != nullptr)
    forms.taper =
        Plus(forms.taper, FormOf(Draw(SpreadId::kAngleProtractor, Law::kNormal, now_.key, 1)), 2);
}

void CutReader::CutShape(const Step& step, const FeatureRef& ref, const Feature& feature,
                         FeatureForms& forms) {
  const Datum datum = DatumOf(feature);
  const std::uint64_t visit = VisitKey(step, ref, 0);
  forms = FeatureForms{};
  forms.made = true;
  forms.pose.base = BaseOf(ref.part);
  forms.size.constant = datum.diameter_mm;
  const Pose X_PS = PoseInSetup(ref.part);
  for (const SourceUse& use : FindRow(step.operation, Work::kSunkShape).uses) {
    if (use.effect == Effect::kSize) {
      forms.size = SizeForm(step, ref, feature, use.spread, visit, 1, datum.diameter_mm);
    } else if (use.effect == Effect::kHeight) {
      AddShift(forms.pose.own, X_PS.linear().col(2), Draw(use.spread, Law::kNormal, visit, 1));
    } else {
      AddPlaceUse(use, ref, visit, datum.point_P_mm, forms.pose);
    }
  }
  if (const auto* flats = std::get_if<Flats>(&feature.shape); flats != nullptr && now_.setup->holding == HoldingKind::kRotaryTable) {
    AddTurn(forms.pose.own, flats->axis_P.point_mm, flats->axis_P.direction, Draw(SpreadId::kRotaryTable, Law::kNormal, visit, 1));
    forms.size = Plus(forms.size, FormOf(Draw(SpreadId::kBoreCentring, Law::kNormal, now_.key, 1, kTableCentred), 2));
  }
}

}  // namespace fitwright::variation
