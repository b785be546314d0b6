#include "fitwright/replay/cutting.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/replay/machine_rules.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/cutters.h"
#include "fitwright/solid/measure.h"

namespace fitwright::replay {
namespace {

constexpr double kNoise_mm3 = 2e-3;
constexpr double kNoiseShare = 1e-8;
constexpr double kSpeck_mm3 = 0.01;  // a loose speck below this is a burr

Result<std::vector<Sweep>> MakeSweeps(const Step& step, const Tool& tool, Findings& findings) {
  std::vector<Sweep> sweeps;
  for (const PathPiece& piece : step.path) {
    if (piece.points_S_mm.empty()) {
      findings.Add(step.id, Rule::kNoPath, "a path without points");
      continue;
    }
    const auto cutters = solid::MakeSweptCutter(tool, piece);
    if (!cutters && cutters.error().code == ErrorCode::kOutOfRange) {
      findings.Add(step.id, Rule::kPathImpossible, cutters.error().message);
      continue;
    }
    if (!cutters) return Unexpected(cutters.error());
    Sweep sweep{&piece, *cutters, {}};
    for (const solid::Solid& cutter : sweep.cutters) sweep.boxes.push_back(solid::CalcBox(cutter));
    sweeps.push_back(std::move(sweep));
  }
  return sweeps;
}

const PartId* MateOf(const Step& step) {
  if (step.operation != Operation::kSpotThrough || !step.through) return nullptr;
  return &step.through->part;
}

// Spotting passes through what is drilled in the mate and must leave it whole.
Status CheckMate(const CutJob& job, const Floor& floor, Findings& findings) {
  const PartId* mate = MateOf(job.step);
  if (mate == nullptr) return Ok{};
  const auto at = std::find_if(floor.begin(), floor.end(),
                               [&](const Standing& s) { return s.part == *mate && s.present; });
  if (at == floor.end()) {
    findings.Add(job.step.id, Rule::kPartMissing,
                 fmt::format("spotted through {}, which is not on it", mate->text()));
    return Ok{};
  }
  double shared = 0;
  for (const Sweep& sweep : job.sweeps) {
    for (const solid::Solid& cutter : sweep.cutters) {
      const auto volume = solid::CalcCommonVolume_mm3(at->solid_S, cutter);
      if (!volume) return Unexpected(volume.error());
      shared += *volume;
    }
  }
  if (shared > RemovalNoise_mm3(at->volume_mm3)) {
    findings.Add(
        at->part, job.step.id, Rule::kMateCut,
        fmt::format("the {} cuts {:.3f} mm3 out of {}", job.tool.words, shared, mate->text()));
  }
  return Ok{};
}

// Box of the sweeps that meet the piece, clipped to it.
std::optional<Box3> SweptOf(const CutJob& job, const Box3& box) {
  std::optional<Box3> swept;
  for (const Sweep& sweep : job.sweeps) {
    for (const Box3& cutter : sweep.boxes) {
      if (!Overlap(cutter, box)) continue;
      const Box3 part{cutter.min_mm.cwiseMax(box.min_mm), cutter.max_mm.cwiseMin(box.max_mm)};
      swept = swept ? Box3{swept->min_mm.cwiseMin(part.min_mm), swept->max_mm.cwiseMax(part.max_mm)}
                    : part;
    }
  }
  return swept;
}

std::vector<solid::Solid> CuttersNear(const CutJob& job, const Box3& box) {
  std::vector<solid::Solid> near;
  for (const Sweep& sweep : job.sweeps) {
    for (std::size_t i = 0; i < sweep.cutters.size(); ++i) {
      if (Overlap(sweep.boxes[i], box)) near.push_back(sweep.cutters[i]);
    }
  }
  return near;
}

// More pieces than before: the parted one, or something that flies off.
Status KeepOne(const CutJob& job, Standing& s, Findings& findings) {
  if (solid::CountPieces(s.solid_S) < 2) return Ok{};
  const auto pieces = solid::SplitPieces(s.solid_S);
  if (!pieces) return Unexpected(pieces.error());
  std::size_t keep = 0;
  if (job.step.operation == Operation::kPartOff) {
    // The bar stays in the chuck; what is towards the tailstock comes off and is the part.
    double best = solid::CalcCentroid_mm(pieces->front()).z();
    for (std::size_t i = 1; i < pieces->size(); ++i) {
      const double z = solid::CalcCentroid_mm((*pieces)[i]).z();
      if (z > best && solid::CalcVolume_mm3((*pieces)[i]) > kSpeck_mm3) {
        best = z;
        keep = i;
      }
    }
    s.parted_off = true;
  } else if (solid::CalcVolume_mm3((*pieces)[1]) > kSpeck_mm3) {
    findings.Add(s.part, job.step.id, Rule::kLoosePiece,
                 fmt::format("the cut leaves {} pieces of {}, the second of {:.2f} mm3",
                             pieces->size(), s.part.text(), solid::CalcVolume_mm3((*pieces)[1])));
  }
  s.solid_S = (*pieces)[keep];
  s.volume_mm3 = solid::CalcVolume_mm3(s.solid_S);
  return Ok{};
}

// What a piece is follows from what it was and from the cuts that reached it, not from what else
// stood by.
Key KeyAfter(const CutJob& job, const Standing& s) {
  KeyMaker key;
  key.Add(s.piece.key).Add(s.X_PS).Add(static_cast<int>(job.step.operation)).Add(job.tool);
  for (const Sweep& sweep : job.sweeps) {
    const PathPiece& piece = *sweep.piece;
    key.Add(static_cast<int>(piece.kind)).Add(piece.from_z_mm).Add(piece.set_diameter_mm);
    key.Add(static_cast<std::int64_t>(piece.points_S_mm.size()));
    for (const Vec3& p : piece.points_S_mm) key.Add(p);
    for (const double turn : piece.turns_rad) key.Add(turn);
  }
  return key.Get();
}

// Cuts one piece; `removed` grows by what came off.
Status CutPiece(const CutJob& job, Standing& s, double& removed, Findings& findings) {
  const std::vector<solid::Solid> cutters = CuttersNear(job, s.box_S);
  if (cutters.empty()) return Ok{};
  const auto left = solid::Cut(s.solid_S, cutters);
  if (!left) return Unexpected(left.error());
  const double volume = solid::CalcVolume_mm3(*left);
  if (s.volume_mm3 - volume <= RemovalNoise_mm3(s.volume_mm3)) return Ok{};
  if (s.parted_off) {
    findings.Add(s.part, job.step.id, Rule::kNotHeld,
                 fmt::format("{} is cut after it was parted off", s.part.text()));
  }
  removed += s.volume_mm3 - volume;
  s.solid_S = *left;
  s.last_cut_S = SweptOf(job, s.box_S);
  s.changed = true;
  s.piece.key = KeyAfter(job, s);
  ++s.piece.steps;
  s.volume_mm3 = volume;
  Status kept = KeepOne(job, s, findings);
  if (!kept) return kept;
  s.box_S = solid::CalcBox(s.solid_S);
  return Ok{};
}

// Rolls or cuts a thread or pattern whose solid stands as the blank.
bool LeavesBlank(const Step& step) {
  return step.operation == Operation::kThread || step.operation == Operation::kKnurl;
}

bool MayRemoveNothing(const CutJob& job) {
  if (job.tool.kind == ToolKind::kTransferPunch || job.tool.kind == ToolKind::kTap) return true;
  return job.step.operation == Operation::kTap;
}

// Cut in one go with the others it stands on, or not at all.
void CheckAllCut(const CutJob& job, const Floor& floor, const std::vector<int>& before, Findings& findings) {
  for (const PartId& part : job.step.parts) {
    const auto at = std::find_if(floor.begin(), floor.end(), [&](const Standing& s) { return s.part == part && s.present; });
    if (at == floor.end()) {
      findings.Add(part, job.step.id, Rule::kPartMissing, fmt::format("{} is to be cut with the others, but is not there", part.text()));
    } else if (at->piece.steps == before[static_cast<std::size_t>(at - floor.begin())]) {
      findings.Add(part, job.step.id, Rule::kPartNotCut,
                   fmt::format("the {} is to go on into {}, but takes nothing from it", job.tool.words, part.text()));
    }
  }
}

Status CutAll(const CutJob& job, Floor& floor, Findings& findings) {
  double removed = 0;
  bool parted = false;
  const PartId* mate = MateOf(job.step);
  std::vector<int> before;
  for (const Standing& s : floor) before.push_back(s.piece.steps);
  for (Standing& s : floor) {
    if (!s.present || s.solid_S.empty() || (mate != nullptr && s.part == *mate)) continue;
    Status cut = CutPiece(job, s, removed, findings);
    if (!cut) return cut;
    parted = parted || s.parted_off;
  }
  CheckAllCut(job, floor, before, findings);
  if (removed == 0 && !MayRemoveNothing(job)) {
    findings.Add(job.step.id, Rule::kNoMaterial,
                 fmt::format("the {} takes nothing away", job.tool.words));
  }
  if (job.step.operation == Operation::kPartOff && removed > 0 && !parted) {
    findings.Add(job.step.id, Rule::kPathImpossible,
                 fmt::format("the {} does not get through: nothing comes off", job.tool.words));
  }
  return Ok{};
}

}  // namespace

double RemovalNoise_mm3(double volume_mm3) {
  return std::max(kNoise_mm3, kNoiseShare * volume_mm3);
}

Status RunCut(const SetupView& view, const Step& step, const Tool& tool, Floor& floor,
              Findings& findings) {
  const auto sweeps = MakeSweeps(step, tool, findings);
  if (!sweeps) return Unexpected(sweeps.error());
  const CutJob job{view, step, tool, *sweeps};
  if (!LeavesBlank(step)) {
    Status plunged = CheckHoles(job, floor, findings);
    if (!plunged) return plunged;
  }
  if (const Status stroked = CheckStrokes(job, floor, findings); !stroked) return stroked;
  Status clear = CheckFixturesClear(job, findings);
  if (!clear) return clear;
  if (const Status slender = CheckStickOut(job, floor, findings); !slender) return slender;
  if (LeavesBlank(step)) return RunThread(job, floor, findings);
  Status mate = CheckMate(job, floor, findings);
  if (!mate) return mate;
  Status cut = CutAll(job, floor, findings);
  if (!cut) return cut;
  if (step.operation == Operation::kTap) {
    Status tap = RunTap(job, floor, findings);
    if (!tap) return tap;
  }
  if (step.operation == Operation::kHone) {
    Status hone = RunHone(job, floor);
    if (!hone) return hone;
  }
  return CheckShanks(job, floor, findings);
}

}  // namespace fitwright::replay
