// Round work in V-blocks: the walls make a V of 90 degrees, all blocks one V in line, each wall
// bears, each clamp presses over a block, and the round that lies in the V under the clamp is the
// one on the sheet.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/replay/seating.h"

namespace fitwright::replay {
namespace {

constexpr double kSameWay = 1e-6;  // 1 - cosine

struct Wall {
  const Fixture* fixture = nullptr;
  Vec3 normal = Vec3::UnitZ();
  double offset = 0;  // of its plane along normal
  double length_mm = 0;
};

std::optional<Wall> WallOf(const Fixture& f) {
  const auto* box = std::get_if<FixtureBox>(&f.spec->shape);
  if (!f.spec->supports || !f.spec->grip_normal_S || box == nullptr) return std::nullopt;
  Wall wall{&f, f.spec->grip_normal_S->normalized(), 0, f.box.size_mm().x()};
  const Vec3 local = box->X_SF.linear().transpose() * wall.normal;
  wall.offset = wall.normal.dot(box->X_SF.translation());
  for (int i = 0; i < 3; ++i)
    wall.offset += std::max(local[i] * box->box_F.min_mm[i], local[i] * box->box_F.max_mm[i]);
  return wall;
}

// Bottom of the V: y and z where two walls' planes meet.
std::optional<Vec2> ApexOf(const Wall& a, const Wall& b) {
  const double det = a.normal.y() * b.normal.z() - a.normal.z() * b.normal.y();
  if (std::abs(det) < 1e-9) return std::nullopt;
  return Vec2((a.offset * b.normal.z() - b.offset * a.normal.z()) / det,
              (a.normal.y() * b.offset - b.normal.y() * a.offset) / det);
}

// Walls on the one side are one plane, square to those on the other and alike to them.
bool MakeOneVee(const std::vector<Wall>& walls) {
  for (const Wall& w : walls) {
    if (std::abs(w.normal.x()) > kSameWay || w.normal.z() < 0.5) return false;
    const Wall& first = walls.front();
    const bool same =
        w.normal.dot(first.normal) > 1 - kSameWay && std::abs(w.offset - first.offset) <= kMade_mm;
    const Vec3 mirrored(first.normal.x(), -first.normal.y(), first.normal.z());
    if (!same && w.normal.dot(mirrored) < 1 - kSameWay) return false;
    if (std::abs(std::abs(w.normal.y()) - w.normal.z()) > 1e-4) return false;  // 45 degrees each
  }
  return true;
}

void CheckClamp(const SetupView& view, const Fixture& clamp, const std::vector<Wall>& walls,
                const Vec2& apex, Findings& findings) {
  const bool over = std::any_of(walls.begin(), walls.end(), [&](const Wall& w) {
    return std::min(w.fixture->box.max_mm.x(), clamp.box.max_mm.x()) -
               std::max(w.fixture->box.min_mm.x(), clamp.box.min_mm.x()) >
           kTouch_mm;
  });
  if (!over)
    findings.AddToSetup(Rule::kNotSupported,
                        "a clamp presses beside the V-blocks, where nothing is under the round");
  // A round in a V of 90 degrees: from the bottom of the V to its top, r (1 + sqrt 2).
  const double diameter = 2 * (clamp.box.min_mm.z() - apex.y()) / (1 + std::sqrt(2.0));
  const HoldingDevice& device = *view.device;
  if (std::abs(diameter - view.setup->opening_mm) > kSheet_mm) {
    findings.AddToSetup(
        Rule::kHoldingDisagrees,
        fmt::format("the sheet says a round of {} mm in the V, {} mm is room for under the clamp",
                    Millimetres(view.setup->opening_mm), Millimetres(diameter)));
  }
  if (diameter < device.grip_min_mm - kMade_mm || diameter > device.grip_max_mm + kMade_mm) {
    findings.AddToSetup(Rule::kCapacityExceeded,
                        fmt::format("{} takes {} to {} mm, not {}", device.name.text(),
                                    Millimetres(device.grip_min_mm),
                                    Millimetres(device.grip_max_mm), Millimetres(diameter)));
  }
}

}  // namespace

Status CheckVeeBlocks(const SetupView& view, const Floor& floor, Findings& findings) {
  std::vector<Wall> walls;
  for (const Fixture& f : view.fixtures) {
    if (const auto wall = WallOf(f)) walls.push_back(*wall);
  }
  const auto facing = std::find_if(walls.begin(), walls.end(), [&](const Wall& w) {
    return w.normal.y() * walls.front().normal.y() < 0;
  });
  const auto apex = facing == walls.end() ? std::nullopt : ApexOf(walls.front(), *facing);
  if (!apex || !MakeOneVee(walls)) {
    findings.AddToSetup(Rule::kFixtureDiffers,
                        "the walls of the V-blocks do not make one V of 90 degrees along x");
    return Ok{};
  }
  for (const Wall& w : walls) {
    if (std::abs(w.length_mm - view.device->jaw_width_mm) > kMade_mm) {
      findings.AddToSetup(
          Rule::kFixtureDiffers,
          fmt::format("a V-block is drawn {} mm long, {}'s own are {}", Millimetres(w.length_mm),
                      view.device->name.text(), Millimetres(view.device->jaw_width_mm)));
    }
    const auto bears = Bears(floor, *w.fixture);
    if (!bears) return Unexpected(bears.error());
    if (!*bears)
      findings.AddToSetup(Rule::kNotSupported, "the piece does not lie against a wall of the V");
  }
  for (const Fixture& f : view.fixtures) {
    if (f.spec->role == FixtureRole::kClamp) CheckClamp(view, f, walls, *apex, findings);
  }
  return Ok{};
}

}  // namespace fitwright::replay
