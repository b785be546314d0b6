#include "fitwright/replay/setup_view.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/solid/cutters.h"

namespace fitwright::replay {
namespace {

void LookUp(const Shop& shop, ViewMade& made) {
  SetupView& view = made.view;
  const Setup& setup = *view.setup;
  Findings findings(view);
  view.machine = shop.Find(setup.machine);
  made.ok = view.machine != nullptr;
  if (!made.ok) {
    findings.AddToSetup(Rule::kMachineUnknown,
                        fmt::format("the shop has no machine \"{}\"", setup.machine.text()));
  }
  if (setup.holding != HoldingKind::kBench || !setup.device.empty()) {
    view.device = shop.Find(setup.device);
    if (view.device == nullptr) {
      findings.AddToSetup(Rule::kDeviceUnknown, fmt::format("the shop has no holding device \"{}\"",
                                                            setup.device.text()));
      made.ok = false;
    } else if (view.device->on != setup.machine) {
      findings.AddToSetup(Rule::kDeviceUnknown,
                          fmt::format("{} goes on {}, not on {}", setup.device.text(),
                                      view.device->on.text(), setup.machine.text()));
    }
  }
  made.findings = findings.Take();
}

// Turns that are none would shear every solid they move.
bool IsRigid(const Pose& pose) {
  constexpr double kRigid = 1e-9;
  const Eigen::Matrix3d turn = pose.linear();
  return pose.matrix().allFinite() && turn.determinant() > 0 &&
         (turn.transpose() * turn - Eigen::Matrix3d::Identity()).norm() < kRigid;
}

void CheckPoses(ViewMade& made) {
  const Setup& setup = *made.view.setup;
  Findings findings(made.view);
  for (const PartPose& pose : setup.parts) {
    if (IsRigid(pose.X_PS)) continue;
    findings.Add(pose.part, StepId(setup.id.text()), Rule::kPoseNotRigid,
                 fmt::format("the pose of {} is not a rigid movement", pose.part.text()));
  }
  for (const FixtureSolid& spec : setup.fixtures) {
    const auto* box = std::get_if<FixtureBox>(&spec.shape);
    if (box == nullptr || IsRigid(box->X_SF)) continue;
    findings.AddToSetup(Rule::kPoseNotRigid,
                        fmt::format("the pose of a {} is not a rigid movement", WordOf(spec.role)));
  }
  made.ok = made.ok && findings.list().empty();
  made.findings.insert(made.findings.end(), findings.list().begin(), findings.list().end());
}

}  // namespace

Result<ViewMade> MakeSetupView(const Shop& shop, const Setup& setup) {
  ViewMade made;
  made.view.shop = &shop;
  made.view.setup = &setup;
  if (setup.parts.empty()) {
    made.findings.push_back(
        {PartId(), StepId(setup.id.text()), Rule::kPartMissing, "the setup holds no part"});
    return made;
  }
  LookUp(shop, made);
  CheckPoses(made);
  if (!made.ok) return made;
  for (const FixtureSolid& spec : setup.fixtures) {
    const Result<solid::Solid> body = solid::MakeFixture(spec);
    if (!body && body.error().code == ErrorCode::kOutOfRange) {
      Findings findings(made.view);
      findings.AddToSetup(
          Rule::kFixtureDiffers,
          fmt::format("a {} has no volume: {}", WordOf(spec.role), body.error().message));
      made.findings.push_back(findings.list().front());
      continue;
    }
    if (!body) return Unexpected(body.error());
    made.view.fixtures.push_back({&spec, *body, BoxOf(spec)});
  }
  return made;
}

double DiameterOf(const Tool& tool, const PathPiece& piece) {
  return piece.set_diameter_mm > 0 ? piece.set_diameter_mm : tool.diameter_mm;
}

bool SetsItsDiameter(const Tool& tool) {
  const bool kind = tool.kind == ToolKind::kBoringHead || tool.kind == ToolKind::kHone ||
                    tool.kind == ToolKind::kChamferMill;
  return kind && tool.diameter_min_mm > 0;
}

std::pair<double, double> HeightsOf(const PathPiece& piece) {
  double low = piece.points_S_mm.front().z();
  double high = low;
  for (const Vec3& p : piece.points_S_mm) {
    low = std::min(low, p.z());
    high = std::max(high, p.z());
  }
  return {low, high};
}

std::string Millimetres(double value) {
  const double rounded = std::round(value * 1000) / 1000;
  return fmt::format("{:g}", rounded == 0 ? 0.0 : rounded);
}

}  // namespace fitwright::replay
