// Rules of plunged cuts, on the pieces as they stand before the cut.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "fitwright/replay/cutting.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/cutters.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/primitives.h"

namespace fitwright::replay {
namespace {

constexpr double kAlike_mm = 0.02;    // two heights or radii alike
constexpr double kRimShare = 0.8;     // of the drill's radius, where its start is felt
constexpr double kEdgeIn_mm = 0.005;  // rays for the surface run this far inside the cutter's edge
constexpr double kPilotFull = 0.05;   // share of a pilot's column that may still be solid
constexpr double kTapFull = 1e-3;     // noise of the same
constexpr double kBarFull = 0.35;     // floors of blind bores are faced by the bar itself
constexpr double kCoreShare = 0.4;    // of a cutter's diameter that does not cut in its middle
constexpr double kThreadRunOut_mm = 1.5;
constexpr double kReamerSet_mm = 0.05;

// Heights at which a ray from above enters and leaves material, over all pieces present,
// descending.
Result<std::vector<double>> CrossingHeights(const Floor& floor, const Vec2& xy) {
  std::vector<double> heights;
  for (const Standing& s : floor) {
    if (!s.present || s.solid_S.empty()) continue;
    if (xy.x() < s.box_S.min_mm.x() || xy.x() > s.box_S.max_mm.x()) continue;
    if (xy.y() < s.box_S.min_mm.y() || xy.y() > s.box_S.max_mm.y()) continue;
    const Vec3 from(xy.x(), xy.y(), s.box_S.max_mm.z() + 1);
    const auto crossings = solid::FindCrossings_mm(s.solid_S, from, -Vec3::UnitZ());
    if (!crossings) return Unexpected(crossings.error());
    for (const double at : *crossings) heights.push_back(from.z() - at);
  }
  std::sort(heights.rbegin(), heights.rend());
  return heights;
}

// Rays down the axis and down four places round it.
struct Column {
  std::vector<double> centre;
  std::array<std::vector<double>, 4> rim;
  // Highest material on the rim; nothing when the rim stands in air.
  std::optional<double> top() const {
    std::optional<double> highest;
    for (const auto& ray : rim) {
      if (!ray.empty()) highest = std::max(highest.value_or(ray.front()), ray.front());
    }
    return highest;
  }
};

Result<Column> LookDown(const Floor& floor, const Vec3& tip, double radius) {
  Column column;
  auto centre = CrossingHeights(floor, tip.head<2>());
  if (!centre) return Unexpected(centre.error());
  column.centre = *centre;
  for (int i = 0; i < 4; ++i) {
    const double angle = 0.3 + i * kPi / 2;  // off the axes, where seams and edges lie
    const Vec2 at = tip.head<2>() + radius * Vec2(std::cos(angle), std::sin(angle));
    auto ray = CrossingHeights(floor, at);
    if (!ray) return Unexpected(ray.error());
    column.rim[static_cast<std::size_t>(i)] = *ray;
  }
  return column;
}

double HighestOf(const Floor& floor) {
  const auto box = BoxOf(floor);
  return box ? box->max_mm.z() : 0;
}

// A drill wants a dimple, a centre or a hole to start in.
void CheckStart(const CutJob& job, const Column& column, const std::string& which,
                Findings& findings) {
  if (job.step.operation != Operation::kDrill || job.tool.kind != ToolKind::kDrill) return;
  if (column.centre.empty()) return;
  for (const auto& ray : column.rim) {
    if (ray.empty() || std::abs(ray.front() - column.centre.front()) > kAlike_mm) return;
  }
  findings.Add(job.step.id, Rule::kDrillWithoutStart,
               fmt::format("the {} starts on a plain face at {}, without spot or hole",
                           job.tool.words, which));
}

bool FlutesCarryChips(ToolKind kind) {
  return kind == ToolKind::kDrill || kind == ToolKind::kSpotDrill ||
         kind == ToolKind::kCentreDrill || kind == ToolKind::kEndMill ||
         kind == ToolKind::kSlotDrill;
}

void CheckFlutes(const CutJob& job, const Column& column, double tip_z, Findings& findings) {
  const auto top = column.top();
  if (!top || !FlutesCarryChips(job.tool.kind)) return;
  const double engaged = *top - tip_z;
  if (engaged <= job.tool.flute_mm + kGeometryNoise_mm) return;
  findings.Add(job.step.id, Rule::kToolTooShort,
               fmt::format("the {} goes {} mm deep with flutes of {}", job.tool.words,
                           Millimetres(engaged), Millimetres(job.tool.flute_mm)));
}

// The sheet's depth is that of the tip, or of the full diameter, below some surface on the way
// down.
bool DepthFits(const CutJob& job, const PathPiece& piece, const Column& column, double tip_z, const std::vector<double>& beside = {}) {
  const double point = solid::CalcPointLength_mm(DiameterOf(job.tool, piece), job.tool.point_deg);
  std::vector<double> surfaces = column.centre;
  for (const auto& ray : column.rim) surfaces.insert(surfaces.end(), ray.begin(), ray.end());
  surfaces.insert(surfaces.end(), beside.begin(), beside.end());
  surfaces.push_back(0);  // the setup's own zero in z
  const bool tap = job.step.operation == Operation::kTap;
  return std::any_of(surfaces.begin(), surfaces.end(), [&](double surface) {
    const double tip = surface - tip_z;
    const double depth = job.step.depth_mm;
    if (tap) {
      const double beyond = tip - depth - job.tool.tip_flat_mm;
      return beyond > -kAlike_mm && beyond < kThreadRunOut_mm;
    }
    return std::abs(tip - depth) <= kAlike_mm || std::abs(tip - point - depth) <= kAlike_mm;
  });
}

// Surfaces just beside the hole along the table's two ways: on round work that lies, its crown, which
// the spot has taken at the hole itself.
Result<std::vector<double>> LookBeside(const Floor& before, const Vec3& tip, double radius) {
  constexpr double kBeside_mm = 0.3;
  std::vector<double> surfaces;
  for (const Vec2& way : {Vec2(1, 0), Vec2(-1, 0), Vec2(0, 1), Vec2(0, -1)}) {
    const auto ray = CrossingHeights(before, tip.head<2>() + (radius + kBeside_mm) * way);
    if (!ray) return Unexpected(ray.error());
    if (!ray->empty()) surfaces.push_back(ray->front());
  }
  return surfaces;
}

// Four rays square to the axis; the radius when they all meet a wall alike.
Result<std::optional<double>> WallRadius(const Standing& s, const Vec3& at) {
  std::optional<double> radius;
  for (int i = 0; i < 4; ++i) {
    const double angle = 0.3 + i * kPi / 2;
    const auto crossings =
        solid::FindCrossings_mm(s.solid_S, at, Vec3(std::cos(angle), std::sin(angle), 0));
    if (!crossings) return Unexpected(crossings.error());
    if (crossings->empty() || crossings->front() < kAlike_mm) return std::optional<double>();
    if (radius && std::abs(*radius - crossings->front()) > kAlike_mm)
      return std::optional<double>();
    radius = crossings->front();
  }
  return radius;
}

struct Walls {
  Standing* piece = nullptr;
  double radius_mm = 0;
  double top_z = 0;
};

// Heights above the tip where a wall is looked for: close by first, then up the piece.
std::vector<double> WallHeights(const Standing& s, double tip_z) {
  const double up = s.box_S.max_mm.z() - tip_z;
  return {1.2, 2.5, 0.3 * up, 0.5 * up, 0.7 * up};
}

// The piece whose hole the tip stands in.
Result<std::optional<Walls>> FindWalls(Floor& floor, const Vec3& tip) {
  for (Standing& s : floor) {
    if (!s.present || s.solid_S.empty()) continue;
    for (const double up : WallHeights(s, tip.z())) {
      const auto radius = WallRadius(s, tip + up * Vec3::UnitZ());
      if (!radius) return Unexpected(radius.error());
      if (!*radius) continue;
      const auto column = LookDown({s}, tip, **radius + kAlike_mm);
      if (!column) return Unexpected(column.error());
      const auto surface = column->top();
      if (surface && *surface > tip.z()) return std::optional<Walls>(Walls{&s, **radius, *surface});
    }
  }
  return std::optional<Walls>();
}

// A chamfer's depth is along the axis, from the surface to where the cone meets the wall of the
// hole.
Result<bool> ChamferDepthFits(const CutJob& job, const PathPiece& piece, Floor before,
                              const Vec3& tip) {
  const auto walls = FindWalls(before, tip);
  if (!walls) return Unexpected(walls.error());
  if (!*walls) return false;
  const auto mouth = LookDown(before, tip, 0.5 * DiameterOf(job.tool, piece) + kAlike_mm);
  if (!mouth) return Unexpected(mouth.error());
  const double cone = solid::CalcPointLength_mm(2 * (*walls)->radius_mm, job.tool.point_deg);
  const double surface = mouth->top().value_or(tip.z());
  return std::abs(surface - tip.z() - cone - job.step.depth_mm) <= kAlike_mm;
}

Status CheckDepth(const CutJob& job, const PathPiece& piece, const Floor& before,
                  const Column& column, const Vec3& tip, Findings& findings) {
  if (job.step.operation == Operation::kSpotThrough) return Ok{};
  Result<bool> fits = DepthFits(job, piece, column, tip.z());
  if (job.step.operation == Operation::kChamfer) fits = ChamferDepthFits(job, piece, before, tip);
  if (!fits) return Unexpected(fits.error());
  if (*fits) return Ok{};
  if (job.step.operation == Operation::kDrill || job.step.operation == Operation::kSpot) {
    const auto beside = LookBeside(before, tip, 0.5 * DiameterOf(job.tool, piece));
    if (!beside) return Unexpected(beside.error());
    if (DepthFits(job, piece, column, tip.z(), *beside)) return Ok{};
  }
  const auto top = column.top();
  findings.Add(job.step.id, Rule::kDepthDisagrees,
               fmt::format("the sheet says {} mm deep, the tip goes {} mm below the surface",
                           Millimetres(job.step.depth_mm),
                           top ? Millimetres(*top - tip.z()) : std::string("an unknown way")));
  return Ok{};
}

// Share of the cylinder on the axis, from the tip up to the highest material, that is solid.
Result<double> SolidShare(const Floor& floor, const Vec3& tip, double diameter) {
  const double top = HighestOf(floor);
  if (top <= tip.z() + kAlike_mm || diameter <= 0) return 0.0;
  const auto core =
      solid::MakeCylinder({tip, Vec3::UnitZ()}, kAlike_mm, top - tip.z() + 1, diameter);
  if (!core) return Unexpected(core.error());
  double shared = 0;
  for (const Standing& s : floor) {
    if (!s.present || s.solid_S.empty()) continue;
    const auto volume = solid::CalcCommonVolume_mm3(s.solid_S, *core);
    if (!volume) return Unexpected(volume.error());
    shared += *volume;
  }
  return shared / (kPi * diameter * diameter / 4 * (top - tip.z()));
}

struct Pilot {
  double diameter_mm = 0;
  double most_full = 0;
};

// Hole that must be there before a tool that cannot cut in its middle.
std::optional<Pilot> PilotOf(const Tool& tool, const PathPiece& piece) {
  const double d = DiameterOf(tool, piece);
  switch (tool.kind) {
    case ToolKind::kReamer:
      return Pilot{0.8 * d, kPilotFull};
    case ToolKind::kHone:
      return Pilot{0.95 * d, kPilotFull};
    case ToolKind::kBoringHead:
    case ToolKind::kBoringBar:
    case ToolKind::kInternalGroovingTool:
      return Pilot{0.98 * tool.diameter_min_mm, kBarFull};
    case ToolKind::kCounterbore:
      return Pilot{0.9 * tool.diameter_min_mm, kBarFull};
    default:
      return std::nullopt;
  }
}

Status CheckPilot(const CutJob& job, const Floor& before, const PathPiece& piece,
                  Findings& findings) {
  const auto pilot = PilotOf(job.tool, piece);
  if (!pilot || pilot->diameter_mm <= 0) return Ok{};
  std::vector<Vec3> tips = piece.points_S_mm;
  if (piece.kind == PathKind::kTurn) tips = {Vec3(0, 0, HeightsOf(piece).first)};
  for (const Vec3& tip : tips) {
    const auto share = SolidShare(before, tip, pilot->diameter_mm);
    if (!share) return Unexpected(share.error());
    if (*share <= pilot->most_full) continue;
    findings.Add(job.step.id, Rule::kNoHoleBefore,
                 fmt::format("the {} needs a hole of about {} mm first; {:.0f} % of it is solid",
                             job.tool.words, Millimetres(pilot->diameter_mm), 100 * *share));
    return Ok{};
  }
  return Ok{};
}

bool CutsItsMiddle(const Tool& tool) {
  const bool mill = tool.kind == ToolKind::kEndMill || tool.kind == ToolKind::kFlyCutter;
  return !mill || tool.centre_cutting;
}

// Where the cutter comes straight down.
std::vector<Vec3> Plunges(const PathPiece& piece) {
  const auto& points = piece.points_S_mm;
  if (piece.kind == PathKind::kPlunge) return points;
  if (piece.kind != PathKind::kMill) return {};
  std::vector<Vec3> down = {points.front()};
  for (std::size_t i = 1; i < points.size(); ++i) {
    const bool upright = (points[i] - points[i - 1]).head<2>().norm() < kGeometryNoise_mm;
    if (upright && points[i].z() < points[i - 1].z()) down.push_back(points[i]);
  }
  return down;
}

Status CheckCentre(const CutJob& job, Floor before, Findings& findings) {
  if (CutsItsMiddle(job.tool)) return Ok{};
  for (const Sweep& sweep : job.sweeps) {
    for (const Vec3& tip : Plunges(*sweep.piece)) {
      const auto share = SolidShare(before, tip, kCoreShare * DiameterOf(job.tool, *sweep.piece));
      if (!share) return Unexpected(share.error());
      if (*share <= kPilotFull) continue;
      findings.Add(job.step.id, Rule::kPlungeNotCentreCutting,
                   fmt::format("the {} does not cut in its middle and is plunged into solid",
                               job.tool.words));
      return Ok{};
    }
    for (Standing& s : before) {  // the next piece of the path finds this one's room
      if (!s.present || s.solid_S.empty()) continue;
      const auto left = solid::Cut(s.solid_S, sweep.cutters);
      if (!left) return Unexpected(left.error());
      s.solid_S = *left;
    }
  }
  return Ok{};
}

// Reach of lathe bars: what goes into the work, up to its end.
void CheckBarReach(const CutJob& job, const Floor& before, const PathPiece& piece,
                   Findings& findings) {
  const bool inside = job.tool.diameter_min_mm > 0 && piece.kind == PathKind::kTurn;
  const double reach =
      job.tool.kind == ToolKind::kBoringBar ? job.tool.reach_mm : job.tool.stick_out_mm;
  if (!inside || reach <= 0) return;
  const double in = HighestOf(before) - HeightsOf(piece).first;
  if (in <= reach + kGeometryNoise_mm) return;
  findings.Add(job.step.id, Rule::kToolTooShort,
               fmt::format("the {} goes {} mm in and stands {} mm out", job.tool.words,
                           Millimetres(in), Millimetres(reach)));
}

void CheckSet(const CutJob& job, const PathPiece& piece, Findings& findings) {
  const double set = piece.set_diameter_mm;
  const double own = job.tool.diameter_mm;
  if (set <= 0 || own <= 0 || SetsItsDiameter(job.tool)) return;
  // A fixed cutter stands for the middle of the limits it makes: half of ISO 2768-1 class m at
  // most.
  const double most = job.tool.kind == ToolKind::kReamer ? kReamerSet_mm
                      : own <= 6                         ? 0.1
                      : own <= 30                        ? 0.2
                                                         : 0.3;
  if (std::abs(set - own) <= most + kGeometryNoise_mm) return;
  findings.Add(job.step.id, Rule::kPathImpossible,
               fmt::format("the {} does not cut {} mm", job.tool.words, Millimetres(set)));
}

Status CheckPlunges(const CutJob& job, const Floor& before, const PathPiece& piece,
                    Findings& findings) {
  const double radius = 0.5 * DiameterOf(job.tool, piece);
  for (std::size_t i = 0; i < piece.points_S_mm.size(); ++i) {
    const Vec3& tip = piece.points_S_mm[i];
    const bool drilled = job.step.operation == Operation::kDrill;
    const bool deep =
        HighestOf(before) - tip.z() > job.tool.flute_mm && FlutesCarryChips(job.tool.kind);
    const bool other_height =
        i == 0 || std::abs(tip.z() - piece.points_S_mm[i - 1].z()) > kGeometryNoise_mm;
    if (!drilled && !deep && !other_height) continue;
    const auto edge = LookDown(before, tip, std::max(0.5 * radius, radius - kEdgeIn_mm));
    if (!edge) return Unexpected(edge.error());
    if (other_height) {
      Status depth = CheckDepth(job, piece, before, *edge, tip, findings);
      if (!depth) return depth;
    }
    if (deep) CheckFlutes(job, *edge, tip.z(), findings);
    if (!drilled) continue;
    const auto start = LookDown(before, tip, kRimShare * radius);
    if (!start) return Unexpected(start.error());
    CheckStart(job, *start, fmt::format("place {}", i + 1), findings);
  }
  return Ok{};
}

// What is wrong with the hole that the tap is to go into; empty when nothing is.
Result<std::string> TapTrouble(const CutJob& job, const std::optional<Walls>& walls,
                               const Vec3& tip) {
  const std::string& tap = job.tool.words;
  if (!walls) {
    return fmt::format("no hole for the {} at ({}, {})", tap, Millimetres(tip.x()),
                       Millimetres(tip.y()));
  }
  const double wide = 2 * walls->radius_mm;
  if (wide < kLeastTap * job.tool.diameter_mm || wide > kMostTap * job.tool.diameter_mm) {
    return fmt::format("the hole for the {} is {} mm wide", tap, Millimetres(wide));
  }
  const auto full = SolidShare({*walls->piece}, tip, kLeastTap * job.tool.diameter_mm);
  if (!full) return Unexpected(full.error());
  if (*full > kTapFull) return fmt::format("the {} strikes the bottom of the hole", tap);
  return std::string();
}

Status TapOne(const CutJob& job, Floor& floor, const Vec3& tip, Findings& findings) {
  const auto walls = FindWalls(floor, tip);
  if (!walls) return Unexpected(walls.error());
  const auto trouble = TapTrouble(job, *walls, tip);
  if (!trouble) return Unexpected(trouble.error());
  if (!trouble->empty()) {
    const PartId& part = *walls ? (*walls)->piece->part : job.view.first();
    findings.Add(part, job.step.id, Rule::kTapHoleMissing, *trouble);
    return Ok{};
  }
  Standing& s = *(*walls)->piece;
  Thread thread;
  thread.entry_P_mm = s.X_PS * Vec3(tip.x(), tip.y(), (*walls)->top_z);
  thread.into_P = -s.X_PS.linear().col(2);
  thread.designation = job.tool.thread;
  thread.depth_mm = (*walls)->top_z - tip.z() - job.tool.tip_flat_mm;
  KeepThread(job, thread, s, findings);
  return Ok{};
}

}  // namespace

void KeepThread(const CutJob& job, const Thread& thread, Standing& s, Findings& findings) {
  for (const Thread& t : s.piece.threads) {
    const bool same_place = (t.entry_P_mm - thread.entry_P_mm).norm() < kAlike_mm;
    if (!same_place || t.designation != thread.designation) continue;
    if (t.depth_mm < thread.depth_mm - kAlike_mm) continue;
    findings.Add(s.part, job.step.id, Rule::kNoMaterial,
                 fmt::format("the {} goes into a thread that is there already", job.tool.words));
  }
  s.piece.threads.push_back(thread);
  KeyMaker key;
  key.Add(s.piece.key).Add("thread").Add(thread.entry_P_mm).Add(thread.into_P);
  s.piece.key = key.Add(thread.designation).Add(thread.depth_mm).Get();
  s.changed = true;
  ++s.piece.steps;
}

Status CheckHoles(const CutJob& job, const Floor& before, Findings& findings) {
  for (const Sweep& sweep : job.sweeps) {
    CheckSet(job, *sweep.piece, findings);
    CheckBarReach(job, before, *sweep.piece, findings);
    Status pilot = CheckPilot(job, before, *sweep.piece, findings);
    if (!pilot) return pilot;
    if (sweep.piece->kind != PathKind::kPlunge) continue;
    Status plunges = CheckPlunges(job, before, *sweep.piece, findings);
    if (!plunges) return plunges;
  }
  return CheckCentre(job, before, findings);
}

Status RunTap(const CutJob& job, Floor& floor, Findings& findings) {
  for (const PathPiece& piece : job.step.path) {
    for (const Vec3& tip : piece.points_S_mm) {
      Status tapped = TapOne(job, floor, tip, findings);
      if (!tapped) return tapped;
    }
  }
  return Ok{};
}

Status RunHone(const CutJob& job, Floor& floor) {
  for (const PathPiece& piece : job.step.path) {
    for (const Vec3& tip : piece.points_S_mm) {
      const auto walls = FindWalls(floor, tip);
      if (!walls) return Unexpected(walls.error());
      if (!*walls) continue;
      Standing& s = *(*walls)->piece;
      Honed honed;
      honed.point_P_mm = s.X_PS * Vec3(tip.x(), tip.y(), (*walls)->top_z);
      honed.into_P = -s.X_PS.linear().col(2);
      honed.diameter_mm = 2 * (*walls)->radius_mm;
      s.piece.honed.push_back(honed);
      s.piece.key = KeyMaker()
                        .Add(s.piece.key)
                        .Add("honed")
                        .Add(honed.point_P_mm)
                        .Add(honed.into_P)
                        .Add(honed.diameter_mm)
                        .Get();
      s.changed = true;
      ++s.piece.steps;
    }
  }
  return Ok{};
}

}  // namespace fitwright::replay
