#include "fitwright/replay/floor.h"

#include <fmt/format.h>

namespace fitwright::replay {

PartId SheetOf(const PartId& part) { return PartId(part.text().substr(0, part.text().find('#'))); }

std::string PointThreadName(bool inside, double diameter_mm, double pitch_mm, double angle_deg) {
  if (inside) return fmt::format("inside {:g}, {:g} deg", pitch_mm, angle_deg);
  return fmt::format("outside {:g} x {:g}, {:g} deg", diameter_mm, pitch_mm, angle_deg);
}

bool Overlap(const Box3& a, const Box3& b, double by_mm) {
  const Vec3 shared = a.max_mm.cwiseMin(b.max_mm) - a.min_mm.cwiseMax(b.min_mm);
  return shared.minCoeff() > by_mm;
}

Box3 Grown(const Box3& box, double by_mm) {
  return {box.min_mm - Vec3::Constant(by_mm), box.max_mm + Vec3::Constant(by_mm)};
}

Box3 BoxOf(const FixtureSolid& fixture) {
  if (const auto* box = std::get_if<FixtureBox>(&fixture.shape)) {
    const Vec3 centre = box->X_SF * box->box_F.centre_mm();
    const Vec3 half = box->X_SF.linear().cwiseAbs() * (0.5 * box->box_F.size_mm());
    return {centre - half, centre + half};
  }
  const auto& ring = std::get<FixtureCylinder>(fixture.shape);
  const Vec3& n = ring.axis_S.direction;
  const Vec3 a = ring.axis_S.point_mm + n * ring.from_mm;
  const Vec3 b = ring.axis_S.point_mm + n * ring.to_mm;
  const Vec3 square = (Vec3::Ones() - n.cwiseAbs2()).cwiseMax(0.0).cwiseSqrt();
  const Vec3 out = square * (0.5 * ring.outer_mm);
  return {a.cwiseMin(b) - out, a.cwiseMax(b) + out};
}

std::optional<Box3> BoxOf(const Floor& floor) {
  std::optional<Box3> box;
  for (const Standing& s : floor) {
    if (!s.present || s.solid_S.empty()) continue;
    if (!box) {
      box = s.box_S;
    } else {
      box = Box3{box->min_mm.cwiseMin(s.box_S.min_mm), box->max_mm.cwiseMax(s.box_S.max_mm)};
    }
  }
  return box;
}

}  // namespace fitwright::replay
