#include "fitwright/replay/key.h"

#include <fmt/format.h>

#include <cstring>

#include "fitwright/base/hash.h"

namespace fitwright::replay {
namespace {

// Changes whenever the replay's own rules or cutting change, so that old files are not believed.
constexpr std::int64_t kReplayVersion = 6;

}  // namespace

std::string Key::Hex() const { return fmt::format("{:016x}{:016x}", high, low); }

KeyMaker& KeyMaker::Add(std::string_view text) {
  Add(static_cast<std::int64_t>(text.size()));
  bytes_.append(text);
  return *this;
}

KeyMaker& KeyMaker::Add(double number) {
  const double plain = number == 0 ? 0.0 : number;
  char raw[sizeof plain];
  std::memcpy(raw, &plain, sizeof plain);
  bytes_.append(raw, sizeof raw);
  return *this;
}

KeyMaker& KeyMaker::Add(std::int64_t number) {
  char raw[sizeof number];
  std::memcpy(raw, &number, sizeof number);
  bytes_.append(raw, sizeof raw);
  return *this;
}

KeyMaker& KeyMaker::Add(const Vec3& v) { return Add(v.x()).Add(v.y()).Add(v.z()); }

KeyMaker& KeyMaker::Add(const Pose& pose) {
  for (int column = 0; column < 4; ++column) {
    for (int row = 0; row < 3; ++row) Add(pose.matrix()(row, column));
  }
  return *this;
}

KeyMaker& KeyMaker::Add(const Key& key) {
  return Add(static_cast<std::int64_t>(key.high)).Add(static_cast<std::int64_t>(key.low));
}

KeyMaker& KeyMaker::Add(const Stock& stock) {
  Add(static_cast<int>(stock.form)).Add(stock.box_P.min_mm).Add(stock.box_P.max_mm);
  Add(stock.axis_P.point_mm).Add(stock.axis_P.direction);
  Add(stock.diameter_mm).Add(stock.inner_diameter_mm).Add(stock.from_mm).Add(stock.to_mm);
  return Add(stock.flat_normal_P).Add(stock.allowance_mm);
}

KeyMaker& KeyMaker::Add(const MachineTool& machine) {
  Add(machine.name.text()).Add(static_cast<int>(machine.kind)).Add(machine.travel_mm);
  Add(machine.swing_mm).Add(machine.swing_cross_slide_mm).Add(machine.between_centres_mm);
  Add(machine.daylight_mm).Add(machine.quill_mm).Add(machine.nose_diameter_mm);
  Add(machine.spindle_bore_mm).Add(machine.feed_max_mm_min).Add(machine.top_slide_mm).Add(machine.tailstock_over_mm);
  for (const double rpm : machine.speeds_rpm) Add(rpm);
  Add(static_cast<std::int64_t>(machine.pitches_mm.size()));
  for (const double pitch : machine.pitches_mm) Add(pitch);
  Add(machine.x_sense).Add(machine.y_sense).Add(machine.z_sense);
  return Add(machine.x_reads_diameter);
}

KeyMaker& KeyMaker::Add(const HoldingDevice& device) {
  Add(device.name.text()).Add(static_cast<int>(device.kind)).Add(device.on.text());
  Add(device.opening_mm).Add(device.jaw_width_mm).Add(device.jaw_height_mm);
  Add(device.jaw_thickness_mm).Add(device.bed_height_mm).Add(device.fixed_jaw_at_rear);
  for (const double height : device.parallels_mm) Add(height);
  Add(device.parallel_thickness_mm).Add(device.thin_parallel_thickness_mm).Add(device.body_diameter_mm).Add(device.body_length_mm);
  Add(device.jaw_reach_mm).Add(device.jaw_step_mm).Add(device.grip_min_mm);
  return Add(device.grip_max_mm).Add(device.bore_mm).Add(device.soft_jaws);
}

KeyMaker& KeyMaker::Add(const Tool& tool) {
  Add(tool.name.text()).Add(static_cast<int>(tool.kind)).Add(tool.on);
  Add(tool.diameter_mm).Add(tool.diameter_min_mm).Add(tool.point_deg).Add(tool.tip_flat_mm);
  Add(tool.flute_mm).Add(tool.stick_out_mm).Add(tool.shank_mm).Add(tool.holder_diameter_mm);
  Add(tool.holder_length_mm).Add(tool.centre_cutting).Add(tool.thread).Add(tool.rpm_max);
  Add(tool.width_mm).Add(tool.reach_mm).Add(tool.nose_radius_mm).Add(tool.hollow_radius_mm);
  Add(tool.pitch_mm);
  Add(static_cast<std::int64_t>(tool.section_T_mm.size()));
  for (const Vec2& corner : tool.section_T_mm) Add(corner.x()).Add(corner.y());
  return *this;
}

KeyMaker& KeyMaker::Add(const FixtureSolid& fixture) {
  Add(static_cast<int>(fixture.role)).Add(fixture.grips).Add(fixture.supports);
  Add(fixture.grip_normal_S.has_value());
  if (fixture.grip_normal_S) Add(*fixture.grip_normal_S);
  if (const auto* box = std::get_if<FixtureBox>(&fixture.shape)) {
    return Add(1).Add(box->box_F.min_mm).Add(box->box_F.max_mm).Add(box->X_SF);
  }
  const auto& ring = std::get<FixtureCylinder>(fixture.shape);
  Add(2).Add(ring.axis_S.point_mm).Add(ring.axis_S.direction).Add(ring.from_mm).Add(ring.to_mm);
  return Add(ring.outer_mm).Add(ring.inner_mm);
}

Key KeyMaker::Get() const {
  const std::uint64_t version = static_cast<std::uint64_t>(kReplayVersion);
  return {StableHash(bytes_, version), StableHash(bytes_, version ^ 0x9e3779b97f4a7c15ULL)};
}

}  // namespace fitwright::replay
