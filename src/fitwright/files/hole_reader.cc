#include <cmath>

#include "fitwright/files/feature_reader.h"
#include "fitwright/files/size_reader.h"
#include "fitwright/model/material.h"
#include "fitwright/trade/threads.h"
#include "fitwright/units/length.h"

namespace fitwright::files {
namespace {

double FullTurn(double angle_deg) {
  const double turned = std::fmod(angle_deg, 360.0);
  return turned < 0 ? turned + 360.0 : turned + 0.0;
}

Vec3 Clean(Vec3 point) {
  for (int k = 0; k < 3; ++k) {
    if (std::abs(point[k]) < 1e-12) point[k] = 0;
  }
  return point;
}

std::vector<Vec3> PointsOnCircle(const CirclePattern& circle) {
  const Vec3 side = circle.axis_P.direction.cross(circle.zero_P);
  std::vector<Vec3> points;
  for (int i = 0; i < circle.count; ++i) {
    const double angle_rad = (circle.first_deg + i * 360.0 / circle.count) * kRadPerDeg;
    points.push_back(Clean(circle.axis_P.point_mm +
                           0.5 * circle.diameter_mm *
                               (std::cos(angle_rad) * circle.zero_P + std::sin(angle_rad) * side)));
  }
  return points;
}

}  // namespace

bool Square(TableReader& table, std::string_view key, const Vec3& a, const Vec3& b,
            std::string_view to_what) {
  if (std::abs(a.dot(b)) < 1e-9) return true;
  table.Fault(ErrorCode::kNotSquare, key, fmt::format("this side is not square to {}", to_what),
              fmt::format("name a side square to {}", SideWord(b)));
  return false;
}

const trade::ThreadRow* FindThreadRow(TableReader& table, std::string_view key) {
  const auto text = table.String(key);
  if (!text) return nullptr;
  const auto* row = trade::FindThread(*text);
  if (row != nullptr) return row;
  std::vector<std::string> nearest;
  for (const auto name : trade::NearestThreads(*text)) nearest.emplace_back(name);
  table.Fault(ErrorCode::kUnknownThread, key, "the thread is not in the table",
              fmt::format("known: {}; nearest: {}", trade::KnownThreads(), ListOf(nearest)));
  return nullptr;
}

namespace {

std::optional<CirclePattern> ReadCircle(TableReader& circle, const Placement& placement) {
  const auto diameter_mm = circle.PositiveLength_mm("diameter");
  circle.Require("diameter", "write the pitch circle's diameter");
  const auto count = circle.Integer("count", 1, 360);
  circle.Require("count", "write how many holes: count = 6");
  const auto first_deg = circle.Angle_deg("first");
  const auto zero = circle.Side("zero");
  circle.Require("zero", "name the side that angles are counted from: zero = \"+z\"");
  const auto towards = circle.Side("towards");
  circle.Require("towards", "name the side that angles are counted towards: towards = \"+y\"");
  circle.Finish();
  if (!diameter_mm || !count || !zero || !towards) return std::nullopt;
  if (circle.Has("first") && !first_deg) return std::nullopt;
  if (!Square(circle, "zero", *zero, placement.out_P, "the side in from")) return std::nullopt;
  if (!Square(circle, "towards", *towards, placement.out_P, "the side in from") ||
      !Square(circle, "towards", *towards, *zero, "zero")) {
    return std::nullopt;
  }
  CirclePattern pattern;
  pattern.axis_P = Axis3{placement.points_P_mm.front(), placement.out_P};
  pattern.zero_P = *zero;
  pattern.diameter_mm = *diameter_mm;
  pattern.count = static_cast<int>(*count);
  // The sheet may count against the right hand; the model does not. The first hole stays the first.
  const double sense = placement.out_P.cross(*zero).dot(*towards);
  pattern.first_deg = FullTurn(sense * first_deg.value_or(0));
  return pattern;
}

std::optional<InternalThread> ReadThread(TableReader& table) {
  const auto* row = FindThreadRow(table, "thread");
  if (row == nullptr) return std::nullopt;
  return InternalThread{std::string(row->designation), row->major_mm, row->pitch_mm, 0};
}

// The size; a tapped hole without a stated diameter takes its tap drill.
std::optional<Size> ReadHoleSize(TableReader& table, PartDraft& draft, const Feature& feature,
                                 const std::optional<InternalThread>& thread) {
  SizeWish wish;
  wish.general_tolerance = draft.part.general_tolerance;
  if (thread) {
    const double drill_mm = trade::FindThread(thread->designation)->tap_drill_mm;
    wish.nominal_mm = drill_mm;
    if (!table.Has("diameter")) {
      draft.tap_drill_assumed.push_back(fmt::format(
          "{} {} for {}", feature.name.text(), FormatTrimmed(drill_mm, 3), thread->designation));
    }
  }
  const auto size = ReadSize(table, wish);
  if (!size) return std::nullopt;
  if (thread && (size->nominal_mm >= thread->major_mm ||
                 size->nominal_mm < thread->major_mm - 1.5 * thread->pitch_mm)) {
    table.Fault(ErrorCode::kThreadMismatch, "diameter",
                fmt::format("a hole of this diameter cannot be tapped {}", thread->designation),
                fmt::format("the tap drill is {} mm; leave diameter out to take it",
                            FormatTrimmed(*wish.nominal_mm, 3)));
    return std::nullopt;
  }
  if (size->origin == LimitsOrigin::kGeneralTolerance) {
    draft.by_general_tolerance.push_back(feature.name.text());
  }
  return size;
}

// rows x columns about the middle: columns along `along`, rows square to it, row by row.
std::optional<std::vector<Vec3>> ReadGrid(TableReader& grid, const Placement& placement) {
  constexpr std::int64_t kMost = 1000;
  const auto rows = grid.Integer("rows", 1, kMost);
  grid.Require("rows", "write how many rows: rows = 2");
  const auto columns = grid.Integer("columns", 1, kMost);
  grid.Require("columns", "write how many holes in a row: columns = 3");
  const auto pitch_mm = grid.Lengths_mm("pitch", 2, 2);
  grid.Require("pitch", "write the distances in a row and between rows: pitch = [20, 15]");
  const auto along = ReadAlong(grid, placement.out_P);
  grid.Finish();
  if (!rows || !columns || !pitch_mm || !along) return std::nullopt;
  const bool apart = (*columns == 1 || (*pitch_mm)[0] > 0) && (*rows == 1 || (*pitch_mm)[1] > 0);
  if (!apart || *rows * *columns > kMost) {
    grid.Fault(ErrorCode::kBadGrid, "pitch",
               apart ? "the grid has over 1000 holes" : "the holes of the grid stand on each other",
               "write distances above zero in pitch, and fewer rows or columns");
    return std::nullopt;
  }
  const Vec3 up = placement.out_P.cross(*along);
  std::vector<Vec3> points;
  for (std::int64_t row = 0; row < *rows; ++row) {
    for (std::int64_t column = 0; column < *columns; ++column) {
      const double u = (static_cast<double>(column) - 0.5 * static_cast<double>(*columns - 1));
      const double v = (static_cast<double>(row) - 0.5 * static_cast<double>(*rows - 1));
      points.push_back(Clean(placement.points_P_mm.front() + u * (*pitch_mm)[0] * *along +
                             v * (*pitch_mm)[1] * up));
    }
  }
  return points;
}

HoleUse UseOf(FeatureWord word) {
  if (word == FeatureWord::kBore) return HoleUse::kBore;
  return word == FeatureWord::kCounterbore ? HoleUse::kCounterbore : HoleUse::kHole;
}

// depth, through, until and bottom.
bool ReadDepth(TableReader& table, PartDraft& draft, FeatureWord word, const Feature& feature,
               Hole& hole, HoleTask& task) {
  const auto depth_mm = table.PositiveLength_mm("depth");
  const auto through = table.Bool("through");
  const auto until = table.String("until");
  const auto bottom = table.Word<HoleBottom>("bottom");
  if (!table.AtMostOne({"depth", "through", "until"})) return false;
  if (!table.Has("depth") && !table.Has("through") && !table.Has("until")) {
    table.Require("depth", "write depth = ..., through = true or until = \"NAME\"");
    return false;
  }
  if (through && !*through) {
    table.Fault(ErrorCode::kConflictingKeys, "through",
                "a hole that is not through needs its depth", "write depth = ... instead");
    return false;
  }
  if (table.Has("depth")) {
    if (!depth_mm || (table.Has("bottom") && !bottom)) return false;
    hole.depth_mm = *depth_mm;
    hole.bottom = word == FeatureWord::kHole ? HoleBottom::kPoint118 : HoleBottom::kFlat;
    if (bottom) hole.bottom = *bottom;
    if (!bottom && word == FeatureWord::kHole) {
      draft.point_assumed.push_back(feature.name.text());
    }
    return true;
  }
  if (!through && !until) return false;
  if (table.Has("bottom")) {
    table.Fault(ErrorCode::kConflictingKeys, "bottom", "a hole that runs out has no bottom",
                "take bottom out, or write depth = ...");
    return false;
  }
  hole.through = true;
  task.through = until == std::nullopt;
  task.until = until.value_or("");
  return true;
}

// Full thread where the sheet does not say: the drilled depth less what a plug tap leaves.
bool SettleThreadDepth(TableReader& table, PartDraft& draft, const Feature& feature, Hole& hole) {
  if (!hole.thread) return true;
  if (table.Has("thread_depth")) {
    if (hole.thread->depth_mm <= hole.depth_mm + kDrawnAlike_mm) return true;
    table.Fault(
        ErrorCode::kOutOfRange, "thread_depth",
        fmt::format("the thread is deeper than the hole of {} mm", FormatTrimmed(hole.depth_mm, 3)),
        "drill deeper, or thread less deep");
    return false;
  }
  const double lead_mm = hole.through ? 0 : trade::kPlugTapLead_pitches * hole.thread->pitch_mm;
  hole.thread->depth_mm = hole.depth_mm - lead_mm;
  draft.thread_depth_assumed.push_back(
      fmt::format("{} {}", feature.name.text(), FormatTrimmed(hole.thread->depth_mm, 3)));
  if (hole.thread->depth_mm > 0) return true;
  table.Fault(
      ErrorCode::kOutOfRange, "depth",
      fmt::format("no thread is left above a plug tap's lead of {} mm", FormatTrimmed(lead_mm, 3)),
      "drill deeper");
  return false;
}

bool BlindInsidePart(TableReader& table, const PartDraft& draft, const Placement& placement,
                     const Hole& hole) {
  const double whole_mm = DepthThrough(draft.part, placement, 0.5 * hole.diameter.middle_mm());
  if (hole.depth_mm <= whole_mm + kDrawnAlike_mm) return true;
  table.Fault(ErrorCode::kOutsidePart, "depth",
              fmt::format("the part ends {} mm below the entry", FormatTrimmed(whole_mm, 3)),
              "write through = true, or a depth inside the part");
  return false;
}

// thread and thread_depth.
bool ReadThreadKeys(TableReader& table, Hole& hole) {
  hole.thread = ReadThread(table);
  const auto depth_mm = table.PositiveLength_mm("thread_depth");
  if (depth_mm && hole.thread) hole.thread->depth_mm = *depth_mm;
  if (table.Has("thread_depth") && !table.Has("thread")) {
    table.Fault(ErrorCode::kMissingKey, "thread_depth", "thread is not stated",
                "write thread = \"M3\", or take thread_depth out");
    return false;
  }
  return hole.thread.has_value() || !table.Has("thread");
}

}  // namespace

std::optional<double> DepthUntil(const Vec3& point_P_mm, const Vec3& into_P, const Hole& target,
                                 double radius_mm) {
  std::optional<double> nearest_mm;
  const auto offer = [&](double depth_mm) {
    if (depth_mm > kDrawnAlike_mm && (!nearest_mm || depth_mm < *nearest_mm)) nearest_mm = depth_mm;
  };
  const double target_mm = 0.5 * target.diameter.middle_mm();
  for (const Vec3& entry : target.entries_P_mm) {
    const Vec3 gap = entry - point_P_mm;
    const double turn = into_P.dot(target.into_P);
    if (std::abs(turn) > 1.0 - 1e-9) {
      const Vec3 aside = gap - gap.dot(into_P) * into_P;
      if (aside.norm() > target_mm + radius_mm) continue;
      offer(gap.dot(into_P));
      offer((gap + target.depth_mm * target.into_P).dot(into_P));
      continue;
    }
    // Sides are along the axes, so what is not parallel is square.
    const double depth_mm = gap.dot(into_P);
    const double along_mm = -gap.dot(target.into_P);
    const Vec3 apart = gap - depth_mm * into_P + along_mm * target.into_P;
    const bool within = along_mm > -radius_mm && along_mm < target.depth_mm + radius_mm;
    const double edge_mm = apart.norm() + radius_mm;
    const double left_mm = edge_mm < target_mm ? std::sqrt(target_mm * target_mm - edge_mm * edge_mm) : 0;
    if (within && apart.norm() < target_mm) offer(depth_mm - left_mm);
  }
  return nearest_mm;
}

bool ReadHole(TableReader& table, PartDraft& draft, FeatureWord word, Feature& feature,
              HoleTask& task) {
  Hole hole;
  hole.use = UseOf(word);
  const bool plain = word == FeatureWord::kHole;
  table.Know({"diameter", "fit", "plus_minus", "limits", "deviations"});
  auto placement = ReadPlacement(table, draft.part, true);
  bool good = placement.has_value();
  if (plain) good &= ReadThreadKeys(table, hole);
  auto circle_table = table.Table("circle");
  auto grid_table = table.Table("grid");
  const bool one_way = table.AtMostOne({"circle", "grid", "points"});
  good &= ReadDepth(table, draft, word, feature, hole, task);
  std::optional<Size> size;
  const bool thread_faulty = plain && table.Has("thread") && !hole.thread;
  if (!thread_faulty) size = ReadHoleSize(table, draft, feature, hole.thread);
  if (circle_table && placement) {
    hole.circle = ReadCircle(*circle_table, *placement);
    if (!hole.circle) return false;
    placement->points_P_mm = PointsOnCircle(*hole.circle);
  }
  if (grid_table && placement) {
    const auto points = ReadGrid(*grid_table, *placement);
    if (!points) return false;
    placement->points_P_mm = *points;
  }
  if (!good || !size || !one_way || (table.Has("circle") && !circle_table)) return false;
  if (table.Has("grid") && !grid_table) return false;
  hole.diameter = *size;
  if (!SettleEntry(table, draft, 0.5 * hole.diameter.middle_mm(), *placement)) return false;
  hole.into_P = -placement->out_P;
  hole.entries_P_mm = placement->points_P_mm;
  if (hole.circle) {
    const int axis = AxisOf(placement->out_P);
    hole.circle->axis_P.point_mm[axis] = *placement->entry_mm;
  }
  if (!hole.through && !BlindInsidePart(table, draft, *placement, hole)) return false;
  if (!hole.through && !SettleThreadDepth(table, draft, feature, hole)) return false;
  feature.shape = hole;
  return true;
}

bool FinishHole(TableReader& table, PartDraft& draft, const HoleTask& task, Feature& feature) {
  Hole& hole = std::get<Hole>(feature.shape);
  const double radius_mm = 0.5 * hole.diameter.middle_mm();
  if (task.through) {
    Placement placement;
    placement.out_P = -hole.into_P;
    placement.points_P_mm = hole.entries_P_mm;
    hole.depth_mm = DepthThrough(draft.part, placement, radius_mm);
    return SettleThreadDepth(table, draft, feature, hole);
  }
  const Feature* target = draft.part.Find(FeatureId(task.until));
  const Hole* other = target == nullptr ? nullptr : std::get_if<Hole>(&target->shape);
  FW_CHECK(other != nullptr && other != &hole, task.until);
  for (const Vec3& entry : hole.entries_P_mm) {
    const auto depth_mm = DepthUntil(entry, hole.into_P, *other, radius_mm);
    if (!depth_mm) {
      table.Fault(ErrorCode::kUntilNotMet, "until", "the hole does not run into the one named here",
                  "mend at, from or until, or write depth = ...");
      return false;
    }
    hole.depth_mm = std::max(hole.depth_mm, *depth_mm);
  }
  return SettleThreadDepth(table, draft, feature, hole);
}

}  // namespace fitwright::files
