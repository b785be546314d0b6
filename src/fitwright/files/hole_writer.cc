#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/files/feature_reader.h"
#include "fitwright/files/feature_writer.h"

namespace fitwright::files {
namespace {

std::string_view KindOf(HoleUse use) {
  if (use == HoleUse::kBore) return "bore";
  return use == HoleUse::kCounterbore ? "counterbore" : "hole";
}

struct Grid {
  Vec3 middle = Vec3::Zero();
  Vec3 along = Vec3::UnitX();
  int rows = 1;
  int columns = 1;
  double pitch_mm = 0;  // in a row
  double apart_mm = 0;  // between rows
};

bool IsGrid(const std::vector<Vec3>& points, const Vec3& out, const Grid& grid) {
  const Vec3 up = out.cross(grid.along);
  for (int row = 0; row < grid.rows; ++row) {
    for (int column = 0; column < grid.columns; ++column) {
      const Vec3 place = grid.middle +
                         (column - 0.5 * (grid.columns - 1)) * grid.pitch_mm * grid.along +
                         (row - 0.5 * (grid.rows - 1)) * grid.apart_mm * up;
      if (!Alike(points[static_cast<std::size_t>(row) * static_cast<std::size_t>(grid.columns) + static_cast<std::size_t>(column)], place))
        return false;
    }
  }
  return true;
}

// The holes as rows and columns in the order that the reader makes them; two holes are points.
std::optional<Grid> FindGrid(const std::vector<Vec3>& points, const Vec3& out) {
  const int count = static_cast<int>(points.size());
  if (count < 3) return std::nullopt;
  const Vec3 step = points[1] - points[0];
  Grid grid;
  grid.pitch_mm = step.norm();
  if (grid.pitch_mm < kDrawnAlike_mm) return std::nullopt;
  grid.along = step / grid.pitch_mm;
  if (grid.along.cwiseAbs().maxCoeff() < 1 - 1e-9) return std::nullopt;
  for (const Vec3& point : points) grid.middle += point / count;
  for (grid.columns = 2; grid.columns <= count; ++grid.columns) {
    if (count % grid.columns != 0) continue;
    grid.rows = count / grid.columns;
    grid.apart_mm = 0;
    if (grid.rows > 1) {
      grid.apart_mm =
          (points[static_cast<std::size_t>(grid.columns)] - points[0]).dot(out.cross(grid.along));
      if (grid.apart_mm < kDrawnAlike_mm) continue;
    }
    if (IsGrid(points, out, grid)) return grid;
  }
  return std::nullopt;
}

std::string CircleText(const CirclePattern& circle, const Vec3& out, const SheetText& text) {
  Vec3 zero = circle.zero_P;
  double first_deg = circle.first_deg;
  if (zero.cwiseAbs().maxCoeff() < 1 - 1e-9) {
    zero = Vec3::Unit(AxisOf(out) == 0 ? 1 : 0);
    first_deg +=
        std::atan2(circle.zero_P.dot(out.cross(zero)), circle.zero_P.dot(zero)) / kRadPerDeg;
    if (first_deg < 0) first_deg += 360;
  }
  const std::string first = ShortNumber(first_deg);
  return fmt::format("{{ diameter = {}, count = {}, {}zero = \"{}\", towards = \"{}\" }}",
                     text.LengthOf(circle.diameter_mm), circle.count,
                     first == "0" ? "" : fmt::format("first = {}, ", first), SideWord(zero),
                     SideWord(out.cross(zero)));
}

bool OnTurningAxis(const Part& part, const Vec3& out, const Vec3& point) {
  if (part.envelope != EnvelopeKind::kTurned) return false;
  const Axis3& axis = part.turning_axis_P;
  return std::abs(axis.direction.dot(out)) > 1 - 1e-9 &&
         (point - axis.point_mm).cross(axis.direction).norm() < kGeometryNoise_mm;
}

// at and a pattern about it, or points; and the entry plane where it must be said.
void WritePlaces(const Part& part, const Hole& hole, SheetText& text) {
  const Vec3 out = -hole.into_P;
  const auto grid = hole.circle ? std::nullopt : FindGrid(hole.entries_P_mm, out);
  const auto entry_mm = EntryToState(part, out, hole.entries_P_mm, 0.5 * hole.diameter.middle_mm());
  if (hole.circle || grid || hole.entries_P_mm.size() == 1) {
    Vec3 middle = hole.circle ? hole.circle->axis_P.point_mm
                  : grid      ? grid->middle
                              : hole.entries_P_mm[0];
    if (OnTurningAxis(part, out, middle)) {
      if (entry_mm) text.Length("entry", *entry_mm);
    } else if (entry_mm) {
      middle[AxisOf(out)] = *entry_mm;
      text.Lengths("at", {middle[0], middle[1], middle[2]});
    } else {
      text.Lengths("at", OnPlane(middle, out));
    }
  } else {
    std::vector<std::string> points;
    for (const Vec3& point : hole.entries_P_mm) points.push_back(text.ListOf(OnPlane(point, out)));
    text.Key("points", BracketList(points));
    if (entry_mm) text.Length("entry", *entry_mm);
  }
  if (hole.circle) text.Key("circle", CircleText(*hole.circle, out, text));
  if (!grid) return;
  text.Key("grid",
           fmt::format("{{ rows = {}, columns = {}, pitch = {}, along = \"{}\" }}", grid->rows,
                       grid->columns, text.ListOf({grid->pitch_mm, grid->apart_mm}),
                       SideWord(grid->along)));
}

bool IsThrough(const Part& part, const Hole& hole) {
  Placement placement;
  placement.out_P = -hole.into_P;
  placement.points_P_mm = hole.entries_P_mm;
  return Alike(DepthThrough(part, placement, 0.5 * hole.diameter.middle_mm()), hole.depth_mm);
}

bool RunsUntil(const Hole& hole, const Hole& target) {
  double depth_mm = 0;
  for (const Vec3& entry : hole.entries_P_mm) {
    const auto one_mm = DepthUntil(entry, hole.into_P, target, 0.5 * hole.diameter.middle_mm());
    if (!one_mm) return false;
    depth_mm = std::max(depth_mm, *one_mm);
  }
  return Alike(depth_mm, hole.depth_mm);
}

// The hole that this one runs out into. One that runs until another itself must stand before it, so
// that no two wait for each other.
const Feature* FindEnd(const Part& part, const Feature& feature, const Hole& hole) {
  bool before = true;
  for (const Feature& other : part.features) {
    if (&other == &feature) {
      before = false;
      continue;
    }
    const auto* target = std::get_if<Hole>(&other.shape);
    if (target == nullptr || !RunsUntil(hole, *target)) continue;
    if (before || !target->through || IsThrough(part, *target)) return &other;
  }
  return nullptr;
}

void WriteDepth(const Part& part, const Feature& feature, const Hole& hole, SheetText& text) {
  const HoleBottom usual = hole.use == HoleUse::kHole ? HoleBottom::kPoint118 : HoleBottom::kFlat;
  if (hole.through && IsThrough(part, hole)) return text.Yes("through");
  if (hole.through) {
    if (const Feature* end = FindEnd(part, feature, hole))
      return text.Text("until", end->name.text());
  }
  text.Length("depth", hole.depth_mm);
  const HoleBottom bottom = hole.through ? HoleBottom::kFlat : hole.bottom;
  if (bottom != usual) text.Word("bottom", WordOf(bottom));
}

}  // namespace

void WriteHole(const Part& part, const Feature& feature, const Hole& hole, SheetText& text) {
  text.Word("kind", KindOf(hole.use));
  text.Side("from", -hole.into_P);
  WritePlaces(part, hole, text);
  const auto* row = hole.thread ? trade::FindThread(hole.thread->designation) : nullptr;
  const bool tap_drill = row != nullptr && Alike(row->tap_drill_mm, hole.diameter.nominal_mm) &&
                         IsGeneral(part, hole.diameter);
  if (!tap_drill) WriteSize(part, "diameter", hole.diameter, text);
  if (hole.thread) {
    text.Text("thread", hole.thread->designation);
    const double lead_mm = hole.through ? 0 : trade::kPlugTapLead_pitches * hole.thread->pitch_mm;
    if (!Alike(hole.thread->depth_mm, hole.depth_mm - lead_mm))
      text.Length("thread_depth", hole.thread->depth_mm);
  }
  WriteDepth(part, feature, hole, text);
}

}  // namespace fitwright::files
