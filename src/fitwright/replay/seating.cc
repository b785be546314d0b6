#include "fitwright/replay/seating.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/replay/machine_rules.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/primitives.h"

namespace fitwright::replay {
namespace {

constexpr double kZero_mm = 1e-3;
constexpr double kNoise_mm3 = 1e-2;
constexpr double kFar_mm = 2000;
// Interference of a press fit at the middle of its limits stays below this; wrong places do not.
constexpr double kMostInterference_mm = 0.06;
constexpr double kMostGap_mm = 0.05;

void CheckZero(const SetupView& view, const Floor& floor, Findings& findings) {
  if (view.on_bench()) return;
  const Vec3 off = view.setup->zero.point_P_mm - floor.front().X_PS.translation();
  if (off.cwiseAbs().maxCoeff() <= kZero_mm) return;
  findings.AddToSetup(
      Rule::kZeroDisagrees,
      fmt::format("the zero on the sheet is ({}, {}, {}) off the one the cuts start from",
                  Millimetres(off.x()), Millimetres(off.y()), Millimetres(off.z())));
}

// "+z of body": the sheet's words against the pose.
void CheckWayUp(const SetupView& view, const Floor& floor, Findings& findings) {
  const std::string& up = view.setup->up;
  if (view.on_bench() || up.size() < 2 || (up[0] != '+' && up[0] != '-')) return;
  const int axis = up[1] - 'x';
  if (axis < 0 || axis > 2) return;
  const Vec3 said = Vec3::Unit(axis) * (up[0] == '+' ? 1.0 : -1.0);
  if (said.dot(floor.front().X_PS.linear().col(2)) > 1 - 1e-6) return;
  findings.AddToSetup(Rule::kWayUpDisagrees,
                      fmt::format("the sheet says {} up, it stands another way", up.substr(0, 2)));
}

double FarRadius(const Box3& box) {
  const Vec3 far = box.min_mm.cwiseAbs().cwiseMax(box.max_mm.cwiseAbs());
  return far.head<2>().norm();
}

// Whether material of the piece between two heights lies outside a cylinder about the spindle.
Result<bool> ReachesBeyond(const Standing& s, double diameter, double from_z, double to_z) {
  if (s.solid_S.empty() || FarRadius(s.box_S) <= 0.5 * diameter || to_z <= from_z) return false;
  const auto ring = solid::MakeRing({Vec3::Zero(), Vec3::UnitZ()}, from_z, to_z, kFar_mm, diameter);
  if (!ring) return Unexpected(ring.error());
  return solid::Collides(s.solid_S, *ring, kNoise_mm3);
}

// Lowest z that a tool working on the outside goes to: there the cross slide lies under the work.
std::optional<double> LowestOutsideTurning(const SetupView& view) {
  std::optional<double> lowest;
  for (const Step& step : view.setup->steps) {
    const Tool* tool = ToolOf(view, step);
    if (tool == nullptr || tool->diameter_min_mm > 0) continue;
    for (const PathPiece& piece : step.path) {
      if (piece.kind != PathKind::kTurn || piece.points_S_mm.empty()) continue;
      const double low = HeightsOf(piece).first;
      lowest = lowest ? std::min(*lowest, low) : low;
    }
  }
  return lowest;
}

Status CheckSwing(const SetupView& view, const Standing& s, Findings& findings) {
  const MachineTool& m = *view.machine;
  const auto over_bed =
      ReachesBeyond(s, m.swing_mm, s.box_S.min_mm.z() - 1, s.box_S.max_mm.z() + 1);
  if (!over_bed) return Unexpected(over_bed.error());
  if (m.swing_mm > 0 && *over_bed) {
    findings.AddToSetup(Rule::kSwingExceeded, fmt::format("{} does not turn within {} mm",
                                                          s.part.text(), Millimetres(m.swing_mm)));
  }
  const auto lowest = LowestOutsideTurning(view);
  if (m.swing_cross_slide_mm <= 0 || !lowest) return Ok{};
  const auto over_slide =
      ReachesBeyond(s, m.swing_cross_slide_mm, *lowest + 0.5, s.box_S.max_mm.z() + 1);
  if (!over_slide) return Unexpected(over_slide.error());
  if (*over_slide) {
    findings.AddToSetup(Rule::kSwingExceeded,
                        fmt::format("{} does not turn within {} mm over the cross slide",
                                    s.part.text(), Millimetres(m.swing_cross_slide_mm)));
  }
  return Ok{};
}

Status CheckLathe(const SetupView& view, const Standing& s, Findings& findings) {
  if (!view.on_lathe() || !s.present) return Ok{};
  Status swing = CheckSwing(view, s, findings);
  if (!swing) return swing;
  const double length = s.box_S.size_mm().z();
  if (view.machine->between_centres_mm > 0 && length > view.machine->between_centres_mm) {
    findings.AddToSetup(
        Rule::kCapacityExceeded,
        fmt::format("{} is {} mm long, {} takes {}", s.part.text(), Millimetres(length),
                    view.machine->name.text(), Millimetres(view.machine->between_centres_mm)));
  }
  for (const Fixture& f : view.fixtures) {
    if (f.spec->role != FixtureRole::kChuckBody || view.machine->spindle_bore_mm <= 0) continue;
    const auto behind =
        ReachesBeyond(s, view.machine->spindle_bore_mm, s.box_S.min_mm.z() - 1, f.box.min_mm.z());
    if (!behind) return Unexpected(behind.error());
    if (!*behind) continue;
    findings.AddToSetup(Rule::kCapacityExceeded,
                        fmt::format("{} does not go through the {} mm spindle", s.part.text(),
                                    Millimetres(view.machine->spindle_bore_mm)));
  }
  return Ok{};
}

Status CheckOverlap(const Standing& in, const Standing& other, const StepId& step,
                    Findings& findings) {
  if (!Overlap(in.box_S, other.box_S)) return Ok{};
  const auto shared = solid::Common(in.solid_S, other.solid_S);
  if (!shared) return Unexpected(shared.error());
  const double volume = solid::CalcVolume_mm3(*shared);
  if (shared->empty() || volume <= kNoise_mm3) return Ok{};
  const double depth = 2 * volume / solid::CalcArea_mm2(*shared);
  if (depth <= kMostInterference_mm) return Ok{};
  findings.Add(in.part, step, Rule::kPartsOverlap,
               fmt::format("{} and {} share {:.2f} mm3, about {} mm deep", in.part.text(),
                           other.part.text(), volume, Millimetres(depth)));
  return Ok{};
}

}  // namespace

Result<std::vector<Finding>> CheckSeating(const SetupView& view, const Floor& floor) {
  Findings findings(view);
  CheckZero(view, floor, findings);
  CheckWayUp(view, floor, findings);
  for (const Standing& s : floor) {
    Status lathe = CheckLathe(view, s, findings);
    if (!lathe) return Unexpected(lathe.error());
  }
  Status holding = CheckHolding(view, floor, findings);
  if (!holding) return Unexpected(holding.error());
  Status datums = CheckDatums(view, floor, findings);
  if (!datums) return Unexpected(datums.error());
  Status reach = CheckReach(view, floor, findings);
  if (!reach) return Unexpected(reach.error());
  return findings.Take();
}

Status CheckIncoming(const SetupView& view, const Floor& floor, std::size_t incoming,
                     const StepId& step, Findings& findings) {
  const Standing& in = floor[incoming];
  if (in.solid_S.empty()) return Ok{};
  bool touches = false;
  bool alone = true;
  for (std::size_t i = 0; i < floor.size(); ++i) {
    if (i == incoming || !floor[i].present || floor[i].solid_S.empty()) continue;
    alone = false;
    Status overlap = CheckOverlap(in, floor[i], step, findings);
    if (!overlap) return overlap;
    if (touches || !Overlap(Grown(in.box_S, kMostGap_mm), floor[i].box_S)) continue;
    const auto gap = solid::CalcClearance_mm(in.solid_S, floor[i].solid_S);
    if (!gap) return Unexpected(gap.error());
    touches = *gap <= kMostGap_mm;
  }
  if (!touches && !alone) {
    findings.Add(in.part, step, Rule::kPartsApart,
                 fmt::format("{} touches nothing that it is put on", in.part.text()));
  }
  return CheckClearOfHolding(view, in, step, findings);
}

}  // namespace fitwright::replay
