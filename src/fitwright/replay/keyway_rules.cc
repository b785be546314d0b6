// Keyways along bores, slotted by strokes of the lathe's saddle or broached: looked at before the cut, on the
// piece as it stands.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/replay/cutting.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/primitives.h"

namespace fitwright::replay {
namespace {

constexpr double kFree_mm = 0.02;  // a bar or bush of just this clearance goes in
constexpr double kPast_mm = 0.2;   // beyond the stroke's end nothing stands in front of the edge
constexpr double kNone_mm3 = 1e-3;

struct Stroke {
  double edge_mm = 0;  // from the axis
  double low_mm = 0;
  double high_mm = 0;
};

Stroke StrokeOf(const PathPiece& piece) {
  const auto [low, high] = std::minmax({piece.points_S_mm.front().z(), piece.points_S_mm.back().z()});
  return {piece.points_S_mm.front().x(), low, high};
}

Result<double> SharedWith(const Floor& before, const Result<solid::Solid>& body) {
  if (!body) return Unexpected(body.error());
  double shared = 0;
  for (const Standing& s : before) {
    if (!s.present || s.solid_S.empty()) continue;
    const auto volume = solid::CalcCommonVolume_mm3(s.solid_S, *body);
    if (!volume) return Unexpected(volume.error());
    shared += *volume;
  }
  return shared;
}

// The bar with its bit drawn in, or the guide bush.
Status CheckBore(const CutJob& job, const Stroke& stroke, const Floor& before, Findings& findings) {
  const auto shared = SharedWith(before, solid::MakeRing({Vec3::Zero(), Vec3::UnitZ()}, stroke.low_mm, stroke.high_mm, job.tool.diameter_min_mm - kFree_mm, 0));
  if (!shared) return Unexpected(shared.error());
  if (*shared <= kNone_mm3) return Ok{};
  findings.Add(job.step.id, Rule::kNoHoleBefore,
               fmt::format("the {} wants a bore of {} mm all along its stroke", job.tool.words, Millimetres(job.tool.diameter_min_mm)));
  return Ok{};
}

// With the bit at full depth what carries it still goes through the bore.
Status CheckBitHeight(const CutJob& job, const Stroke& stroke, const Floor& before, Findings& findings) {
  const double back = stroke.edge_mm - job.tool.flute_mm;
  const double d = job.tool.kind == ToolKind::kBroach ? 2 * back : job.tool.shank_mm;
  if (d <= 2 * kFree_mm) return Ok{};
  const Vec3 middle(back - d / 2, 0, 0);
  const auto shared = SharedWith(before, solid::MakeRing({middle, Vec3::UnitZ()}, stroke.low_mm, stroke.high_mm, d - kFree_mm, 0));
  if (!shared) return Unexpected(shared.error());
  if (*shared <= kNone_mm3) return Ok{};
  findings.Add(job.step.id, Rule::kToolTooShort,
               fmt::format("the {} cuts {} mm deep, and the seat is deeper", job.tool.words, Millimetres(job.tool.flute_mm)));
  return Ok{};
}

Status CheckRunsOut(const CutJob& job, const PathPiece& piece, const Stroke& stroke, const Floor& before, Findings& findings) {
  const double end = piece.points_S_mm.back().z();
  const double way = end < piece.points_S_mm.front().z() ? -1 : 1;
  const auto [low, high] = std::minmax({end, end + way * kPast_mm});
  const double half = job.tool.width_mm / 2;
  const auto shared = SharedWith(before, solid::MakeBox({{0, -half, low}, {stroke.edge_mm, half, high}}));
  if (!shared) return Unexpected(shared.error());
  if (*shared <= kNone_mm3) return Ok{};
  findings.Add(job.step.id, Rule::kStrokeEndsInside,
               fmt::format("the {} ends its stroke in the metal: the chip has nowhere to go", job.tool.words));
  return Ok{};
}

}  // namespace

Status CheckStrokes(const CutJob& job, const Floor& before, Findings& findings) {
  if (job.tool.kind != ToolKind::kSlottingTool && job.tool.kind != ToolKind::kBroach) return Ok{};
  for (const Sweep& sweep : job.sweeps) {
    const PathPiece& piece = *sweep.piece;
    if (piece.kind != PathKind::kStroke || piece.points_S_mm.size() != 2) continue;
    const Stroke stroke = StrokeOf(piece);
    if (job.step.rpm != 0) {
      findings.Add(job.step.id, Rule::kSpeedNotOnMachine, fmt::format("slotted with the spindle at {:g} rpm: it is locked", job.step.rpm));
    }
    if (const Status s = CheckBore(job, stroke, before, findings); !s) return s;
    if (const Status s = CheckBitHeight(job, stroke, before, findings); !s) return s;
    if (const Status s = CheckRunsOut(job, piece, stroke, before, findings); !s) return s;
    double in_metal = 0;
    for (const Standing& s : before) {
      if (s.present) in_metal = std::max(in_metal, std::min(stroke.high_mm, s.box_S.max_mm.z()) - std::max(stroke.low_mm, s.box_S.min_mm.z()));
    }
    if (in_metal <= job.tool.reach_mm + kFree_mm) continue;
    findings.Add(job.step.id, Rule::kToolTooShort,
                 fmt::format("the bore is {} mm long, the {} goes through {}", Millimetres(in_metal), job.tool.words, Millimetres(job.tool.reach_mm)));
  }
  return Ok{};
}

}  // namespace fitwright::replay
