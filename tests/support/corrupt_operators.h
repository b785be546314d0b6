// The operators of corrupt.h; included there.
#pragma once

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "fitwright/replay/machine_rules.h"
#include "tests/support/corrupt.h"

namespace fitwright::corrupt {
namespace detail {

struct Maker {
  const Shop& shop;
  const Plan& plan;
  const Receiver& give;
  void Give(const char* fault, const std::string& where, Plan spoiled, bool must) const {
    give({fault, where, std::move(spoiled), shop, must});
  }
  void GiveShop(const char* fault, const std::string& where, Plan spoiled, Shop poor) const {
    give({fault, where, std::move(spoiled), std::move(poor), true});
  }
};

inline bool Cuts(const Step& step) { return !step.path.empty(); }
inline bool IsPlunge(const Step& step) {
  return Cuts(step) && step.path.front().kind == PathKind::kPlunge;
}

inline void MoveFixture(FixtureSolid& fixture, const Vec3& by) {
  if (auto* box = std::get_if<FixtureBox>(&fixture.shape)) {
    box->X_SF.pretranslate(by);
  } else {
    std::get<FixtureCylinder>(fixture.shape).axis_S.point_mm += by;
  }
}

inline Box3 PlainBox(const FixtureSolid& fixture) {
  const auto& box = std::get<FixtureBox>(fixture.shape);
  const Vec3 c = box.X_SF * box.box_F.centre_mm();
  const Vec3 half = box.X_SF.linear().cwiseAbs() * (0.5 * box.box_F.size_mm());
  return {c - half, c + half};
}

// Moves every point of the step's path, and the dial readings with it (lathe x may read the
// diameter).
inline void MovePath(const Shop& shop, const Setup& setup, Step& step,
                     const std::function<Vec3(const Vec3&)>& move) {
  const MachineTool* machine = shop.Find(setup.machine);
  const bool doubles =
      machine != nullptr && machine->x_reads_diameter && machine->kind == MachineToolKind::kLathe;
  std::size_t at = 0;
  for (PathPiece& piece : step.path) {
    for (std::size_t i = 0; i < piece.points_S_mm.size(); ++i) {
      piece.points_S_mm[i] = move(piece.points_S_mm[i]);
      const Vec3 p = replay::UnderSpindle(piece, i);
      if (piece.kind == PathKind::kSaw || at >= step.coordinates.size() || machine == nullptr)
        continue;
      Coordinate& c = step.coordinates[at++];
      c.x_mm = machine->x_sense * (doubles ? 2 * p.x() : p.x());
      c.y_mm = machine->y_sense * p.y();
      c.z_mm = machine->z_sense * p.z();
    }
  }
}

inline double LowestZ(const Step& step) {
  double low = std::numeric_limits<double>::infinity();
  for (const PathPiece& piece : step.path) {
    for (const Vec3& p : piece.points_S_mm) low = std::min(low, p.z());
  }
  return low;
}

// ---- order of steps and setups

inline void SwapSteps(const Maker& m, std::size_t s, std::size_t i) {
  if (i + 1 >= m.plan.setups[s].steps.size()) return;
  Plan spoiled = m.plan;
  std::swap(spoiled.setups[s].steps[i], spoiled.setups[s].steps[i + 1]);
  m.Give("swap_steps", m.plan.setups[s].steps[i].id.text(), spoiled, false);
}

inline void SkipStep(const Maker& m, std::size_t s, std::size_t i) {
  Plan spoiled = m.plan;
  auto& steps = spoiled.setups[s].steps;
  steps.erase(steps.begin() + static_cast<std::ptrdiff_t>(i));
  const Operation operation = m.plan.setups[s].steps[i].operation;
  const bool no_trace = operation == Operation::kTap || operation == Operation::kThread || operation == Operation::kKnurl;
  m.Give("skip_step", m.plan.setups[s].steps[i].id.text(), spoiled, no_trace);
}

inline void DuplicateStep(const Maker& m, std::size_t s, std::size_t i) {
  const Step& step = m.plan.setups[s].steps[i];
  if (!Cuts(step)) return;
  Plan spoiled = m.plan;
  Step again = step;
  again.id = StepId(step.id.text() + "_again");
  auto& steps = spoiled.setups[s].steps;
  steps.insert(steps.begin() + static_cast<std::ptrdiff_t>(i) + 1, again);
  m.Give("duplicate_step", step.id.text(), spoiled, true);
}

// A cut through several parts: one of them not there, or the hole ends before it.
inline void SpoilThroughBoth(const Maker& m, std::size_t s, std::size_t i) {
  const Step& step = m.plan.setups[s].steps[i];
  if (step.parts.size() < 2 || !IsPlunge(step)) return;
  Plan alone = m.plan;
  std::erase_if(alone.setups[s].steps, [](const Step& other) { return other.operation == Operation::kAssemble; });
  m.Give("mate_not_there", step.id.text(), alone, m.plan.setups[s].steps.size() != alone.setups[s].steps.size());
  Plan shallow = m.plan;
  MovePath(m.shop, m.plan.setups[s], shallow.setups[s].steps[i], [&](const Vec3& p) { return Vec3(p + Vec3(0, 0, step.depth_mm)); });
  m.Give("ends_above_the_mate", step.id.text(), shallow, true);
}

inline void TapFirst(const Maker& m, std::size_t s, std::size_t i) {
  if (m.plan.setups[s].steps[i].operation != Operation::kTap) return;
  Plan spoiled = m.plan;
  auto& steps = spoiled.setups[s].steps;
  std::rotate(steps.begin(), steps.begin() + static_cast<std::ptrdiff_t>(i),
              steps.begin() + static_cast<std::ptrdiff_t>(i) + 1);
  m.Give("tap_before_drill", m.plan.setups[s].steps[i].id.text(), spoiled, true);
}

// Threads and knurls: the blank turned after, the end not reached, no wheels for the pitch.
inline void SpoilThread(const Maker& m, std::size_t s, std::size_t i) {
  const Step& step = m.plan.setups[s].steps[i];
  if (step.operation != Operation::kThread && step.operation != Operation::kKnurl) return;
  Plan first = m.plan;
  auto& steps = first.setups[s].steps;
  std::rotate(steps.begin(), steps.begin() + static_cast<std::ptrdiff_t>(i),
              steps.begin() + static_cast<std::ptrdiff_t>(i) + 1);
  m.Give("thread_before_blank", step.id.text(), first, false);
  Plan shallow = m.plan;
  MovePath(m.shop, m.plan.setups[s], shallow.setups[s].steps[i], [](const Vec3& p) { return Vec3(p + Vec3(0, 0, 2)); });
  m.Give("thread_short", step.id.text(), shallow, true);
  Plan thin = m.plan;
  MovePath(m.shop, m.plan.setups[s], thin.setups[s].steps[i], [](const Vec3& p) { return Vec3(p - Vec3(0, 0, 40)); });
  m.Give("thread_into_shoulder", step.id.text(), thin, true);
  const Tool* tool = m.shop.Find(step.tool);
  if (tool == nullptr || tool->kind != ToolKind::kThreadingTool) return;
  Shop poor = m.shop;
  for (MachineTool& machine : poor.machines) machine.pitches_mm.clear();
  m.GiveShop("no_change_wheels", step.id.text(), m.plan, poor);
}

// The chuck stands so far back that the work hangs out of it.
inline void HangsOut(const Maker& m, std::size_t s) {
  const MachineTool* machine = m.shop.Find(m.plan.setups[s].machine);
  if (machine == nullptr || machine->kind != MachineToolKind::kLathe) return;
  Plan spoiled = m.plan;
  for (FixtureSolid& f : spoiled.setups[s].fixtures) MoveFixture(f, Vec3(0, 0, -4 * m.plan.setups[s].opening_mm));
  m.Give("hangs_out", m.plan.setups[s].id.text(), spoiled, true);
}

inline void Renumber(Plan& plan) {
  for (std::size_t i = 0; i < plan.setups.size(); ++i)
    plan.setups[i].number = static_cast<int>(i) + 1;
}

inline void DropSetup(const Maker& m, std::size_t s) {
  Plan spoiled = m.plan;
  const SetupId gone = m.plan.setups[s].id;
  spoiled.setups.erase(spoiled.setups.begin() + static_cast<std::ptrdiff_t>(s));
  for (Setup& setup : spoiled.setups) std::erase(setup.waits_for, gone);
  m.Give("drop_setup", gone.text(), spoiled,
         false);  // one that only takes the rough off may be spared
}

inline void SwapSetups(const Maker& m, std::size_t s) {
  if (s + 1 >= m.plan.setups.size()) return;
  Plan spoiled = m.plan;
  std::swap(spoiled.setups[s], spoiled.setups[s + 1]);
  Renumber(spoiled);
  m.Give("swap_setups", m.plan.setups[s].id.text(), spoiled, false);
}

// ---- what the step says and does

inline void DepthOff(const Maker& m, std::size_t s, std::size_t i, double by) {
  const Step& step = m.plan.setups[s].steps[i];
  if (!Cuts(step) || step.path.front().kind == PathKind::kSaw) return;
  Plan spoiled = m.plan;
  Step& bad = spoiled.setups[s].steps[i];
  MovePath(m.shop, m.plan.setups[s], bad,
           [&](const Vec3& p) { return Vec3(p.x(), p.y(), p.z() - by); });
  bad.depth_mm += by;
  if (!bad.levels_mm.empty()) bad.levels_mm.back() = bad.depth_mm;
  m.Give(by > 0 ? "too_deep" : "too_shallow", step.id.text(), spoiled, false);
}

inline void DepthSaidWrong(const Maker& m, std::size_t s, std::size_t i) {
  const Step& step = m.plan.setups[s].steps[i];
  if (!IsPlunge(step) || step.operation == Operation::kSpotThrough) return;
  Plan spoiled = m.plan;
  Step& bad = spoiled.setups[s].steps[i];
  bad.depth_mm += 0.5;
  if (!bad.levels_mm.empty()) bad.levels_mm.back() = bad.depth_mm;
  m.Give("depth_said_wrong", step.id.text(), spoiled, true);
}

inline void MirrorPath(const Maker& m, std::size_t s, std::size_t i) {
  const Step& step = m.plan.setups[s].steps[i];
  const MachineTool* machine = m.shop.Find(m.plan.setups[s].machine);
  if (!Cuts(step) || machine == nullptr || machine->kind == MachineToolKind::kLathe) return;
  Plan spoiled = m.plan;
  MovePath(m.shop, m.plan.setups[s], spoiled.setups[s].steps[i],
           [](const Vec3& p) { return Vec3(-p.x(), p.y(), p.z()); });
  m.Give("coordinates_mirrored", step.id.text(), spoiled, false);
}

inline void MisreadDial(const Maker& m, std::size_t s, std::size_t i) {
  const Step& step = m.plan.setups[s].steps[i];
  Plan spoiled = m.plan;
  bool any = false;
  for (Coordinate& c : spoiled.setups[s].steps[i].coordinates) {
    any = any || std::abs(c.x_mm) > 0.01;
    c.x_mm = -c.x_mm;
  }
  if (any) m.Give("dial_sense_wrong", step.id.text(), spoiled, true);
}

inline void WrongSide(const Maker& m, std::size_t s, std::size_t i) {
  const Step& step = m.plan.setups[s].steps[i];
  if (!Cuts(step) || step.path.front().kind != PathKind::kMill) return;
  const auto& points = step.path.front().points_S_mm;
  const Tool* tool = m.shop.Find(step.tool);
  if (points.size() < 2 || tool == nullptr) return;
  Vec3 along = points[1] - points[0];
  along.z() = 0;
  if (along.norm() < 1e-6) return;
  const Vec3 aside = Vec3(-along.y(), along.x(), 0).normalized() * (0.5 * tool->diameter_mm);
  for (const double sign : {1.0, -1.0}) {
    Plan spoiled = m.plan;
    MovePath(m.shop, m.plan.setups[s], spoiled.setups[s].steps[i],
             [&](const Vec3& p) { return Vec3(p + sign * aside); });
    m.Give("radius_on_wrong_side", step.id.text(), spoiled, false);
  }
}

inline void ShiftSaw(const Maker& m, std::size_t s, std::size_t i) {
  const Step& step = m.plan.setups[s].steps[i];
  if (!Cuts(step) || step.path.front().kind != PathKind::kSaw) return;
  Plan spoiled = m.plan;
  auto& points = spoiled.setups[s].steps[i].path.front().points_S_mm;
  points[0] -= points[1].normalized();
  m.Give("saw_plane_shifted", step.id.text(), spoiled, false);
}

inline void WrongBore(const Maker& m, std::size_t s, std::size_t i) {
  const Step& step = m.plan.setups[s].steps[i];
  Plan spoiled = m.plan;
  Step& bad = spoiled.setups[s].steps[i];
  bool any = false;
  for (PathPiece& piece : bad.path) {
    if (piece.set_diameter_mm <= 0) continue;
    piece.set_diameter_mm += 0.2;
    any = true;
  }
  const Tool* tool = m.shop.Find(step.tool);
  const bool bar = tool != nullptr && Cuts(step) && step.path.front().kind == PathKind::kTurn &&
                   tool->diameter_min_mm > 0;
  if (bar)
    MovePath(m.shop, m.plan.setups[s], bad,
             [](const Vec3& p) { return Vec3(p.x() + 0.1, p.y(), p.z()); });
  if (any || bar) m.Give("bore_wrong", step.id.text(), spoiled, false);
}

// ---- the wrong tool, or a poorer shop

inline void WrongTool(const Maker& m, std::size_t s, std::size_t i) {
  const Step& step = m.plan.setups[s].steps[i];
  const Tool* tool = m.shop.Find(step.tool);
  if (!Cuts(step) || tool == nullptr) return;
  const Tool* next = nullptr;
  for (const Tool& other : m.shop.tools) {
    if (other.kind != tool->kind || other.diameter_mm <= tool->diameter_mm + 0.01) continue;
    if (next == nullptr || other.diameter_mm < next->diameter_mm) next = &other;
  }
  if (next == nullptr) return;
  Plan spoiled = m.plan;
  spoiled.setups[s].steps[i].tool = next->name;
  m.Give("wrong_tool_diameter", step.id.text(), spoiled, false);
}

inline void UnknownTool(const Maker& m, std::size_t s, std::size_t i) {
  if (!Cuts(m.plan.setups[s].steps[i])) return;
  Plan spoiled = m.plan;
  spoiled.setups[s].steps[i].tool = ToolId("not_in_this_shop");
  m.Give("tool_unknown", m.plan.setups[s].steps[i].id.text(), spoiled, true);
}

inline void ImpossibleSpeed(const Maker& m, std::size_t s, std::size_t i) {
  const Step& step = m.plan.setups[s].steps[i];
  if (!Cuts(step) || step.rpm <= 0) return;
  Plan spoiled = m.plan;
  spoiled.setups[s].steps[i].rpm = 31000;
  m.Give("speed_not_there", step.id.text(), spoiled, true);
}

// Half the reach that the depth asks for: a bar's depth is how far its corner goes in, the sheet
// says what it takes off across.
inline void ShortTool(const Maker& m, std::size_t s, std::size_t i) {
  const Step& step = m.plan.setups[s].steps[i];
  const Tool* tool = m.shop.Find(step.tool);
  if (!Cuts(step) || tool == nullptr || tool->kind == ToolKind::kDie) return;  // a die's thickness is not its reach
  const bool bar = step.path.front().kind == PathKind::kTurn && tool->kind == ToolKind::kBoringBar;
  const double depth_mm = bar ? -LowestZ(step) : step.depth_mm;
  if (depth_mm < 0.1) return;
  if (!bar && step.path.front().kind != PathKind::kPlunge &&
      step.path.front().kind != PathKind::kMill)
    return;
  Shop poor = m.shop;
  Tool shorter = *tool;
  shorter.name = ToolId("too_short");
  shorter.flute_mm = shorter.stick_out_mm = shorter.reach_mm = 0.5 * depth_mm;
  poor.tools.push_back(shorter);
  Plan spoiled = m.plan;
  spoiled.setups[s].steps[i].tool = shorter.name;
  m.GiveShop("tool_too_short", step.id.text(), spoiled, poor);
}

inline void ShortTravel(const Maker& m, std::size_t s) {
  const Setup& setup = m.plan.setups[s];
  for (int axis = 0; axis < 3; ++axis) {
    double low = std::numeric_limits<double>::infinity();
    double high = -low;
    for (const Step& step : setup.steps) {
      for (const PathPiece& piece : step.path) {
        if (piece.kind == PathKind::kSaw) continue;
        for (std::size_t i = 0; i < piece.points_S_mm.size(); ++i) {
          const double turn_rad = i < piece.table_deg.size() ? piece.table_deg[i] * kRadPerDeg : 0;
          const Vec3 p = Eigen::AngleAxisd(turn_rad, Vec3::UnitZ()) * piece.points_S_mm[i];
          low = std::min(low, p[axis]);
          high = std::max(high, p[axis]);
        }
      }
    }
    if (high - low < 1) continue;
    Shop poor = m.shop;
    bool shorter = false;
    for (MachineTool& machine : poor.machines) {
      if (machine.name != setup.machine || machine.travel_mm[axis] <= 0) continue;
      machine.travel_mm[axis] = 0.9 * (high - low);
      machine.quill_mm = 0;
      shorter = true;
    }
    if (shorter) m.GiveShop("travel_exceeded", setup.id.text(), m.plan, poor);
  }
}

inline void LowDaylight(const Maker& m, std::size_t s) {
  const Setup& setup = m.plan.setups[s];
  const bool table =
      std::any_of(setup.fixtures.begin(), setup.fixtures.end(),
                  [](const FixtureSolid& f) { return f.role == FixtureRole::kTable; });
  const bool cuts = std::any_of(setup.steps.begin(), setup.steps.end(), Cuts);
  if (!table || !cuts) return;
  Shop poor = m.shop;
  for (MachineTool& machine : poor.machines) {
    if (machine.name == setup.machine) machine.daylight_mm = 60;
  }
  m.GiveShop("daylight_exceeded", setup.id.text(), m.plan, poor);
}

// ---- how the piece sits

inline void Turned(const Maker& m, std::size_t s, const char* fault, const Eigen::AngleAxisd& by) {
  Plan spoiled = m.plan;
  for (PartPose& pose : spoiled.setups[s].parts) {
    // About the middle of the gripped height rather than the zero: the piece stays between the
    // jaws.
    pose.X_PS = pose.X_PS * Pose(by);
  }
  spoiled.setups[s].zero.point_P_mm = spoiled.setups[s].parts.front().X_PS.translation();
  spoiled.setups[s].up.clear();
  m.Give(fault, m.plan.setups[s].id.text(), spoiled, false);
}

// Zero found wrong: piece and holding stay together and stand off the frame that the cuts start
// from.
inline void WrongZero(const Maker& m, std::size_t s, const Vec3& by) {
  const MachineTool* machine = m.shop.Find(m.plan.setups[s].machine);
  if (machine == nullptr || machine->kind == MachineToolKind::kBench) return;
  if (machine->kind == MachineToolKind::kLathe && by.head<2>().norm() > 0) return;
  Plan spoiled = m.plan;
  Setup& setup = spoiled.setups[s];
  for (PartPose& pose : setup.parts) pose.X_PS = pose.X_PS * Pose(Eigen::Translation3d(-by));
  for (FixtureSolid& fixture : setup.fixtures) MoveFixture(fixture, by);
  setup.zero.point_P_mm = setup.parts.front().X_PS.translation();
  m.Give("wrong_zero",
         fmt::format("{} by ({:g}, {:g}, {:g})", setup.id.text(), by.x(), by.y(), by.z()), spoiled,
         false);
}

inline void JawOff(const Maker& m, std::size_t s, std::size_t f) {
  const FixtureSolid& jaw = m.plan.setups[s].fixtures[f];
  if (!jaw.grips) return;
  Plan spoiled = m.plan;
  FixtureSolid& bad = spoiled.setups[s].fixtures[f];
  if (jaw.grip_normal_S) {
    MoveFixture(bad, -1.0 * *jaw.grip_normal_S);
  } else {
    auto& ring = std::get<FixtureCylinder>(bad.shape);
    (ring.inner_mm > 0 ? ring.inner_mm : ring.outer_mm) += ring.inner_mm > 0 ? 2 : -2;
  }
  m.Give("jaw_on_missing_face", fmt::format("{} solid {}", m.plan.setups[s].id.text(), f + 1),
         spoiled, true);
}

inline void FixtureIntoPart(const Maker& m, std::size_t s, std::size_t f) {
  const FixtureSolid& fixture = m.plan.setups[s].fixtures[f];
  if (!fixture.grips && !fixture.supports) return;
  Plan spoiled = m.plan;
  FixtureSolid& bad = spoiled.setups[s].fixtures[f];
  if (fixture.grips && !fixture.grip_normal_S) {
    auto& ring = std::get<FixtureCylinder>(bad.shape);
    (ring.inner_mm > 0 ? ring.inner_mm : ring.outer_mm) += ring.inner_mm > 0 ? -2 : 2;
  } else {
    // Into the piece: a centre stands over it, what else supports it is under it.
    const Vec3 in_S = fixture.role == FixtureRole::kTailstock ? Vec3(-Vec3::UnitZ()) : Vec3(Vec3::UnitZ());
    MoveFixture(bad, 2.0 * fixture.grip_normal_S.value_or(in_S));
  }
  m.Give("fixture_in_part", fmt::format("{} solid {}", m.plan.setups[s].id.text(), f + 1), spoiled,
         true);
}

// Jaws so low that a millimetre is left; what the sheet says goes with it.
inline void SmallGrip(const Maker& m, std::size_t s, const char* fault, double left_mm) {
  const double drop = m.plan.setups[s].grip_depth_mm - left_mm;
  if (drop <= 0) return;
  Plan spoiled = m.plan;
  Setup& setup = spoiled.setups[s];
  bool any = false;
  for (FixtureSolid& fixture : setup.fixtures) {
    if (fixture.role ==
        FixtureRole::kParallel) {  // taller by the drop, standing on the lowered bed
      if (auto* box = std::get_if<FixtureBox>(&fixture.shape)) {
        box->box_F.min_mm.z() -= drop;
      } else {
        std::get<FixtureCylinder>(fixture.shape).from_mm -= drop;  // a round packing piece
      }
    } else {
      any = any || fixture.grips;
      if (!fixture.supports) MoveFixture(fixture, -drop * Vec3::UnitZ());
    }
  }
  setup.grip_depth_mm = std::max(0.0, left_mm);
  setup.parallels_mm += setup.parallels_mm > 0 ? drop : 0;
  Shop poor = m.shop;  // such parallels are at hand
  for (HoldingDevice& device : poor.holding) device.parallels_mm.push_back(setup.parallels_mm);
  if (any) m.GiveShop(fault, setup.id.text(), spoiled, poor);
}

// A slanting piece: another angle said, a block too much, a block that is in use already, a protractor's
// angle without saying so.
inline void SpoilAngle(const Maker& m, std::size_t s) {
  const Setup& sound = m.plan.setups[s];
  if (!sound.angle) return;
  Plan said = m.plan;
  said.setups[s].angle->angle_deg += 1;
  m.Give("other_angle_said", sound.id.text(), said, true);
  Plan unsaid = m.plan;
  unsaid.setups[s].angle.reset();
  m.Give("angle_not_said", sound.id.text(), unsaid, true);
  if (sound.angle->by != AngleBy::kSineBar || sound.angle->blocks_mm.empty()) return;
  Plan one_more = m.plan;
  one_more.setups[s].angle->blocks_mm.push_back(1.005);
  m.Give("block_too_much", sound.id.text(), one_more, true);
  Plan twice = m.plan;
  std::vector<double>& blocks = twice.setups[s].angle->blocks_mm;
  blocks.assign({blocks.front() / 2, blocks.front() / 2});
  m.Give("block_not_in_the_set", sound.id.text(), twice, true);
}

// A rotary table: the count lost by one, a reading written wrong, the chuck left standing on the mill's
// own table.
inline void SpoilTable(const Maker& m, std::size_t s, std::size_t i) {
  const Step& step = m.plan.setups[s].steps[i];
  const auto turned = std::find_if(step.path.begin(), step.path.end(), [](const PathPiece& p) { return !p.table_deg.empty(); });
  if (turned == step.path.end()) return;
  const auto at = static_cast<std::size_t>(turned - step.path.begin());
  Plan lost = m.plan;
  for (double& deg : lost.setups[s].steps[i].path[at].table_deg) deg += 60;
  m.Give("angle_count_lost", step.id.text(), lost, true);
  Plan misread = m.plan;
  for (Coordinate& c : misread.setups[s].steps[i].coordinates) {
    if (c.table_deg) *c.table_deg += 1;
  }
  m.Give("table_misread", step.id.text(), misread, true);
  Plan standing = m.plan;
  PathPiece& piece = standing.setups[s].steps[i].path[at];
  piece.table_deg.clear();
  m.Give("table_not_turned", step.id.text(), standing, turned->table_deg.front() != 0);
}

// V-blocks: a clamp beside its block, another round said than the one that lies there, one block lower
// than the other walls.
inline void SpoilVee(const Maker& m, std::size_t s) {
  const Setup& sound = m.plan.setups[s];
  if (sound.holding != HoldingKind::kVBlock) return;
  const auto is_wall = [](const FixtureSolid& f) { return f.supports && f.grip_normal_S.has_value(); };
  double low = std::numeric_limits<double>::infinity();
  for (const FixtureSolid& f : sound.fixtures) {
    if (is_wall(f)) low = std::min(low, PlainBox(f).min_mm.x());
  }
  Plan beside = m.plan;
  for (FixtureSolid& f : beside.setups[s].fixtures) {
    if (f.role != FixtureRole::kClamp) continue;
    MoveFixture(f, Vec3(low - PlainBox(f).max_mm.x() - 1, 0, 0));
    break;
  }
  m.Give("clamp_beside_block", sound.id.text(), beside, true);
  Plan said = m.plan;
  said.setups[s].opening_mm += 1;
  m.Give("other_round_in_vee", sound.id.text(), said, true);
  Plan sunk = m.plan;
  for (FixtureSolid& f : sunk.setups[s].fixtures) {
    if (!is_wall(f)) continue;
    MoveFixture(f, Vec3(0, 0, -0.5));
    break;
  }
  m.Give("one_block_low", sound.id.text(), sunk, true);
}

// A parallel under the first place of a step that goes below the piece.
inline void ParallelUnderHole(const Maker& m, std::size_t s, std::size_t i) {
  const Step& step = m.plan.setups[s].steps[i];
  if (!IsPlunge(step) || step.operation == Operation::kTap) return;
  for (std::size_t f = 0; f < m.plan.setups[s].fixtures.size(); ++f) {
    const FixtureSolid& fixture = m.plan.setups[s].fixtures[f];
    const bool is_box = std::holds_alternative<FixtureBox>(fixture.shape);
    if (fixture.role != FixtureRole::kParallel || !is_box) continue;
    const Box3 box = PlainBox(fixture);
    if (LowestZ(step) > box.max_mm.z() - 0.1) return;
    Plan spoiled = m.plan;
    const Vec3 place = step.path.front().points_S_mm.front();
    MoveFixture(spoiled.setups[s].fixtures[f], Vec3(0, place.y() - box.centre_mm().y(), 0));
    m.Give("drill_into_parallel", step.id.text(), spoiled, true);
    return;
  }
}

inline void DatumOff(const Maker& m, std::size_t s) {
  for (std::size_t c = 0; c < m.plan.setups[s].contacts.size(); ++c) {
    const ContactKind kind = m.plan.setups[s].contacts[c].kind;
    if (kind == ContactKind::kSetBySquare || kind == ContactKind::kAngleSet ||
        kind == ContactKind::kLineSet || kind == ContactKind::kRough)
      continue;
    Plan spoiled = m.plan;
    Contact& bad = spoiled.setups[s].contacts[c];
    bad.point_P_mm -= 1.0 * bad.normal_P;
    m.Give("datum_not_there", fmt::format("{} contact {}", m.plan.setups[s].id.text(), c + 1),
           spoiled, true);
  }
}

// Bench work in the wrong order: not washed, not cured, the trial left out or made too early.
inline void SpoilBench(const Maker& m, std::size_t s, std::size_t i) {
  const Step& step = m.plan.setups[s].steps[i];
  if (step.operation == Operation::kBond) {
    Plan dirty = m.plan;
    std::erase_if(dirty.setups[s].steps, [](const Step& other) { return other.operation == Operation::kWash; });
    m.Give("bonded_unwashed", step.id.text(), dirty, true);
  }
  if (step.operation == Operation::kCure) {
    Plan hasty = m.plan;
    hasty.setups[s].steps[i].wait_min *= 0.5;
    m.Give("cured_half_the_time", step.id.text(), hasty, true);
    Plan wet = m.plan;
    wet.setups[s].steps.erase(wet.setups[s].steps.begin() + static_cast<std::ptrdiff_t>(i));
    m.Give("never_cured", step.id.text(), wet, true);
  }
  if (step.operation == Operation::kTrial && step.aim) {
    Plan guessed = m.plan;
    guessed.setups[s].steps.erase(guessed.setups[s].steps.begin() + static_cast<std::ptrdiff_t>(i));
    m.Give("no_trial", step.id.text(), guessed, true);
  }
}

// A trial made before anything is cut.
inline void EarlyTrial(const Maker& m, std::size_t s) {
  const auto& steps = m.plan.setups[s].steps;
  const bool trial = std::any_of(steps.begin(), steps.end(), [](const Step& step) { return step.operation == Operation::kTrial; });
  if (!trial || s == 0) return;
  Plan early = m.plan;
  std::rotate(early.setups.begin(), early.setups.begin() + static_cast<std::ptrdiff_t>(s),
              early.setups.begin() + static_cast<std::ptrdiff_t>(s) + 1);
  for (Setup& setup : early.setups) setup.waits_for.clear();
  Renumber(early);
  m.Give("trial_too_early", m.plan.setups[s].id.text(), early, true);
}

// Marks made on the bench take no metal, have no dial and are made by a punch of any length.
inline bool OnlyMarks(const Maker& m, std::size_t s, std::size_t i) {
  const MachineTool* machine = m.shop.Find(m.plan.setups[s].machine);
  return machine != nullptr && machine->kind == MachineToolKind::kBench &&
         m.plan.setups[s].steps[i].operation == Operation::kSpotThrough;
}

inline void MakeForStep(const Maker& m, std::size_t s, std::size_t i) {
  if (OnlyMarks(m, s, i)) return;
  SwapSteps(m, s, i);
  SkipStep(m, s, i);
  DuplicateStep(m, s, i);
  TapFirst(m, s, i);
  SpoilThroughBoth(m, s, i);
  DepthOff(m, s, i, 0.3);
  DepthOff(m, s, i, -0.3);
  DepthSaidWrong(m, s, i);
  MirrorPath(m, s, i);
  MisreadDial(m, s, i);
  WrongSide(m, s, i);
  ShiftSaw(m, s, i);
  WrongBore(m, s, i);
  WrongTool(m, s, i);
  UnknownTool(m, s, i);
  ImpossibleSpeed(m, s, i);
  ShortTool(m, s, i);
  ParallelUnderHole(m, s, i);
  SpoilThread(m, s, i);
  SpoilBench(m, s, i);
  SpoilTable(m, s, i);
}

inline void MakeForSetup(const Maker& m, std::size_t s) {
  DropSetup(m, s);
  SwapSetups(m, s);
  Turned(m, s, "wrong_way_up", Eigen::AngleAxisd(kPi, Vec3::UnitX()));
  Turned(m, s, "turned_a_quarter", Eigen::AngleAxisd(kPi / 2, Vec3::UnitZ()));
  Turned(m, s, "turned_half_round", Eigen::AngleAxisd(kPi, Vec3::UnitZ()));
  for (const Vec3& by : {Vec3(1, 0, 0), Vec3(0, 1, 0), Vec3(0, 0, 0.5)}) WrongZero(m, s, by);
  for (std::size_t f = 0; f < m.plan.setups[s].fixtures.size(); ++f) {
    JawOff(m, s, f);
    FixtureIntoPart(m, s, f);
  }
  SpoilVee(m, s);
  SpoilAngle(m, s);
  SmallGrip(m, s, "grip_too_small", 1);
  SmallGrip(m, s, "parallels_too_high", -1);
  DatumOff(m, s);
  HangsOut(m, s);
  EarlyTrial(m, s);
  ShortTravel(m, s);
  LowDaylight(m, s);
}

}  // namespace detail

inline void MakeCorruptions(const Shop& shop, const Plan& plan, const Receiver& give) {
  const detail::Maker maker{shop, plan, give};
  for (std::size_t s = 0; s < plan.setups.size(); ++s) {
    detail::MakeForSetup(maker, s);
    for (std::size_t i = 0; i < plan.setups[s].steps.size(); ++i) detail::MakeForStep(maker, s, i);
  }
}

}  // namespace fitwright::corrupt
