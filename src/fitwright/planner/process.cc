#include "fitwright/planner/process.h"

#include <algorithm>
#include <cmath>

#include "fitwright/base/check.h"
#include "fitwright/planner/paths_design.h"
#include "fitwright/planner/pieces.h"
#include "fitwright/planner/process_common.h"
#include "fitwright/planner/process_memo.h"
#include "fitwright/planner/process_together.h"

namespace fitwright::planner {
namespace {

const PieceInSetup* FindPiece(const CutContext& context, const PartId& part) {
  for (const PieceInSetup& p : context.pieces) {
    if (p.part != nullptr && p.part->name == part) return &p;
  }
  return nullptr;
}

const trade::Material& MaterialOf(const Part& part) {
  const trade::Material* material = trade::FindMaterial(part.material);
  if (material == nullptr) material = trade::FindMaterial("steel");
  FW_CHECK(material != nullptr, part.material);
  return *material;
}

void CheckContext(const CutContext& context) {
  FW_CHECK(context.shop != nullptr && context.machine != nullptr,
           "a cut needs a shop and a machine");
  FW_CHECK(!context.pieces.empty(), "a cut needs a piece");
}

// What the tool has to suit: of parts cut in one go the one that is hardest to cut.
const trade::Material& HardestOf(const CutContext& context, const CutRequest& request, const Part& own) {
  const trade::Material* hardest = &MaterialOf(own);
  for (const FeatureRef& ref : request.features) {
    const PieceInSetup* piece = FindPiece(context, ref.part);
    if (piece != nullptr && MaterialOf(*piece->part).kc11_MPa > hardest->kc11_MPa) hardest = &MaterialOf(*piece->part);
  }
  return *hardest;
}

Job MakeJob(const CutContext& context, const CutRequest& request, const PieceInSetup& piece,
            const Feature& feature) {
  const FeatureRef ref = request.features.empty() ? FeatureRef{piece.part->name, feature.name}
                                                  : request.features.front();
  return Job{context, request, piece, feature, ref, HardestOf(context, request, *piece.part),
             piece.X_PS.inverse(), {}};
}

Status CutInLathe(Job& job) {
  const FeatureShape& shape = job.feature.shape;
  if (std::holds_alternative<PlanarFace>(shape)) return CutTurnedFace(job);
  if (std::holds_alternative<OuterDiameter>(shape)) return CutOuterDiameter(job);
  if (std::holds_alternative<Hole>(shape)) return CutHole(job);
  if (std::holds_alternative<Groove>(shape)) return CutGroove(job);
  if (std::holds_alternative<RoundChamfer>(shape)) return CutRoundChamfer(job);
  if (std::holds_alternative<Taper>(shape)) return CutTaper(job);
  if (std::holds_alternative<ExternalThread>(shape)) return CutExternalThread(job);
  if (std::holds_alternative<Knurl>(shape)) return CutKnurl(job);
  if (IsHubKeyway(job.feature)) return CutHubKeyway(job);
  return NoPlan(job, "it is not turned work", "cut it on the mill");
}

Status CutOnMill(Job& job) {
  const FeatureShape& shape = job.feature.shape;
  if (std::holds_alternative<Hole>(shape)) return CutHole(job);
  if (job.machine().kind == MachineToolKind::kDrillPress)
    return NoPlan(job, "the drill press only drills", "cut it on the mill");
  if (std::holds_alternative<PlanarFace>(shape)) return CutMilledFace(job);
  if (std::holds_alternative<Slot>(shape)) return CutSlot(job);
  if (std::holds_alternative<Pocket>(shape)) return CutPocket(job);
  if (std::holds_alternative<StepCut>(shape)) return CutStepCut(job);
  if (std::holds_alternative<EdgeChamfer>(shape)) return CutEdgeChamfer(job);
  if (std::holds_alternative<RoundChamfer>(shape)) return CutRoundChamfer(job);
  if (std::holds_alternative<Flats>(shape)) return CutFlats(job);
  if (std::holds_alternative<Keyway>(shape)) return CutKeyway(job);
  return NoPlan(job, "it is turned work", "cut it in the lathe");
}

void SumUp(CutResult& result) {
  result.minutes = 0;
  for (const Step& step : result.steps) result.minutes += step.time_min;
}

// Directions alone, for CanCut. Empty: it can be cut.
std::string WhyNotOnMill(const Pose& X_SP, const Part& part, const Feature& feature,
                         bool drill_press) {
  const auto up = [&](const Vec3& d_P) { return (X_SP.linear() * d_P).z(); };
  const double same = 1 - kDirection;
  if (const auto* hole = std::get_if<Hole>(&feature.shape)) {
    const bool either = hole->through && hole->use == HoleUse::kHole && !hole->thread;
    if (up(hole->into_P) < -same || (either && up(hole->into_P) > same)) return {};
    return "it is not entered from above";
  }
  if (drill_press) return "the drill press only drills";
  if (const auto* face = std::get_if<PlanarFace>(&feature.shape))
    return up(face->normal_P) > same ? "" : "it does not face up";
  if (const auto* slot = std::get_if<Slot>(&feature.shape)) {
    return up(slot->into_P) < -same || (slot->through && up(slot->into_P) > same)
               ? ""
               : "it is not open upwards";
  }
  if (const auto* pocket = std::get_if<Pocket>(&feature.shape))
    return up(pocket->into_P) < -same ? "" : "it is not open upwards";
  if (const auto* step = std::get_if<StepCut>(&feature.shape))
    return up(step->into_P) < -same ? "" : "it is not open upwards";
  if (const auto* chamfer = std::get_if<EdgeChamfer>(&feature.shape)) {
    const auto plane = FindChamferPlane(part, *chamfer);
    return plane && up(plane->normal_P) > same ? "" : "its plane does not face up";
  }
  if (const auto* chamfer = std::get_if<RoundChamfer>(&feature.shape)) {
    const Feature* on = part.Find(chamfer->on);
    const auto* hole = on == nullptr ? nullptr : std::get_if<Hole>(&on->shape);
    if (hole == nullptr) return "round outside edges are chamfered in the lathe";
    return chamfer->at_start && up(hole->into_P) < -same ? "" : "that end does not face up";
  }
  if (const auto* flats = std::get_if<Flats>(&feature.shape)) {
    return std::abs(up(flats->axis_P.direction)) > same ||
                   std::abs(up(flats->first_normal_P)) > same
               ? ""
               : "neither the axis nor a flat faces up";
  }
  if (const auto* keyway = std::get_if<Keyway>(&feature.shape))
    return !keyway->internal && up(keyway->side_P) > same ? "" : "the keyway does not face up";
  return "it is turned work";
}

std::string WhyNotInLathe(const Pose& X_SP, const Part& part, const Feature& feature) {
  const auto up = [&](const Vec3& d_P) { return (X_SP.linear() * d_P).z(); };
  const auto on_axis = [&](const Vec3& p_P) { return (X_SP * p_P).head<2>().norm() < kZone_mm; };
  const double same = 1 - kDirection;
  if (const auto* face = std::get_if<PlanarFace>(&feature.shape))
    return up(face->normal_P) > same ? "" : "it does not face the tailstock";
  if (const auto* outer = std::get_if<OuterDiameter>(&feature.shape)) {
    return on_axis(outer->axis_P.point_mm) && std::abs(up(outer->axis_P.direction)) > same
               ? ""
               : "its axis is not the spindle's";
  }
  if (const auto* groove = std::get_if<Groove>(&feature.shape)) {
    return on_axis(groove->axis_P.point_mm) && std::abs(up(groove->axis_P.direction)) > same
               ? ""
               : "its axis is not the spindle's";
  }
  if (const auto* hole = std::get_if<Hole>(&feature.shape)) {
    const bool either = hole->through && hole->use == HoleUse::kHole && !hole->thread;
    const bool way = up(hole->into_P) < -same || (either && up(hole->into_P) > same);
    return way && hole->entries_P_mm.size() == 1 && on_axis(hole->entries_P_mm.front())
               ? ""
               : "it does not run down the spindle's axis";
  }
  if (const auto* chamfer = std::get_if<RoundChamfer>(&feature.shape)) {
    const Feature* on = part.Find(chamfer->on);
    if (on == nullptr) return "what it stands on is not there";
    if (const auto* hole = std::get_if<Hole>(&on->shape)) {
      const double towards = -up(hole->into_P) * (chamfer->at_start ? 1 : -1);
      return towards > same && on_axis(hole->entries_P_mm.front())
                 ? ""
                 : "that end does not face the tailstock";
    }
    const auto& outer = std::get<OuterDiameter>(on->shape);
    const double sense = outer.to_mm > outer.from_mm ? 1 : -1;
    const double towards = up(outer.axis_P.direction) * sense * (chamfer->at_start ? -1 : 1);
    return towards > same && on_axis(outer.axis_P.point_mm)
               ? ""
               : "that end does not face the tailstock";
  }
  if (const auto* taper = std::get_if<Taper>(&feature.shape)) {
    return on_axis(taper->axis_P.point_mm) && std::abs(up(taper->axis_P.direction)) > same
               ? ""
               : "its axis is not the spindle's";
  }
  if (const auto* thread = std::get_if<ExternalThread>(&feature.shape)) {
    const auto& outer = std::get<OuterDiameter>(part.Find(thread->on)->shape);
    const double sense = outer.to_mm > outer.from_mm ? 1 : -1;
    const double towards = up(outer.axis_P.direction) * sense * (thread->at_start ? -1 : 1);
    return towards > same && on_axis(outer.axis_P.point_mm) ? "" : "that end does not face the tailstock";
  }
  if (const auto* knurl = std::get_if<Knurl>(&feature.shape)) {
    const auto& outer = std::get<OuterDiameter>(part.Find(knurl->on)->shape);
    return on_axis(outer.axis_P.point_mm) && std::abs(up(outer.axis_P.direction)) > same
               ? ""
               : "its axis is not the spindle's";
  }
  if (IsHubKeyway(feature)) {
    const auto& keyway = std::get<Keyway>(feature.shape);
    const bool beside = (X_SP.linear() * keyway.side_P).x() > same;
    return on_axis(keyway.axis_P.point_mm) && beside ? "" : "the spindle is not locked with the seat towards the operator";
  }
  return "it is not turned work";
}

Result<CutResult> MakeCutAfresh(const CutContext& context, const CutRequest& request) {
  const FeatureRef& ref = request.features.front();
  const PieceInSetup* piece = FindPiece(context, ref.part);
  FW_CHECK(piece != nullptr, ref.text());
  const Feature* feature = piece->part->Find(ref.feature);
  if (feature == nullptr) {
    Error error;
    error.code = ErrorCode::kUnknownFeature;
    error.message = fmt::format("{} has no feature {}", ref.part.text(), ref.feature.text());
    error.value = ref.feature.text();
    error.remedy = "name a feature of the part's sheet";
    return Unexpected(error);
  }
  std::optional<JoinedHoles> joined;
  if (GoesThroughBoth(request) && std::holds_alternative<Hole>(feature->shape)) {
    auto made = JoinHoles(context, request);
    if (!made) return Unexpected(made.error());
    joined = std::move(*made);
    piece = &joined->piece;
    feature = &joined->feature;
  }
  Job job = MakeJob(context, request, *piece, *feature);
  if (FromMate(request.technique) && request.through) {
    if (!std::holds_alternative<Hole>(feature->shape))
      return NoPlan(job, "only holes are spotted through a mate");
    const Status marked = request.technique == Technique::kSpotThrough ? CutSpotThrough(job) : CutMarks(job);
    if (!marked) return Unexpected(marked.error());
    if (request.technique == Technique::kTransferScrews) {
      SumUp(job.result);
      return std::move(job.result);
    }
  }
  const MachineToolKind on = context.machine->kind;
  const Status done = on == MachineToolKind::kBench   ? IsHubKeyway(*feature) ? CutHubKeyway(job) : CutByHand(job)
                      : on == MachineToolKind::kLathe ? CutInLathe(job)
                                                      : CutOnMill(job);
  if (!done) return Unexpected(done.error());
  Finish(job);
  SumUp(job.result);
  return std::move(job.result);
}

Result<CutResult> MakePartOffAfresh(const CutContext& context, double z_S_mm) {
  const PieceInSetup& piece = context.pieces.front();
  const CutRequest request;
  const Feature whole;
  Job job = MakeJob(context, request, piece, whole);
  if (!job.lathe()) return NoPlan(job, "parting off is lathe work", "saw it off");
  if (const Status s = CutPartOff(job, z_S_mm); !s) return Unexpected(s.error());
  SumUp(job.result);
  return std::move(job.result);
}

template <typename Make>
Result<CutResult> Remembered(const CutContext& context, const std::string& key, const Make& make) {
  if (context.memo == nullptr) return make();
  if (const auto* kept = CutMemoAccess::Find(*context.memo, key)) return *kept;
  Result<CutResult> made = make();
  CutMemoAccess::Keep(*context.memo, key, made);
  return made;
}

}  // namespace

Result<CutResult> MakeCut(const CutContext& context, const CutRequest& request) {
  CheckContext(context);
  FW_CHECK(!request.features.empty(), "a cut needs a feature");
  return Remembered(context, CutKey(context, request), [&] { return MakeCutAfresh(context, request); });
}

bool CanCut(const CutContext& context, const Feature& feature, std::string* why_not) {
  CheckContext(context);
  const PieceInSetup& piece = context.pieces.front();
  const Pose X_SP = piece.X_PS.inverse();
  std::string why;
  switch (context.machine->kind) {
    case MachineToolKind::kLathe:
      why = WhyNotInLathe(X_SP, *piece.part, feature);
      break;
    case MachineToolKind::kMill:
      why = WhyNotOnMill(X_SP, *piece.part, feature, false);
      break;
    case MachineToolKind::kDrillPress:
      why = WhyNotOnMill(X_SP, *piece.part, feature, true);
      break;
    case MachineToolKind::kBench:
      why = IsHandWork(*piece.part, feature) || IsHubKeyway(feature) ? "" : "it is machine work";
      break;
  }
  if (!why.empty() && why_not != nullptr) *why_not = feature.name.text() + ": " + why;
  return why.empty();
}

Result<CutResult> MakePartOff(const CutContext& context, double z_S_mm) {
  CheckContext(context);
  return Remembered(context, PartOffKey(context, z_S_mm),
                    [&] { return MakePartOffAfresh(context, z_S_mm); });
}

Result<CutResult> MakeCentre(const CutContext& context, const Tool& centre_drill) {
  CheckContext(context);
  const CutRequest request;
  const Feature whole;
  Job job = MakeJob(context, request, context.pieces.front(), whole);
  if (const Status s = CutCentre(job, centre_drill); !s) return Unexpected(s.error());
  SumUp(job.result);
  return std::move(job.result);
}

Coordinate DialReading(const MachineTool& machine, const Vec3& p_S_mm, std::string name) {
  const auto reading = [](int sense, double value) { return value == 0 ? 0.0 : sense * value; };
  Coordinate c;
  c.hole = std::move(name);
  const double x = machine.kind == MachineToolKind::kLathe && machine.x_reads_diameter
                       ? 2 * p_S_mm.x()
                       : p_S_mm.x();
  c.x_mm = reading(machine.x_sense, x);
  c.y_mm = reading(machine.y_sense, p_S_mm.y());
  c.z_mm = reading(machine.z_sense, p_S_mm.z());
  return c;
}

}  // namespace fitwright::planner
