#include "fitwright/replay/machine_rules.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

namespace fitwright::replay {
namespace {

constexpr double kSameSpeed_rpm = 0.5;
// Height kept above the work for changing a tool without moving the table, opinion.
constexpr double kToolChangeRoom_mm = 5;
constexpr double kDepth_mm = 0.005;  // depths are printed to a hundredth

struct Range {
  double low = std::numeric_limits<double>::infinity();
  double high = -std::numeric_limits<double>::infinity();
  void Take(double value) {
    low = std::min(low, value);
    high = std::max(high, value);
  }
  double span() const { return high < low ? 0 : high - low; }
};

// Where the spindle (lathe: the slides) goes in the setup, so far.
struct Reached {
  Range x;
  Range y;
  Range z;
  bool said_x = false;
  bool said_y = false;
  bool said_z = false;
  bool said_daylight = false;
};

bool GoesOn(const Tool& tool, const MachineTool& machine) {
  if (tool.on == "any" || tool.on == "hand") return true;
  if (tool.on == "lathe") return machine.kind == MachineToolKind::kLathe;
  return machine.kind == MachineToolKind::kMill || machine.kind == MachineToolKind::kDrillPress;
}

// A slotting tool by the lathe's saddle, a broach by the press on the bench.
bool Strokes(const Tool& tool, const SetupView& view) {
  return tool.kind == ToolKind::kSlottingTool ? view.on_lathe() : tool.kind == ToolKind::kBroach && view.on_bench();
}

void CheckTool(const SetupView& view, const Step& step, const Tool* tool, Findings& findings) {
  if (tool == nullptr) {
    if (step.tool.empty() && step.path.empty() && !IsCutting(step.operation)) return;
    findings.Add(step.id, Rule::kToolUnknown,
                 step.tool.empty() ? "a cut without a tool"
                                   : fmt::format("the shop has no tool \"{}\"", step.tool.text()));
    return;
  }
  if (!GoesOn(*tool, *view.machine)) {
    findings.Add(step.id, Rule::kToolUnknown,
                 fmt::format("the {} does not go on {}", tool->words, view.machine->name.text()));
  }
  for (const PathPiece& piece : step.path) {
    const bool turn = piece.kind == PathKind::kTurn;
    const bool mill = piece.kind == PathKind::kMill;
    const bool by_hand = piece.kind == PathKind::kCutAround || piece.kind == PathKind::kCutOut;
    if ((turn && !view.on_lathe()) || (mill && view.machine->kind != MachineToolKind::kMill) ||
        (by_hand && !view.on_bench()) || (piece.kind == PathKind::kStroke && !Strokes(*tool, view))) {
      findings.Add(step.id, Rule::kPathImpossible,
                   fmt::format("{} cannot follow a path of the kind \"{}\"",
                               view.machine->name.text(), WordOf(piece.kind)));
    }
    const double set = piece.set_diameter_mm;
    if (set > 0 && SetsItsDiameter(*tool) &&
        (set > tool->diameter_mm + kGeometryNoise_mm ||
         set < tool->diameter_min_mm - kGeometryNoise_mm)) {
      findings.Add(step.id, Rule::kPathImpossible,
                   fmt::format("the {} sets from {} to {} mm, not to {}", tool->words,
                               Millimetres(tool->diameter_min_mm), Millimetres(tool->diameter_mm),
                               Millimetres(set)));
    }
  }
}

bool ByHand(const Step& step, const Tool& tool) {
  return tool.on == "hand" || step.operation == Operation::kTap || tool.kind == ToolKind::kDie ||
         step.operation == Operation::kHone || step.operation == Operation::kByHand ||
         step.operation == Operation::kSaw || step.operation == Operation::kShape;
}

void CheckSpeed(const SetupView& view, const Step& step, const Tool& tool, Findings& findings) {
  const MachineTool& machine = *view.machine;
  if (step.path.empty() || view.on_bench()) return;
  const bool listed =
      std::any_of(machine.speeds_rpm.begin(), machine.speeds_rpm.end(),
                  [&](double rpm) { return std::abs(rpm - step.rpm) <= kSameSpeed_rpm; });
  if (!listed && !(step.rpm == 0 && ByHand(step, tool))) {
    findings.Add(step.id, Rule::kSpeedNotOnMachine,
                 fmt::format("{} has no speed of {:g} rpm", machine.name.text(), step.rpm));
  }
  if (tool.rpm_max > 0 && step.rpm > tool.rpm_max + kSameSpeed_rpm) {
    findings.Add(
        step.id, Rule::kSpeedNotOnMachine,
        fmt::format("{:g} rpm is over the {}'s limit of {:g}", step.rpm, tool.words, tool.rpm_max));
  }
  if (machine.feed_max_mm_min > 0 && step.feed_mm_min > machine.feed_max_mm_min) {
    findings.Add(step.id, Rule::kFeedExceeded,
                 fmt::format("{:g} mm/min is over {}'s {:g}", step.feed_mm_min, machine.name.text(),
                             machine.feed_max_mm_min));
  }
}

void CheckBar(const Step& step, const Tool& tool, Findings& findings) {
  const bool bar = tool.kind == ToolKind::kBoringBar || tool.kind == ToolKind::kBoringHead;
  if (!bar || tool.shank_mm <= 0) return;
  const double out = tool.reach_mm > 0 ? tool.reach_mm : tool.stick_out_mm;
  if (out <= kMostBarOut_diameters * tool.shank_mm + kGeometryNoise_mm) return;
  findings.Add(step.id, Rule::kBarTooSlender,
               fmt::format("the {} stands {} mm out, more than {:g} times its {} mm", tool.words,
                           Millimetres(out), kMostBarOut_diameters, Millimetres(tool.shank_mm)));
}

Vec3 Reading(const MachineTool& machine, const Vec3& p_S) {
  const double x =
      machine.x_reads_diameter && machine.kind == MachineToolKind::kLathe ? 2 * p_S.x() : p_S.x();
  return {machine.x_sense * x, machine.y_sense * p_S.y(), machine.z_sense * p_S.z()};
}

// A slanting edge in the boring head has no point: it reads from where it meets the rim.
double TouchHeight(const Step& step, const Tool* tool, const PathPiece& piece) {
  const bool set = tool != nullptr && tool->kind == ToolKind::kChamferMill &&
                   tool->diameter_min_mm > 0 && piece.set_diameter_mm > 0;
  return set ? piece.set_diameter_mm / 2 - step.depth_mm : 0;
}

void CheckReadings(const SetupView& view, const Step& step, const Tool* tool, Findings& findings) {
  std::vector<Vec3> points;
  for (const PathPiece& piece : step.path) {
    if (piece.kind == PathKind::kSaw) continue;
    const double touch = TouchHeight(step, tool, piece);
    for (std::size_t i = 0; i < piece.points_S_mm.size(); ++i)
      points.push_back(UnderSpindle(piece, i) + Vec3(0, 0, touch));
  }
  if (view.on_bench()) return;
  if (points.size() != step.coordinates.size()) {
    findings.Add(
        step.id, Rule::kCoordinatesDisagree,
        fmt::format("{} dial readings for {} places", step.coordinates.size(), points.size()));
    return;
  }
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Coordinate& c = step.coordinates[i];
    const Vec3 off = Vec3(c.x_mm, c.y_mm, c.z_mm) - Reading(*view.machine, points[i]);
    if (off.cwiseAbs().maxCoeff() <= kDial_mm + kGeometryNoise_mm) continue;
    findings.Add(
        step.id, Rule::kCoordinatesDisagree,
        fmt::format("place {} reads X {:.3f} Y {:.3f} Z {:.3f}, which is ({:.3f}, {:.3f}, {:.3f}) "
                    "off the path",
                    c.hole, c.x_mm, c.y_mm, c.z_mm, off.x(), off.y(), off.z()));
    return;
  }
}

void CheckLevels(const Step& step, Findings& findings) {
  if (step.levels_mm.empty() || std::abs(step.levels_mm.back() - step.depth_mm) <= kDepth_mm)
    return;
  findings.Add(step.id, Rule::kDepthDisagrees,
               fmt::format("the last pass stands at {} mm, the depth is {}",
                           Millimetres(step.levels_mm.back()), Millimetres(step.depth_mm)));
}

double AboveTip(const SetupView& view, const Tool& tool) {
  return view.on_lathe() ? 0 : tool.stick_out_mm + tool.holder_length_mm;
}

void CheckTravel(const SetupView& view, const Step& step, const Tool& tool, Reached& reached,
                 Findings& findings) {
  const MachineTool& machine = *view.machine;
  for (const PathPiece& piece : step.path) {
    if (piece.kind == PathKind::kSaw || piece.points_S_mm.empty()) continue;
    for (std::size_t i = 0; i < piece.points_S_mm.size(); ++i) {
      const Vec3 p = UnderSpindle(piece, i);
      reached.x.Take(p.x());
      reached.y.Take(p.y());
      reached.z.Take(p.z() + AboveTip(view, tool));
    }
    if (piece.kind == PathKind::kPlunge) reached.z.Take(piece.from_z_mm + AboveTip(view, tool));
  }
  const auto check = [&](const Range& range, double travel, const char* axis, bool& said) {
    if (said || travel <= 0 || range.span() <= travel + kGeometryNoise_mm) return;
    said = true;
    findings.Add(
        step.id, Rule::kTravelExceeded,
        fmt::format("the setup goes {} mm along {}, {} travels {}", Millimetres(range.span()), axis,
                    machine.name.text(), Millimetres(travel)));
  };
  check(reached.x, machine.travel_mm.x(), "x", reached.said_x);
  check(reached.y, machine.travel_mm.y(), "y", reached.said_y);
  check(reached.z, machine.travel_mm.z() > 0 ? machine.travel_mm.z() + machine.quill_mm : 0, "z",
        reached.said_z);
}

void CheckDaylight(const SetupView& view, const Step& step, Reached& reached, Findings& findings) {
  const double daylight = view.machine->daylight_mm;
  if (daylight <= 0 || reached.said_daylight || reached.z.span() < 0 ||
      !std::isfinite(reached.z.high))
    return;
  for (const Fixture& fixture : view.fixtures) {
    if (fixture.spec->role != FixtureRole::kTable) continue;
    const double need = reached.z.high + kToolChangeRoom_mm - fixture.box.max_mm.z();
    if (need <= daylight) continue;
    reached.said_daylight = true;
    findings.Add(step.id, Rule::kDaylightExceeded,
                 fmt::format("spindle, tool and work need {} mm above the table, {} has {}",
                             Millimetres(need), view.machine->name.text(), Millimetres(daylight)));
  }
}

}  // namespace

