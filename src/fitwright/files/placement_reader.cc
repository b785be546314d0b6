#include <algorithm>
#include <cmath>

#include "fitwright/files/feature_reader.h"
#include "fitwright/model/material.h"

namespace fitwright::files {
namespace {

// The point with two coordinates given in x y z order, or all three.
Vec3 PointOnPlane(const std::vector<double>& numbers, int axis) {
  if (numbers.size() == 3) return Vec3(numbers[0], numbers[1], numbers[2]);
  Vec3 point = Vec3::Zero();
  std::size_t next = 0;
  for (int k = 0; k < 3; ++k) {
    if (k != axis) point[k] = numbers[next++];
  }
  return point;
}

bool AlongTurningAxis(const Part& part, const Vec3& out) {
  return part.envelope == EnvelopeKind::kTurned &&
         std::abs(std::abs(part.turning_axis_P.direction.dot(out)) - 1.0) < 1e-9;
}

// The coordinate that points with three numbers state; reports points on different planes.
bool TakeEntryFromPoints(TableReader& table, std::string_view key,
                         const std::vector<std::vector<double>>& lists, int axis,
                         Placement& placement) {
  for (const auto& numbers : lists) {
    placement.points_P_mm.push_back(PointOnPlane(numbers, axis));
    if (numbers.size() != 3) continue;
    const double along_mm = numbers[static_cast<std::size_t>(axis)];
    if (placement.entry_mm && std::abs(*placement.entry_mm - along_mm) > kDrawnAlike_mm) {
      table.Fault(ErrorCode::kConflictingKeys, key,
                  fmt::format("the entry plane is stated twice, as {:.4f} and {:.4f}",
                              *placement.entry_mm, along_mm),
                  "write the two other coordinates, and entry once");
      return false;
    }
    placement.entry_mm = along_mm;
  }
  return true;
}

// Rays that stand for a round footprint: its middle and eight points just inside its edge.
std::vector<Vec3> Footprint(const Vec3& centre, const Vec3& out, double radius_mm) {
  constexpr double kJustInside = 0.98;
  const Vec3 u = std::abs(out.z()) > 0.5 ? Vec3::UnitX() : Vec3::UnitZ();
  const Vec3 v = out.cross(u);
  std::vector<Vec3> points{centre};
  for (int i = 0; i < 8; ++i) {
    const double angle_rad = i * kPi / 4;
    points.push_back(centre +
                     kJustInside * radius_mm * (std::cos(angle_rad) * u + std::sin(angle_rad) * v));
  }
  return points;
}

// A stated entry on a named face stands where the face's middle of limits is.
double OnFace(const Part& part, const Vec3& out, double entry_mm) {
  const int axis = AxisOf(out);
  for (const Feature& feature : part.features) {
    const auto* face = std::get_if<PlanarFace>(&feature.shape);
    if (face == nullptr || std::abs(face->normal_P.dot(out) - 1.0) > 1e-9) continue;
    const double sense = face->normal_P[axis];
    if (std::abs(sense * face->at.nominal_mm - entry_mm) < kDrawnAlike_mm) {
      return sense * face->at.middle_mm();
    }
  }
  return entry_mm;
}

}  // namespace

std::optional<Placement> ReadPlacement(TableReader& table, const Part& part, bool many) {
  Placement placement;
  const auto out = table.Side("from");
  table.Require("from", "name the side the tool comes from: from = \"+z\"");
  const auto entry_mm = table.Length_mm("entry");
  std::optional<std::vector<double>> at = table.Lengths_mm("at", 2, 3);
  std::optional<std::vector<std::vector<double>>> points;
  if (many) points = table.PointList_mm("points", 2, 3);
  const bool one_way = !many || table.AtMostOne({"at", "points"});
  const bool given = table.Has("at") || (many && table.Has("points"));
  if (!out || !one_way || (table.Has("entry") && !entry_mm)) return std::nullopt;
  if (given && !at && !points) return std::nullopt;
  placement.out_P = *out;
  placement.entry_mm = entry_mm;
  const int axis = AxisOf(*out);
  if (!given) {
    if (!AlongTurningAxis(part, *out)) {
      table.Require("at", "write the place on the entry plane: at = [0, 0]");
      return std::nullopt;
    }
    placement.points_P_mm.push_back(part.turning_axis_P.point_mm);
    return placement;
  }
  const auto lists = points ? *points : std::vector<std::vector<double>>(1, *at);
  if (!TakeEntryFromPoints(table, points ? "points" : "at", lists, axis, placement)) {
    return std::nullopt;
  }
  return placement;
}

std::optional<double> FirstMaterial_mm(const Part& part, const Placement& placement,
                                       double radius_mm) {
  const int axis = AxisOf(placement.out_P);
  std::optional<double> height_mm;  // along out_P
  for (const Vec3& point : placement.points_P_mm) {
    Vec3 base = point;
    base[axis] = 0;
    for (const Vec3& ray : Footprint(base, placement.out_P, radius_mm)) {
      const auto stretches = CalcMaterialAlong(part, ray, -placement.out_P);
      if (stretches.empty()) continue;
      const double top_mm = -stretches.front().from_mm;
      height_mm = height_mm ? std::max(*height_mm, top_mm) : top_mm;
    }
  }
  if (!height_mm) return std::nullopt;
  return OnFace(part, placement.out_P, placement.out_P[axis] * *height_mm);
}

bool SettleEntry(TableReader& table, const PartDraft& draft, double radius_mm,
                 Placement& placement) {
  if (!draft.envelope_sound) return false;
  const Part& part = draft.part;
  const int axis = AxisOf(placement.out_P);
  const double sense = placement.out_P[axis];
  for (const Vec3& point : placement.points_P_mm) {
    Vec3 base = point;
    base[axis] = 0;
    const auto middle = CalcMaterialAlong(part, base, -placement.out_P);
    if (middle.empty()) {
      table.Fault(ErrorCode::kOutsidePart, table.Has("points") ? "points" : "at",
                  "there is nothing of the part at this place",
                  "mend the place, or the side in from; coordinates stand in x y z order");
      return false;
    }
    if (placement.entry_mm && sense * *placement.entry_mm <= -middle.back().to_mm) {
      table.Fault(ErrorCode::kOutsidePart, table.Has("entry") ? "entry" : "at",
                  "beyond this entry plane there is nothing of the part",
                  fmt::format("entry is the plane's own {} coordinate", "xyz"[axis]));
      return false;
    }
  }
  if (!placement.entry_mm) placement.entry_mm = FirstMaterial_mm(part, placement, radius_mm);
  placement.entry_mm = OnFace(part, placement.out_P, placement.entry_mm.value_or(0));
  for (Vec3& point : placement.points_P_mm) point[axis] = *placement.entry_mm;
  return true;
}

double DepthThrough(const Part& part, const Placement& placement, double radius_mm) {
  double depth_mm = 0;
  for (const Vec3& point : placement.points_P_mm) {
    for (const Vec3& ray : Footprint(point, placement.out_P, radius_mm)) {
      const auto stretches = CalcMaterialAlong(part, ray, -placement.out_P);
      if (!stretches.empty()) depth_mm = std::max(depth_mm, stretches.back().to_mm);
    }
  }
  return depth_mm;
}

}  // namespace fitwright::files
