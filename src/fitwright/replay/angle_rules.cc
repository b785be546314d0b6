// Angles: what the sheet says of a slanting piece against how it stands, the blocks under the sine
// bar, the rotary table's readings, and cuts that run aslant of the slides.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "fitwright/replay/machine_rules.h"

namespace fitwright::replay {
namespace {

constexpr double kDeg = 180 / std::numbers::pi;
constexpr double kAngle_deg = 0.01;  // angles are printed in minutes
constexpr double kStack_mm = 0.003;  // half of a block set's finest step of 0.005 and a little
constexpr double kSlide_mm = 1e-3;   // dial readings are printed to this

// What the side of a block that comes nearest to it makes with the table.
double LeanOf_deg(const Setup& setup) {
  Vec3 up = setup.parts.front().X_PS.linear().col(2).cwiseAbs();
  std::sort(up.data(), up.data() + 3);
  return std::atan2(std::hypot(up[0], up[1]), up[2]) * kDeg;
}

const Instrument* FindKind(const Shop& shop, InstrumentKind kind) {
  const auto at = std::find_if(shop.instruments.begin(), shop.instruments.end(),
                               [&](const Instrument& i) { return i.kind == kind; });
  return at == shop.instruments.end() ? nullptr : &*at;
}

void CheckBlocks(const SetupView& view, const AngleSetting& angle, Findings& findings) {
  const Instrument* set = FindKind(*view.shop, InstrumentKind::kGaugeBlocks);
  std::vector<double> left = set == nullptr ? std::vector<double>{} : set->blocks_mm;
  for (const double block : angle.blocks_mm) {
    const auto at = std::find_if(left.begin(), left.end(),
                                 [&](double b) { return std::abs(b - block) < 1e-9; });
    if (at == left.end()) {
      findings.AddToSetup(
          Rule::kBlocksMissing,
          fmt::format("the shop's set has no block of {} mm left", Millimetres(block)));
    } else {
      left.erase(at);
    }
  }
}

void CheckSineBar(const SetupView& view, const AngleSetting& angle, Findings& findings) {
  const Instrument* bar = FindKind(*view.shop, InstrumentKind::kSineBar);
  if (bar == nullptr) {
    findings.AddToSetup(Rule::kAngleDisagrees, "set by sine bar, and the shop has none");
    return;
  }
  CheckBlocks(view, angle, findings);
  const double wanted = bar->centres_mm * std::sin(angle.angle_deg / kDeg);
  double sum = 0;
  for (const double block : angle.blocks_mm) sum += block;
  if (std::abs(angle.stack_mm - wanted) <= kSlide_mm && std::abs(sum - wanted) <= kStack_mm) return;
  findings.AddToSetup(
      Rule::kAngleDisagrees,
      fmt::format(
          "{} mm of blocks under a roll {} mm from the other, for {:.3f} degrees {} mm are wanted",
          Millimetres(sum), Millimetres(bar->centres_mm), angle.angle_deg, Millimetres(wanted)));
}

// A straight cut goes along one slide; two cranks are not turned together.
void CheckSlides(const SetupView& view, const Step& step, Findings& findings) {
  if (view.machine->kind != MachineToolKind::kMill) return;
  for (const PathPiece& piece : step.path) {
    if (piece.kind != PathKind::kMill) continue;
    for (std::size_t i = 0; i + 1 < piece.points_S_mm.size(); ++i) {
      const Vec3 way = UnderSpindle(piece, i + 1) - UnderSpindle(piece, i);
      if (std::min(std::abs(way.x()), std::abs(way.y())) <= kSlide_mm) continue;
      findings.Add(step.id, Rule::kAslantOfSlides,
                   fmt::format("a cut runs {} mm along x and {} mm along y at once",
                               Millimetres(way.x()), Millimetres(way.y())));
      return;
    }
  }
}

void CheckTableReadings(const SetupView& view, const Step& step, Findings& findings) {
  std::vector<std::optional<double>> turned;
  for (const PathPiece& piece : step.path) {
    if (!piece.table_deg.empty() && piece.table_deg.size() != piece.points_S_mm.size()) {
      findings.Add(step.id, Rule::kPathImpossible,
                   "not as many angles of the rotary table as places");
      return;
    }
    for (std::size_t i = 0; i < piece.points_S_mm.size(); ++i)
      turned.push_back(piece.table_deg.empty() ? std::nullopt : std::optional(piece.table_deg[i]));
  }
  const bool any =
      std::any_of(turned.begin(), turned.end(), [](const auto& t) { return t.has_value(); });
  if (any && view.setup->holding != HoldingKind::kRotaryTable) {
    findings.Add(step.id, Rule::kPathImpossible,
                 "turned to angles, and it stands on no rotary table");
  }
  if (!any || turned.size() != step.coordinates.size()) return;
  for (std::size_t i = 0; i < turned.size(); ++i) {
    const auto& said = step.coordinates[i].table_deg;
    if (said.has_value() == turned[i].has_value() &&
        (!said || std::abs(*said - *turned[i]) <= kAngle_deg))
      continue;
    findings.Add(step.id, Rule::kCoordinatesDisagree,
                 fmt::format("place {} reads another angle of the rotary table than the path's",
                             step.coordinates[i].hole));
    return;
  }
}

}  // namespace

Vec3 UnderSpindle(const PathPiece& piece, std::size_t i) {
  const Vec3& p = piece.points_S_mm[i];
  if (piece.table_deg.size() <= i) return p;
  return Eigen::AngleAxisd(piece.table_deg[i] / kDeg, Vec3::UnitZ()) * p;
}

void CheckTurning(const SetupView& view, const Step& step, Findings& findings) {
  CheckTableReadings(view, step, findings);
  CheckSlides(view, step, findings);
}

void CheckAngle(const SetupView& view, Findings& findings) {
  const Setup& setup = *view.setup;
  if (view.on_bench() || view.on_lathe()) return;
  const double lean = LeanOf_deg(setup);
  if (!setup.angle) {
    const bool set =
        std::any_of(setup.contacts.begin(), setup.contacts.end(), [](const Contact& c) {
          return c.kind == ContactKind::kAngleSet || c.kind == ContactKind::kLineSet;
        });
    if (set)
      findings.AddToSetup(
          Rule::kAngleDisagrees,
          fmt::format("it stands at {:.2f} degrees, and the sheet does not say how it is set",
                      lean));
    return;
  }
  if (std::abs(setup.angle->angle_deg - lean) > kAngle_deg) {
    findings.AddToSetup(Rule::kAngleDisagrees,
                        fmt::format("the sheet says {:.3f} degrees, it stands at {:.3f}",
                                    setup.angle->angle_deg, lean));
  }
  if (setup.angle->by == AngleBy::kSineBar) CheckSineBar(view, *setup.angle, findings);
}

void CheckRotaryTable(const SetupView& view, Findings& findings) {
  if (view.device == nullptr || view.device->kind != HoldingDeviceKind::kRotaryTable) return;
  const HoldingDevice& own = *view.device;
  bool seen = false;
  for (const FixtureSolid& f : view.setup->fixtures) {
    const auto* body = std::get_if<FixtureCylinder>(&f.shape);
    if (f.role != FixtureRole::kRotaryTable || body == nullptr) continue;
    seen = true;
    const double off = std::max(std::abs(body->outer_mm - own.body_diameter_mm),
                                std::abs(body->to_mm - body->from_mm - own.body_length_mm));
    const bool under_spindle =
        body->axis_S.point_mm.head<2>().norm() <= kMade_mm && body->axis_S.direction.z() > 1 - 1e-9;
    if (off <= kMade_mm && under_spindle) continue;
    findings.AddToSetup(
        Rule::kFixtureDiffers,
        fmt::format("{} is not drawn in its own size about the zero in x and y", own.name.text()));
  }
  if (!seen)
    findings.AddToSetup(Rule::kFixtureDiffers,
                        fmt::format("{} holds it and is not drawn", own.name.text()));
}

}  // namespace fitwright::replay