const Tool* ToolOf(const SetupView& view, const Step& step) {
  return step.tool.empty() ? nullptr : view.shop->Find(step.tool);
}

bool IsCutting(Operation operation) {
  switch (operation) {
    case Operation::kAssemble:
    case Operation::kTakeApart:
    case Operation::kMeasure:
    case Operation::kDeburr:
    case Operation::kWash:
    case Operation::kByHand:
    case Operation::kMark:
    case Operation::kBond:
    case Operation::kCure:
    case Operation::kTrial:
      return false;
    default:
      return true;
  }
}

std::vector<Finding> CheckMachineUse(const SetupView& view) {
  Findings findings(view);
  Reached reached;
  CheckAngle(view, findings);
  CheckRotaryTable(view, findings);
  for (const Step& step : view.setup->steps) {
    const Tool* tool = ToolOf(view, step);
    CheckTool(view, step, tool, findings);
    if (IsCutting(step.operation) && step.path.empty()) {
      findings.Add(step.id, Rule::kNoPath,
                   fmt::format("{} without a path", WordOf(step.operation)));
    }
    CheckReadings(view, step, tool, findings);
    CheckTurning(view, step, findings);
    CheckLevels(step, findings);
    if (tool == nullptr) continue;
    CheckSpeed(view, step, *tool, findings);
    CheckBar(step, *tool, findings);
    CheckTravel(view, step, *tool, reached, findings);
    CheckDaylight(view, step, reached, findings);
  }
  return findings.Take();
}

void CheckBalance(const SetupView& view, const Floor& floor, Findings& findings) {
  if (!view.on_lathe() || floor.empty()) return;
  const double off = floor.front().box_S.centre_mm().head<2>().norm();
  if (off <= kBalanced_mm) return;
  for (const Step& step : view.setup->steps) {
    if (step.rpm <= kMostUnbalanced_rpm) continue;
    findings.Add(step.id, Rule::kSpeedNotOnMachine,
                 fmt::format("{:g} rpm with the middle of {} {} mm off the spindle: at most {:g}", step.rpm, view.first().text(),
                             Millimetres(off), kMostUnbalanced_rpm));
  }
}

}  // namespace fitwright::replay
