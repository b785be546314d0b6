// Threads and knurls on the outside: nothing is taken away, but the blank must be there and what cuts it
// must clear everything else.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/replay/cutting.h"
#include "fitwright/replay/machine_rules.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/cutters.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/primitives.h"
#include "fitwright/trade/threads.h"

namespace fitwright::replay {
namespace {

constexpr double kBeside_mm = 0.05;     // tools stand this far off the blank when looked at for collisions
constexpr double kRuns_mm3 = 0.05;      // into a shoulder: more than this is seen
constexpr double kBlankDepth = 0.1;     // share of the diameter whose outermost ring is looked at
constexpr double kBlankFull = 0.75;     // share of that ring that is there: 0.15 under size at M8
constexpr double kLead_pitches = 2;     // of the end, where the blank has its lead chamfer
constexpr double kSameAngle_deg = 0.25;
constexpr double kDieDepth_mm = 0.05;
constexpr double kPointDepth = 0.05;    // share of the depth
constexpr double kLeadBehind = 0.5;     // of a die's lead: its other face, turned to a shoulder (from memory)
constexpr double kLeastStarted = 0.5;   // of the length, that a die has cut before it is turned round
constexpr double kSamePitch = 0.01;     // feeds are printed to a tenth

struct Band {
  double low = 0;
  double high = 0;
  double diameter_mm = 0;
};

// A single point in a hole.
bool Inside(const CutJob& job) { return job.tool.kind == ToolKind::kThreadingTool && job.tool.diameter_min_mm > 0; }

// The length along the spindle's axis that the step works on.
Band BandOf(const CutJob& job, const Standing& s) {
  Band band;
  const PathPiece& piece = job.step.path.front();
  band.low = HeightsOf(piece).first;
  band.high = std::min(HeightsOf(piece).second, s.box_S.max_mm.z());
  band.diameter_mm = 2 * piece.points_S_mm.front().x();
  if (job.tool.kind == ToolKind::kDie) {
    const bool turned = job.step.path.size() > 1;  // the second run is with its other face
    band.low = HeightsOf(job.step.path.back()).first + (turned ? kLeadBehind : 1) * job.tool.tip_flat_mm;
    band.high = s.box_S.max_mm.z();
    band.diameter_mm = job.tool.diameter_mm;
  } else if (job.tool.kind == ToolKind::kKnurlingTool) {
    band.high = std::min(HeightsOf(piece).second + job.tool.width_mm, s.box_S.max_mm.z());
  }
  return band;
}

double PitchOf(const Step& step) { return step.rpm > 0 ? step.feed_mm_min / step.rpm : 0; }

// What is cut, in words that the design's own can be held against.
std::string NameOf(const CutJob& job, const Band& band) {
  if (job.tool.kind == ToolKind::kDie) return "outside " + job.tool.thread;
  if (job.tool.kind == ToolKind::kKnurlingTool) return fmt::format("knurl {:g}", job.tool.pitch_mm);
  double pitch = PitchOf(job.step);
  for (const double own : job.view.machine->pitches_mm) {
    if (std::abs(own - pitch) <= kSamePitch * own) pitch = own;
  }
  return PointThreadName(Inside(job), std::round(100 * band.diameter_mm) / 100, pitch, job.tool.point_deg);
}

// A die turned round starts no thread: it goes on where the first run ended.
void CheckTurnedRound(const CutJob& job, const Band& band, Findings& findings) {
  if (job.tool.kind != ToolKind::kDie || job.step.path.size() < 2) return;
  const double first = HeightsOf(job.step.path.front()).first + job.tool.tip_flat_mm;
  if (job.step.path.size() == 2 && band.high - first >= kLeastStarted * (band.high - band.low)) return;
  findings.Add(job.step.id, Rule::kPathImpossible, fmt::format("the {} turned round has no thread to follow", job.tool.words));
}

Status CheckBeside(const CutJob& job, const PathPiece& path, const Floor& floor, Findings& findings) {
  PathPiece beside = path;
  const double off = job.tool.kind == ToolKind::kDie ? 0 : Inside(job) ? -kBeside_mm : kBeside_mm;
  for (Vec3& p : beside.points_S_mm) p.x() += off;
  Tool tool = job.tool;
  if (tool.kind == ToolKind::kDie) tool.diameter_mm += 2 * kBeside_mm;
  const auto room = solid::MakeSweptCutter(tool, beside);
  if (!room) return Unexpected(room.error());
  for (const Standing& s : floor) {
    if (!s.present || s.solid_S.empty()) continue;
    double shared = 0;
    for (const solid::Solid& body : *room) {
      const auto volume = solid::CalcCommonVolume_mm3(s.solid_S, body);
      if (!volume) return Unexpected(volume.error());
      shared += *volume;
    }
    if (shared <= kRuns_mm3) continue;
    findings.Add(s.part, job.step.id, Rule::kHolderCollision,
                 fmt::format("the {} runs {:.2f} mm3 into {}", job.tool.words, shared, s.part.text()));
  }
  return Ok{};
}

Result<bool> BlankStands(const Standing& s, const Band& band, double lead, bool inside) {
  const double top = band.high - lead;
  if (top <= band.low) return false;
  const double wide = (inside ? 1 + kBlankDepth : 1) * band.diameter_mm;
  const auto ring = solid::MakeRing({Vec3::Zero(), Vec3::UnitZ()}, band.low, top, wide, wide - kBlankDepth * band.diameter_mm);
  if (!ring) return Unexpected(ring.error());
  const auto shared = solid::CalcCommonVolume_mm3(s.solid_S, *ring);
  if (!shared) return Unexpected(shared.error());
  return *shared >= kBlankFull * solid::CalcVolume_mm3(*ring);
}

// Wheels may hang over a smaller diameter beside what they roll: the band that stands under them.
Result<Band> Rolled(const Standing& s, Band band) {
  constexpr double kLook_mm = 0.05;
  double good = band.low;
  double bad = band.high;
  while (bad - good > kLook_mm) {
    Band tried = band;
    tried.high = 0.5 * (good + bad);
    const auto stands = BlankStands(s, tried, 0, false);
    if (!stands) return Unexpected(stands.error());
    (*stands ? good : bad) = tried.high;
  }
  band.high = good;
  return band;
}

void CheckPitch(const CutJob& job, Findings& findings) {
  if (job.tool.kind != ToolKind::kThreadingTool) return;
  const double pitch = PitchOf(job.step);
  const auto& own = job.view.machine->pitches_mm;
  if (std::any_of(own.begin(), own.end(), [&](double p) { return std::abs(p - pitch) <= kSamePitch * p; })) return;
  findings.Add(job.step.id, Rule::kFeedExceeded,
               fmt::format("{} has no change wheels for a pitch of {}", job.view.machine->name.text(), Millimetres(pitch)));
}

// Of the tables' threads of this pitch and the point's angle, the depth nearest to the sheet's; 0 where there is none.
double FormDepth_mm(const CutJob& job) {
  double nearest = 0;
  for (const trade::ThreadRow* row : trade::AllThreads()) {
    if (std::abs(row->pitch_mm - PitchOf(job.step)) > kSamePitch * row->pitch_mm) continue;
    if (std::abs(trade::IncludedAngle_deg(*row) - job.tool.point_deg) > kSameAngle_deg) continue;
    const double depth = trade::PointDepth_mm(*row, Inside(job));
    if (nearest == 0 || std::abs(depth - job.step.depth_mm) < std::abs(nearest - job.step.depth_mm)) nearest = depth;
  }
  return nearest;
}

// A die's depth is the length of full thread, a single point's the thread's own.
void CheckDepth(const CutJob& job, const Band& band, Findings& findings) {
  if (job.tool.kind == ToolKind::kKnurlingTool) return;
  const bool die = job.tool.kind == ToolKind::kDie;
  const double wanted = die ? band.high - band.low : FormDepth_mm(job);
  if (std::abs(job.step.depth_mm - wanted) <= (die ? kDieDepth_mm : kPointDepth * wanted)) return;
  findings.Add(job.step.id, Rule::kDepthDisagrees,
               fmt::format("the sheet says {} mm for the thread, the {} makes {}", Millimetres(job.step.depth_mm), job.tool.words,
                           Millimetres(wanted)));
}

}  // namespace

Status RunThread(const CutJob& job, Floor& floor, Findings& findings) {
  if (job.step.path.empty() || job.step.path.front().points_S_mm.empty() || floor.empty()) return Ok{};
  Standing& s = floor.front();
  CheckPitch(job, findings);
  CheckDepth(job, BandOf(job, s), findings);
  Band band = BandOf(job, s);
  const bool knurl = job.tool.kind == ToolKind::kKnurlingTool;
  const double pitch = job.tool.kind == ToolKind::kDie ? 0.5 * job.tool.tip_flat_mm : PitchOf(job.step);
  auto stands = BlankStands(s, band, knurl ? 0 : kLead_pitches * pitch, Inside(job));
  if (!stands) return Unexpected(stands.error());
  if (knurl && !*stands) {
    const auto rolled = Rolled(s, band);
    if (!rolled) return Unexpected(rolled.error());
    stands = rolled->high > band.low;
    band = *rolled;
  }
  if (!*stands) {
    findings.Add(s.part, job.step.id, Rule::kBlankMissing,
                 fmt::format("there is no blank of {} mm under the {}", Millimetres(band.diameter_mm), job.tool.words));
    return Ok{};
  }
  for (const PathPiece& path : job.step.path) {
    if (Status beside = CheckBeside(job, path, floor, findings); !beside) return beside;
  }
  CheckTurnedRound(job, band, findings);
  Thread thread;
  thread.entry_P_mm = s.X_PS * Vec3(0, 0, band.high);
  thread.into_P = -s.X_PS.linear().col(2);
  thread.designation = NameOf(job, band);
  thread.depth_mm = band.high - band.low;
  KeepThread(job, thread, s, findings);
  return Ok{};
}

}  // namespace fitwright::replay
