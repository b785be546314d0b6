// Holes and bores: where they land, how they lean, how large they come out.
#include <algorithm>
#include <cmath>

#include "fitwright/base/hash.h"
#include "fitwright/model/gripped_ring.h"
#include "fitwright/trade/fits.h"
#include "fitwright/trade/materials.h"
#include "fitwright/trade/rings.h"
#include "fitwright/variation/cut_reader.h"
#include "fitwright/variation/joint_limits.h"

namespace fitwright::variation {
namespace {

constexpr double kInLine = 1 - 1e-6;
// common practice: a start needs 0.002 mm per mm of drill more (shop-defaults' own note).
constexpr double kStartPerDiameter = 0.002;
// A spotting drill this much smaller than the hole it goes through no longer fills it.
constexpr double kFills_mm = 0.15;

bool SetsPlace(Operation operation) {
  return operation != Operation::kTap && operation != Operation::kReam &&
         operation != Operation::kHone;
}

// Run-off doubles beyond five diameters and doubles again beyond ten.
double RunOffFactor(double depth_mm, double diameter_mm) {
  const double slender = diameter_mm > 0 ? depth_mm / diameter_mm : 0;
  return slender <= 5 ? 1 : slender <= 10 ? 2 : 4;
}

double ToolDiameter(const Shop& shop, const Step& step, double otherwise) {
  const Tool* tool = shop.Find(step.tool);
  return tool != nullptr && tool->diameter_mm > 0 ? tool->diameter_mm : otherwise;
}

}  // namespace

Status CutReader::CutHoles(const Step& step, const FeatureRef& ref, const Hole& hole,
                           FeatureForms& forms) {
  const std::size_t count = hole.entries_P_mm.size();
  forms.holes.resize(count);
  for (HoleForms& h : forms.holes) h.across = SquareTo(hole.into_P);
  std::vector<int> holes = step.holes;
  if (holes.empty()) {
    for (std::size_t i = 0; i < count; ++i) holes.push_back(static_cast<int>(i));
  }
  for (const int i : holes) {
    if (i < 0 || static_cast<std::size_t>(i) >= count) {
      return Unexpected(Error{ErrorCode::kNoPlan,
                              fmt::format("step {} works on hole {} of {}, which has {}",
                                          step.id.text(), i + 1, ref.text(), count),
                              {},
                              "name holes of the pattern",
                              {}});
    }
    if (step.operation == Operation::kSpotThrough) {
      if (const Status s = SpotThrough(step, ref, hole, static_cast<std::size_t>(i),
                                       forms.holes[static_cast<std::size_t>(i)]);
          !s)
        return s;
    } else {
      CutOneHole(step, ref, hole, static_cast<std::size_t>(i), forms);
    }
  }
  if (count > 0) {
    forms.made = true;
    forms.pose = forms.holes.front().pose;
    forms.size = forms.holes.front().size;
  }
  return Ok{};
}

Work CutReader::WorkOfHole(const Step& step, const FeatureRef& ref, const Hole& hole,
                           const HoleForms& forms) const {
  const bool machine = now_.machine != nullptr && now_.machine->kind != MachineToolKind::kBench;
  if (!machine) return Work::kAny;
  if (now_.machine->kind == MachineToolKind::kLathe) return Work::kHoleOnAxis;
  (void)ref;
  (void)hole;
  if (step.operation == Operation::kSpot && forms.marked) return Work::kHoleOnMark;
  return step.operation == Operation::kDrill && forms.started ? Work::kHoleOnStart
                                                              : Work::kHoleInMill;
}

// A counterbore with a pilot stands where the hole stands that guides it.
bool CutReader::FollowsPilot(const Step& step, const FeatureRef& ref, const Hole& hole,
                             std::size_t i, HoleForms& forms) const {
  const Tool* tool = shop_.Find(step.tool);
  if (tool == nullptr || tool->kind != ToolKind::kCounterbore) return false;
  for (const auto& [other_ref, other] : out_.features) {
    if (other_ref.part != ref.part || other_ref == ref || !other.made) continue;
    const Feature* feature = FindFeature(machine_, other_ref);
    const auto* guide = feature == nullptr ? nullptr : std::get_if<Hole>(&feature->shape);
    if (guide == nullptr || std::abs(guide->into_P.dot(hole.into_P)) < kInLine) continue;
    for (std::size_t k = 0; k < guide->entries_P_mm.size() && k < other.holes.size(); ++k) {
      const Vec3 r = guide->entries_P_mm[k] - hole.entries_P_mm[i];
      if ((r - hole.into_P * hole.into_P.dot(r)).norm() > kDrawnAlike_mm || !other.holes[k].started)
        continue;
      forms.pose = other.holes[k].pose;
      return true;
    }
  }
  return false;
}

void CutReader::CutOneHole(const Step& step, const FeatureRef& ref, const Hole& hole, std::size_t i,
                           FeatureForms& forms) {
  HoleForms& h = forms.holes[i];
  const std::uint64_t visit = VisitKey(step, ref, i);
  const bool by_eye = now_.machine != nullptr &&
                      now_.machine->kind == MachineToolKind::kDrillPress && !now_.machine->readout;
  Work work = WorkOfHole(step, ref, hole, h);
  const bool punched = by_eye && work == Work::kHoleInMill &&
                       (step.operation == Operation::kDrill || step.operation == Operation::kSpot);
  const bool follows =
      step.operation == Operation::kCounterbore && FollowsPilot(step, ref, hole, i, h);
  const bool on_axis_cut = work == Work::kHoleOnAxis && step.operation != Operation::kDrill &&
                           step.operation != Operation::kSpot;
  const bool resets = SetsPlace(step.operation) && !follows &&
                      (work == Work::kHoleInMill || work == Work::kAny || on_axis_cut ||
                       (work == Work::kHoleOnAxis && !h.started));
  if (resets) {
    h.pose = PoseForms{BaseOf(ref.part), Form6{}};
    h.run_off = {};
    h.thread_lean = {};
  }
  const bool divided = IsDivided(step);
  if (divided && resets) AddDivision(ref, hole, i, visit, h.pose);
  const OperationRow* row = &FindRow(step.operation, work);
  if (punched) row = &FindRow(Operation::kByHand, Work::kAny);
  for (const SourceUse& use : row->uses) {
    if (follows && use.effect != Effect::kSize) continue;
    if (divided && AddDividedUse(use, ref, hole, i, h.pose)) continue;
    ApplyHoleUse(use, step, ref, hole, i, visit, forms);
  }
  if (punched && step.operation == Operation::kDrill) {
    for (const SourceUse& use : FindRow(Operation::kDrill, Work::kHoleOnStart).uses)
      ApplyHoleUse(use, step, ref, hole, i, visit, forms);
  }
  // Punched or cut to a line: its size is the punch's.
  if (step.operation == Operation::kByHand) {
    h.size = Form{hole.diameter.middle_mm(), {}};
    forms.size = h.size;
  }
  h.started = true;
  h.marked = false;
  if (step.operation == Operation::kTap) h.threaded = true;
  if (step.operation != Operation::kSpot && step.operation != Operation::kTap) h.drilled = true;
}

void CutReader::ApplyHoleUse(const SourceUse& use, const Step& step, const FeatureRef& ref,
                             const Hole& hole, std::size_t i, std::uint64_t visit,
                             FeatureForms& forms) {
  HoleForms& h = forms.holes[i];
  const Feature& feature = *FindFeature(machine_, ref);
  const std::uint64_t machine_key = StableHash(now_.setup->machine.text());
  const double diameter = ToolDiameter(shop_, step, hole.diameter.middle_mm());
  switch (use.effect) {
    case Effect::kRunOff:
      if (h.drilled) return;
      for (std::size_t k = 0; k < 2; ++k) {
        h.run_off[k] =
            FormOf(Draw(use.spread, Law::kNormal, visit, RunOffFactor(hole.depth_mm, diameter), k));
      }
      return;
    case Effect::kThreadLean:
      for (std::size_t k = 0; k < 2; ++k)
        h.thread_lean[k] = FormOf(Draw(use.spread, Law::kNormal, visit, 1, k));
      return;
    case Effect::kLeanPlunge:
      if (h.drilled && step.operation == Operation::kDrill) return;
      for (int axis = 0; axis < 2; ++axis) {
        AddTurn(h.pose.own, hole.entries_P_mm[i], PoseInSetup(ref.part).linear().col(axis),
                Draw(use.spread, Law::kNormal, machine_key, 1, static_cast<std::uint64_t>(axis)));
      }
      return;
    case Effect::kOffAxis:
      if (h.drilled) return;
      for (int axis = 0; axis < 2; ++axis) {
        AddShift(h.pose.own, PoseInSetup(ref.part).linear().col(axis),
                 Draw(use.spread, Law::kNormal, machine_key, 1, static_cast<std::uint64_t>(axis)));
      }
      return;
    case Effect::kOversize:
      h.size = Oversize(step, diameter, visit);
      return;
    case Effect::kReamed: {
      const double it7 =
          trade::ToleranceGrade_mm(std::clamp(diameter, 0.1, trade::kFitRange_mm), 7);
      h.size = FormOf(Draw(use.spread, Law::kNormal, StableHash(step.tool.text()), it7));
      h.size.constant = hole.diameter.nominal_mm > 0 ? hole.diameter.nominal_mm : diameter;
      return;
    }
    case Effect::kSize:
      h.size = SizeForm(step, ref, feature, use.spread, visit, 1, hole.diameter.middle_mm());
      return;
    case Effect::kTaper: {
      const double along = PoseInSetup(ref.part).linear().col(2).dot(hole.into_P);
      forms.taper = Plus(FormOf(Draw(use.spread, Law::kNormal, machine_key, 1), along / 100), SteadyLean(), 2 * along);
      return;
    }
    case Effect::kForm:
      forms.form = FormOf(Draw(use.spread, Law::kHalfNormal, visit, 1));
      return;
    case Effect::kSprung:
      forms.lobes = Lobes(use.spread, ref, hole);
      return;
    default:
      AddPlaceUse(use, ref, visit, hole.entries_P_mm[i], h.pose);
  }
}

// A ring bored or reamed while three jaws press on it; empty where they press on none.
Form CutReader::Lobes(SpreadId spread, const FeatureRef& ref, const Hole& hole) {
  if (now_.setup->parts.empty() || now_.setup->parts.front().part != ref.part) return {};
  const auto ring = FindGrippedRing(shop_, *now_.setup, hole, PoseInSetup(ref.part));
  const Part* sheet = FindSheet(machine_, ref.part);
  const trade::Material* material = sheet == nullptr ? nullptr : trade::FindMaterial(sheet->material);
  if (!ring || material == nullptr || material->modulus_MPa <= 0) return {};
  Source source;
  source.law = Law::kLognormal;
  source.key = MixKeys(MixKeys(StableHash(IdOf(spread)), now_.key), 0);
  source.size_key = MixKeys(StableHash(IdOf(spread)), StableHash(now_.setup->device.text()));
  source.spread = source.spread_b = spread;
  source.unit = trade::ThreeForceLobes_mm_N(ring->outer_mm, ring->inner_mm, ring->length_mm, material->modulus_MPa);
  return FormOf(out_.sources.Add(source));
}

// Effects on place that holes, walls and sunk shapes share.
void CutReader::AddPlaceUse(const SourceUse& use, const FeatureRef& ref, std::uint64_t visit,
                            const Vec3& at_P, PoseForms& pose) {
  const Pose X_PS = PoseInSetup(ref.part);
  const Vec3 at_S = X_PS.inverse() * at_P;
  const std::uint64_t machine_key = StableHash(now_.setup->machine.text());
  SpreadId spread = use.spread;
  if (spread == SpreadId::kReadoutPosition && now_.machine != nullptr && !now_.machine->readout)
    spread = SpreadId::kDialPosition;
  if (use.effect == Effect::kSkewXY) {
    AddShift(pose.own, X_PS.linear().col(0), Draw(spread, Law::kNormal, machine_key, 1), at_S.y());
    return;
  }
  for (int axis = 0; axis < 2; ++axis) {
    const Vec3 direction = X_PS.linear().col(axis);
    const auto salt = static_cast<std::uint64_t>(axis);
    if (use.effect == Effect::kScaleXY) {
      AddShift(pose.own, direction, Draw(spread, Law::kNormal, machine_key, 1, salt), at_S[axis]);
    } else if (use.effect == Effect::kHeadMove) {
      AddShift(pose.own, direction, Draw(spread, Law::kNormal, visit, kHeadMove_mm / 100, salt));
    } else if (use.effect == Effect::kPlaceXY) {
      const Feature* feature = FindFeature(machine_, ref);
      const bool start = spread == SpreadId::kDrillStartSpotted && feature != nullptr;
      const double extra =
          start ? kStartPerDiameter * NominalSize_mm(*feature) * shop_.spread_scale : 0;
      AddShift(pose.own, direction, Draw(spread, Law::kNormal, visit, 1, salt, extra));
    }
  }
}

Status CutReader::SpotThrough(const Step& step, const FeatureRef& ref, const Hole& hole,
                              std::size_t i, HoleForms& forms) {
  const Unexpected missing(Error{
      ErrorCode::kNoPlan,
      fmt::format("step {} spots {} through a part that is not on it", step.id.text(), ref.text()),
      {},
      "assemble the mate first and name its holes",
      {}});
  if (!step.through) return missing;
  const auto rel_W = StillTogether(step.through->part, ref.part);
  const auto mate = out_.features.find(*step.through);
  const Feature* mate_feature = FindFeature(machine_, *step.through);
  const auto* mate_hole =
      mate_feature == nullptr ? nullptr : std::get_if<Hole>(&mate_feature->shape);
  if (!rel_W || mate_hole == nullptr || mate == out_.features.end()) return missing;
  const Pose X_WP = PlaceOf(machine_, ref.part);
  const Pose X_WM = PlaceOf(machine_, step.through->part);
  const Vec3 mouth_W = X_WP * hole.entries_P_mm[i];
  const Vec3 mouth_M = X_WM.inverse() * mouth_W;
  std::size_t nearest = 0;
  double least = 1e300;
  for (std::size_t k = 0; k < mate_hole->entries_P_mm.size(); ++k) {
    const Vec3 r = mate_hole->entries_P_mm[k] - mouth_M;
    const double off = (r - mate_hole->into_P * mate_hole->into_P.dot(r)).norm();
    if (off < least - 1e-9) {
      least = off;
      nearest = k;
    }
  }
  if (nearest >= mate->second.holes.size() || !mate->second.holes[nearest].drilled) return missing;
  const HoleForms& through = mate->second.holes[nearest];
  const double depth = mate_hole->into_P.dot(mouth_M - mate_hole->entries_P_mm[nearest]);
  const std::uint64_t visit = VisitKey(step, ref, i);
  const Tool* tool = shop_.Find(step.tool);
  const bool punch = tool != nullptr && tool->kind == ToolKind::kTransferPunch;
  const SpreadId spread = punch ? tool->thread.empty() ? SpreadId::kTransferPunch : SpreadId::kTransferScrew
                                : FindRow(Operation::kSpotThrough, Work::kAny).uses.front().spread;
  const double play =
      tool == nullptr || punch ? 0 : mate_hole->diameter.middle_mm() - tool->diameter_mm;
  forms.pose = PoseForms{BaseOf(ref.part), Form6{}};
  forms.run_off = {};
  forms.thread_lean = {};
  for (std::size_t k = 0; k < 2; ++k) {
    const Vec3& along_P = forms.across[k];
    const Vec3 along_W = X_WP.linear() * along_P;
    FormSum sum;
    AddMoveAlong(sum, *rel_W, mouth_W, along_W);
    AddHoleMove(sum, through, mouth_M, depth, X_WM.linear().transpose() * along_W);
    sum.Add(Draw(spread, Law::kNormal, visit, 1, k), 1);
    // Anywhere in a disc: half-width of the uniform with the disc's variance.
    if (play > kFills_mm)
      sum.Add(Draw(SpreadId::kJointPlay, Law::kUniform, visit, 0.5 * play * std::sqrt(0.75), k), 1);
    AddMoveAlong(sum, forms.pose, hole.entries_P_mm[i], along_P, -1);
    AddShift(forms.pose.own, along_P, sum.Take());
  }
  forms.started = true;
  forms.drilled = false;
  forms.threaded = false;
  forms.marked = punch;
  return Ok{};
}

}  // namespace fitwright::variation
