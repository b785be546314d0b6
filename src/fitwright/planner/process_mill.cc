// Plane surfaces on the mill: faces, chamfers cut as faces in a tilted setup, steps, flats.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "fitwright/model/shapes.h"
#include "fitwright/planner/angle_setting.h"
#include "fitwright/planner/paths.h"
#include "fitwright/planner/paths_design.h"
#include "fitwright/planner/process_common.h"

namespace fitwright::planner {
namespace {

constexpr double kOverhang_mm = 1;        // of the outer rows beyond the region
constexpr double kRun_mm = 2;             // of a cutter beyond the edge it leaves
constexpr double kFinishMilled_mm = 0.3;  // last level
constexpr double kDepthShare = 0.9;       // of a cutter's flutes, taken at one go in the drawn path

struct FacePlan {
  const Tool* tool = nullptr;
  CutSettings settings;
  std::vector<double> levels;
  std::vector<Row> rows;
  double minutes = 0;
};

constexpr double kWayBack_min = 0.1;     // up, back clear of the work and down again
constexpr const char* kOneWay =
    "Feed each row the way the table has it, against the cutter; lift to go back. Stop the spindle "
    "to brush the chips away.";

double RowMinutes(const std::vector<Row>& rows, const CutSettings& s) {
  if (s.feed_mm_min <= 0) return 1e9;
  return LengthOf(rows) / s.feed_mm_min + kWayBack_min * static_cast<double>(rows.size());
}

Status AddRows(Job& job, Step& step, const Tool& tool, const std::vector<Row>& rows,
               double lift_mm = 0) {
  for (std::size_t i = 0; i < rows.size(); ++i) {
    PathPiece piece;
    piece.kind = PathKind::kMill;
    piece.points_S_mm = {rows[i][0], rows[i][1]};
    for (Vec3& p : piece.points_S_mm) p.z() += lift_mm;
    const std::string row = std::to_string(i + 1);
    if (const Status s = AddPath(job, step, tool, std::move(piece), {row + " from", row + " to"}); !s)
      return s;
  }
  return Ok{};
}

// Whichever fly cutter or end mill faces the region soonest.
std::optional<FacePlan> ChooseFacing(const Job& job, const FlatRegion& region, double z_mm,
                                     double allowance_mm, double least_mm) {
  std::optional<FacePlan> best;
  for (const Tool& tool : job.shop().tools) {
    const bool fly = tool.kind == ToolKind::kFlyCutter;
    if ((!fly && tool.kind != ToolKind::kEndMill) || !GoesOn(tool, job.machine()) ||
        tool.diameter_mm < least_mm)
      continue;
    if (tool.stick_out_mm < allowance_mm + 1) continue;
    const double width = std::min(tool.diameter_mm, 2 * region.half_v_mm);
    const auto settings = ChooseSettings(
        job.machine(), job.material, tool,
        {fly ? trade::CutKind::kMillFace : trade::CutKind::kMillSlot, tool.diameter_mm, width});
    if (!settings || settings->depth_mm <= 0) continue;
    FacePlan plan;
    plan.tool = &tool;
    plan.settings = *settings;
    plan.levels =
        PassLevels(allowance_mm, std::min(settings->depth_mm, tool.flute_mm), kFinishMilled_mm);
    plan.rows = CoverRows(region, z_mm, tool.diameter_mm, kRun_mm, kOverhang_mm);
    plan.minutes =
        static_cast<double>(plan.levels.size()) * (RowMinutes(plan.rows, *settings) + 0.4);
    if (!best || plan.minutes < best->minutes - 1e-9) best = plan;
  }
  return best;
}

// The final level, and above it as many as the flutes need to reach all of the metal.
Status AddLevels(Job& job, Step& step, const Tool& tool, const std::vector<Row>& rows,
                 double allowance_mm) {
  const double slice = kDepthShare * tool.flute_mm;
  const int slices = std::max(1, static_cast<int>(std::ceil(allowance_mm / slice - 1e-9)));
  for (int i = slices - 1; i >= 0; --i) {
    if (const Status s = AddRows(job, step, tool, rows, i * slice); !s) return s;
  }
  return Ok{};
}

Status AddFacing(Job& job, const FlatRegion& region, double z_mm, double allowance_mm,
                 double least_mm, Operation operation, const std::string& what) {
  const auto plan = ChooseFacing(job, region, z_mm, allowance_mm, least_mm);
  if (!plan)
    return NoPlan(job, "no cutter of the shop faces it on this machine",
                  "buy an end mill or a fly cutter");
  Step& step = AddStep(job, operation, *plan->tool, plan->settings);
  step.depth_mm = allowance_mm;
  step.levels_mm = plan->levels;
  if (const Status s = AddLevels(job, step, *plan->tool, plan->rows, allowance_mm); !s) return s;
  step.words =
      fmt::format("{} with the {}, {} off in {}.", what, plan->tool->words, Num(allowance_mm),
                  plan->levels.size() == 1
                      ? "one level"
                      : fmt::format("{} levels, the last a light one", plan->levels.size()));
  if (plan->tool->kind == ToolKind::kFlyCutter) {
    step.caution =
        fmt::format("Fly cutter: not above {} rpm, never in reverse; stand out of its line.",
                    Num(plan->settings.rpm));
  } else {
    step.caution = kOneWay;
  }
  SetMinutes(job, step, plan->minutes);
  return Ok{};
}

}  // namespace

bool DesignStands(const Job& job, const Vec3& p_S) {
  return DesignHolds(job.part(), job.piece.X_PS * p_S);
}

Status CutMilledFace(Job& job) {
  const auto& first = std::get<PlanarFace>(job.feature.shape);
  const double z = job.ToS(first.normal_P * first.at.middle_mm()).z();
  double top = -1e9;
  Vec2 lo(1e9, 1e9);
  Vec2 hi(-1e9, -1e9);
  for (const FeatureRef& ref : job.request.features) {
    const PieceInSetup* piece = nullptr;
    for (const PieceInSetup& p : job.context.pieces) {
      if (p.part->name == ref.part) piece = &p;
    }
    FW_CHECK(piece != nullptr, ref.text());
    const Feature* feature = piece->part->Find(ref.feature);
    const auto* face = feature == nullptr ? nullptr : std::get_if<PlanarFace>(&feature->shape);
    if (face == nullptr) return NoPlan(job, fmt::format("{} is not a plane face", ref.text()));
    const Pose X_SP = piece->X_PS.inverse();
    if ((X_SP.linear() * face->normal_P).z() < 1 - kDirection) {
      return NoPlan(job, fmt::format("{} does not face the spindle in this setup", ref.text()),
                    "turn the part so that it does");
    }
    if (std::abs((X_SP * Vec3(face->normal_P * face->at.middle_mm())).z() - z) > kDrawnAlike_mm) {
      return NoPlan(job, fmt::format("{} does not lie at one height with the others", ref.text()));
    }
    lo = lo.cwiseMin(Vec2(piece->piece_S.min_mm.head<2>()));
    hi = hi.cwiseMax(Vec2(piece->piece_S.max_mm.head<2>()));
    top = std::max(top, piece->piece_S.max_mm.z());
  }
  const double level = z + job.request.leave_mm;
  const double allowance = top - level;
  if (allowance < kZone_mm) return NoPlan(job, "nothing stands over it to be milled off");
  FlatRegion region;
  region.centre_mm = 0.5 * (lo + hi);
  const bool long_x = hi.x() - lo.x() >= hi.y() - lo.y();
  region.u = long_x ? Vec2::UnitX() : Vec2::UnitY();
  region.half_u_mm = 0.5 * (long_x ? hi.x() - lo.x() : hi.y() - lo.y());
  region.half_v_mm = 0.5 * (long_x ? hi.y() - lo.y() : hi.x() - lo.x());
  std::string what = "Face " + NameWords(job.feature.name);
  if (job.request.features.size() > 1) {
    what = "Face";
    for (std::size_t i = 0; i < job.request.features.size(); ++i) {
      what += (i == 0                                 ? " "
               : i + 1 == job.request.features.size() ? " and "
                                                      : ", ") +
              job.request.features[i].part.text();
    }
    what += " in one go";
  }
  if (const Status s = AddFacing(job, region, level, allowance, 10, Operation::kFace, what); !s)
    return s;
  Step& step = job.result.steps.back();
  if (job.request.leave_mm > 0)
    step.words += fmt::format(" Stop at 0: {} is left on there for a later setup.", Num(job.request.leave_mm));
  step.aim = MakeAim(job, first.at, SafeSide::kBig, "milled_thickness");
  MeasureThickness(job, step, first);
  const bool one = step.levels_mm.size() == 1;
  const bool in_vise = step.measure && step.measure->upper_mm > step.measure->lower_mm;
  step.words += in_vise ? (one ? " Measure first: what is over comes off."
                                    : " Measure before the last level and take off what is left.")
                : step.measure ? ""
                               : " If it is not clean all over at 0, go on until it is and set 0 anew.";
  return Ok{};
}

Status CutEdgeChamfer(Job& job) {
  const auto& chamfer = std::get<EdgeChamfer>(job.feature.shape);
  const auto plane = FindChamferPlane(job.part(), chamfer);
  if (!plane) return NoPlan(job, "its two faces do not meet in an edge");
  if (job.DirToS(plane->normal_P).z() < 1 - kDirection) {
    return NoPlan(job, "it is cut as a face: its own plane must face the spindle",
                  "tilt the part until the chamfer lies level");
  }
  const Vec3 a = job.ToS(plane->foot_a_P_mm);
  const Vec3 b = job.ToS(plane->foot_b_P_mm);
  const Vec3 edge = job.ToS(plane->edge_P_mm);
  const Vec3 along = job.DirToS(plane->along_P);
  FlatRegion region;
  region.u = Vec2(along.x(), along.y()).normalized();
  // Along the edge over all of the piece; across it from foot to foot.
  double least = 1e9;
  double most = -1e9;
  for (int i = 0; i < 8; ++i) {
    const Box3& box = job.piece.piece_S;
    const Vec2 corner((i & 1) ? box.max_mm.x() : box.min_mm.x(),
                      (i & 2) ? box.max_mm.y() : box.min_mm.y());
    least = std::min(least, region.u.dot(corner));
    most = std::max(most, region.u.dot(corner));
  }
  const Vec2 v = region.v();
  const double va = v.dot(Vec2(a.x(), a.y()));
  const double vb = v.dot(Vec2(b.x(), b.y()));
  region.half_u_mm = 0.5 * (most - least);
  region.half_v_mm = 0.5 * std::abs(vb - va);
  region.centre_mm = region.u * (0.5 * (least + most)) + v * (0.5 * (va + vb));
  const double height = edge.z() - a.z();
  return AddFacing(job, region, a.z(), height,
                   2 * region.half_v_mm + 2 * kOverhang_mm > 20 ? 6 : 2 * region.half_v_mm + 2,
                   Operation::kChamfer,
                   fmt::format("Cut {} as a level face ({} by {})", NameWords(job.feature.name),
                               Num(chamfer.leg_a_mm), Num(chamfer.leg_b_mm)));
}

namespace {

// Which sides of the removed box, seen from above, are walls of the part: -x, +x, -y, +y of S.
struct Walls {
  std::array<bool, 4> wall = {false, false, false, false};
};

Box3 BoxToS(const Job& job, const Box3& box_P) {
  Box3 box{Vec3::Constant(1e9), Vec3::Constant(-1e9)};
  for (int i = 0; i < 8; ++i) {
    const Vec3 p = job.ToS(Vec3((i & 1) ? box_P.max_mm.x() : box_P.min_mm.x(),
                                (i & 2) ? box_P.max_mm.y() : box_P.min_mm.y(),
                                (i & 4) ? box_P.max_mm.z() : box_P.min_mm.z()));
    box.min_mm = box.min_mm.cwiseMin(p);
    box.max_mm = box.max_mm.cwiseMax(p);
  }
  return box;
}

bool StandsSquare(const Job& job) {
  const Eigen::Matrix3d r = job.X_SP.linear();
  for (int i = 0; i < 3; ++i) {
    if (r.col(i).cwiseAbs().maxCoeff() < 1 - kDirection) return false;
  }
  return true;
}

// A side is a wall when the part goes on just beyond it, at some place along it and between floor
// and top.
Walls FindWalls(const Job& job, const Box3& cut_S) {
  Walls walls;
  for (int side = 0; side < 4; ++side) {
    const int axis = side / 2;
    const double at = side % 2 == 0 ? cut_S.min_mm[axis] - 0.05 : cut_S.max_mm[axis] + 0.05;
    const int other = 1 - axis;
    for (int i = 0; i < 7; ++i) {
      for (int k = 0; k < 5; ++k) {
        Vec3 p;
        p[axis] = at;
        p[other] =
            cut_S.min_mm[other] + (cut_S.max_mm[other] - cut_S.min_mm[other]) * (i + 0.5) / 7;
        p.z() = cut_S.min_mm.z() + (cut_S.max_mm.z() - cut_S.min_mm.z()) * (k + 0.5) / 5;
        if (DesignStands(job, p)) walls.wall[static_cast<std::size_t>(side)] = true;
      }
    }
  }
  return walls;
}

}  // namespace

namespace {

// How far the cutter's middle goes on -x, +x, -y, +y: to a wall, or past the open side.
std::array<double, 4> MoveLimits(const Job& job, const Box3& box, const Walls& walls, double r) {
  std::array<double, 4> limit{};
  for (std::size_t side = 0; side < 4; ++side) {
    const auto axis = static_cast<Eigen::Index>(side / 2);
    const bool low = side % 2 == 0;
    const double wall_at = low ? box.min_mm[axis] + r : box.max_mm[axis] - r;
    const double open_at =
        low ? std::min(box.min_mm[axis], job.piece.piece_S.min_mm[axis]) - r - kRun_mm
            : std::max(box.max_mm[axis], job.piece.piece_S.max_mm[axis]) + r + kRun_mm;
    limit[side] = walls.wall[side] ? wall_at : open_at;
  }
  return limit;
}

// Beside one wall, every row takes the same width; the first cuts too. side: the lower of the two across the rows.
void ShareRows(const Job& job, const Walls& walls, double diameter_mm, std::size_t side, std::array<double, 4>& limit) {
  constexpr double kWidest = 0.8;  // of the cutter
  if (walls.wall[side] == walls.wall[side + 1]) return;
  const auto axis = static_cast<Eigen::Index>(side / 2);
  const bool open_low = !walls.wall[side];
  const double r = diameter_mm / 2;
  const double edge = open_low ? job.piece.piece_S.min_mm[axis] : job.piece.piece_S.max_mm[axis];
  const double wall = open_low ? limit[side + 1] + r : limit[side] - r;
  const double width = std::abs(wall - edge);
  const double rows = std::max(2.0, std::ceil(width / (kWidest * diameter_mm)));
  limit[open_low ? side : side + 1] = open_low ? edge - r + width / rows : edge + r - width / rows;
}

}  // namespace

Status CutStepCut(Job& job) {
  const auto& cut = std::get<StepCut>(job.feature.shape);
  if (job.DirToS(cut.into_P).z() > -1 + kDirection)
    return NoPlan(job, "it is not open towards the spindle in this setup",
                  "turn the part so that it is");
  if (!StandsSquare(job)) return NoPlan(job, "the part does not stand square in this setup");
  const Box3 box = BoxToS(job, cut.removed_P);
  const Walls walls = FindWalls(job, box);
  const bool wall_x = walls.wall[0] || walls.wall[1];
  const bool wall_y = walls.wall[2] || walls.wall[3];
  if (wall_x && wall_y) {
    return NoPlan(job, "its inside corner is drawn sharp, a cutter leaves a radius",
                  "draw a relief or a radius there");
  }
  const double depth = job.top_S_mm() - box.min_mm.z();
  double room = 1e9;
  if (walls.wall[0] && walls.wall[1]) room = std::min(room, box.size_mm().x());
  if (walls.wall[2] && walls.wall[3]) room = std::min(room, box.size_mm().y());
  const Tool* tool =
      FindMill(job.shop(), job.machine(), 4, std::min(room, 20.0), false, {depth, depth + 0.5});
  if (tool == nullptr)
    return NoPlan(job, fmt::format("no end mill cuts {} deep", Num(depth)), "buy a long end mill");
  std::array<double, 4> limit = MoveLimits(job, box, walls, tool->diameter_mm / 2);
  // Rows lie along the walls, so that the last one cuts the wall in one pass.
  const bool rows_x = wall_y || !wall_x;
  ShareRows(job, walls, tool->diameter_mm, rows_x ? 2 : 0, limit);
  FlatRegion moves;
  moves.u = rows_x ? Vec2::UnitX() : Vec2::UnitY();
  moves.centre_mm = Vec2(0.5 * (limit[0] + limit[1]), 0.5 * (limit[2] + limit[3]));
  moves.half_u_mm = 0.5 * (rows_x ? limit[1] - limit[0] : limit[3] - limit[2]);
  moves.half_v_mm = 0.5 * (rows_x ? limit[3] - limit[2] : limit[1] - limit[0]);
  const auto settings =
      Settings(job, *tool, {trade::CutKind::kMillSide, tool->diameter_mm, 0.8 * tool->diameter_mm});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kMill, *tool, *settings);
  step.depth_mm = depth;
  step.levels_mm = PassLevels(depth, settings->depth_mm, kFinishMilled_mm);
  const std::vector<Row> rows =
      StepRows(moves, box.min_mm.z(), tool->diameter_mm,
               rows_x ? walls.wall[2] && !walls.wall[3] : walls.wall[1] && !walls.wall[0]);
  if (const Status s = AddRows(job, step, *tool, rows); !s) return s;
  step.words = fmt::format(
      "Mill the step {} {} deep with the {}, down in {} levels, each from the outside in; the last "
      "pass along the wall.",
      NameWords(job.feature.name), Num(depth), tool->words, step.levels_mm.size());
  step.caution = kOneWay;
  SetMinutes(job, step,
             static_cast<double>(step.levels_mm.size()) * (RowMinutes(rows, *settings) + 0.2));
  return Ok{};
}

namespace {

Status CutFlatsFromEnd(Job& job, const Flats& flats) {
  const Vec3 end_a = job.ToS(flats.axis_P.point_mm + flats.axis_P.direction * flats.from_mm);
  const Vec3 end_b = job.ToS(flats.axis_P.point_mm + flats.axis_P.direction * flats.to_mm);
  const Vec3& low = end_a.z() < end_b.z() ? end_a : end_b;
  const double depth = job.top_S_mm() - low.z();
  const double half = FlatDistance(job.part(), flats) + job.request.leave_mm;
  double radius = half;
  for (const Feature& f : job.part().features) {
    const auto* outer = std::get_if<OuterDiameter>(&f.shape);
    if (outer == nullptr) continue;
    const double a = job.ToS(outer->axis_P.point_mm + outer->axis_P.direction * outer->from_mm).z();
    const double b = job.ToS(outer->axis_P.point_mm + outer->axis_P.direction * outer->to_mm).z();
    if (std::max(a, b) > low.z() + kZone_mm)
      radius = std::max(radius, outer->diameter.middle_mm() / 2);
  }
  const Tool* tool = FindMill(job.shop(), job.machine(), std::max(6.0, radius - half + 1), 16,
                              false, {depth, depth + 0.5});
  if (tool == nullptr)
    return NoPlan(job, fmt::format("no end mill cuts {} deep beside the flats", Num(depth)));
  const double r = tool->diameter_mm / 2;
  const auto settings =
      Settings(job, *tool, {trade::CutKind::kMillSide, tool->diameter_mm, radius - half + 0.5});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kMill, *tool, *settings);
  step.depth_mm = std::abs(end_a.z() - end_b.z());
  step.levels_mm = PassLevels(step.depth_mm, settings->depth_mm, kFinishMilled_mm);
  const Vec2 centre(low.x(), low.y());
  const bool turned = job.context.holding == HoldingKind::kRotaryTable;
  std::string angles;
  double length = 0;
  for (int flat = 0; flat < flats.count; ++flat) {
    const Vec3 n3 = job.DirToS(FlatNormal(flats, flat));
    const Vec2 n = Vec2(n3.x(), n3.y()).normalized();
    const Vec2 t(-n.y(), n.x());
    PathPiece piece;
    piece.kind = PathKind::kMill;
    const Vec2 middle = centre + n * (half + r);
    for (const double end : {-1.0, 1.0}) {
      const Vec2 p = middle + t * (end * (radius + r + kRun_mm));
      piece.points_S_mm.emplace_back(p.x(), p.y(), low.z());
    }
    length += LengthOf(piece.points_S_mm);
    if (turned) {
      piece.table_deg.assign(2, TurnToFaceX_deg(n));
      angles += fmt::format("{}{}", angles.empty() ? "" : ", ", DegreesWords(piece.table_deg.front()));
    } else if (std::min(std::abs(n.x()), std::abs(n.y())) > kDirection) {
      return NoPlan(job, "a flat runs aslant of both slides", "turn the piece to it on a rotary table");
    }
    if (const Status s = AddPath(job, step, *tool, std::move(piece)); !s) return s;
  }
  step.aim = MakeAim(job, flats.across, SafeSide::kBig, "milled_thickness");
  step.words = turned ? fmt::format("Mill {} {} across and {} long with the side of the {}: turn the rotary table to {}, lock it each time and feed along y, x "
                                    "staying where it is.",
                                    flats.count == 1 ? "the flat" : fmt::format("the {} flats", flats.count), Num(flats.across.middle_mm()),
                                    Num(step.depth_mm), tool->words, angles)
               : flats.count == 2
                   ? fmt::format("Mill both flats {} across and {} long with the side of the {}, one side and then the other "
                                 "on the same zero.",
                                 Num(flats.across.middle_mm()), Num(step.depth_mm), tool->words)
                   : fmt::format("Mill {} {} across and {} long with the side of the {}, all on the same zero.",
                                 flats.count == 1 ? "the flat" : fmt::format("the {} flats", flats.count),
                                 Num(flats.across.middle_mm()), Num(step.depth_mm), tool->words);
  step.caution = kOneWay;
  SetMinutes(job, step,
             static_cast<double>(step.levels_mm.size()) * (length / settings->feed_mm_min + 0.3),
             turned ? flats.count * kTurnTable_min : 0);
  SetMeasure(job, step,
             {{InstrumentKind::kCaliper, InstrumentKind::kMicrometer},
              flats.across.middle_mm(),
              flats.across.lower_mm,
              flats.across.upper_mm,
              flats.count % 2 == 0 ? "over both" : "from the flat to the round opposite"});
  return Ok{};
}

// One flat up, the axis level; rows square to the axis so that the end wall comes out plane.
Status CutFlatFromAbove(Job& job, const Flats& flats, double side) {
  const Vec3 axis = job.DirToS(flats.axis_P.direction);
  const Vec3 a = job.ToS(flats.axis_P.point_mm + flats.axis_P.direction * flats.from_mm);
  const Vec3 b = job.ToS(flats.axis_P.point_mm + flats.axis_P.direction * flats.to_mm);
  const Vec2 along = Vec2(axis.x(), axis.y()).normalized();
  const double lo = std::min(along.dot(Vec2(a.x(), a.y())), along.dot(Vec2(b.x(), b.y())));
  const double hi = std::max(along.dot(Vec2(a.x(), a.y())), along.dot(Vec2(b.x(), b.y())));
  const double z = a.z() + FlatDistance(job.part(), flats) + job.request.leave_mm;
  const Vec2 v(-along.y(), along.x());
  const double middle_v = v.dot(Vec2(a.x(), a.y()));
  const auto wall_at = [&](double u) {
    const Vec2 p = along * u + v * middle_v;
    return DesignStands(job, Vec3(p.x(), p.y(), z + 0.05));
  };
  const bool wall_lo = wall_at(lo - 0.05);
  const bool wall_hi = wall_at(hi + 0.05);
  const double height = job.top_S_mm() - z;
  const double room = wall_lo && wall_hi ? hi - lo : 16;
  const Tool* tool =
      FindMill(job.shop(), job.machine(), 4, std::min(16.0, room), false, {height, height + 0.5});
  if (tool == nullptr) return NoPlan(job, "no end mill fits the flat");
  const double r = tool->diameter_mm / 2;
  const double radius = 0.5 * std::max(CoveringDiameter(job.part(), flats.axis_P, flats.from_mm, flats.to_mm), flats.across.middle_mm());
  FlatRegion moves;
  moves.u = v;
  const double from = wall_lo ? lo + r : lo - kRun_mm;
  const double to = wall_hi ? hi - r : hi + kRun_mm;
  moves.centre_mm = along * (0.5 * (from + to)) + v * middle_v;
  moves.half_u_mm = radius + r + kRun_mm;
  moves.half_v_mm = 0.5 * std::max(0.0, to - from);
  const auto settings =
      Settings(job, *tool, {trade::CutKind::kMillSide, tool->diameter_mm, 0.8 * tool->diameter_mm});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kMill, *tool, *settings);
  step.holes = {side > 0 ? 0 : 1};
  step.depth_mm = height;
  step.levels_mm = PassLevels(height, settings->depth_mm, kFinishMilled_mm);
  const std::vector<Row> rows = StepRows(moves, z, tool->diameter_mm, false);
  if (const Status s = AddRows(job, step, *tool, rows); !s) return s;
  step.aim = MakeAim(job, flats.across, SafeSide::kBig, "milled_thickness");
  step.words = flats.count == 1 ? fmt::format("Mill the one flat, {}, with the {}.", NameWords(job.feature.name), tool->words)
                                : fmt::format("Mill the {} flat of {} with the {}.", side > 0 ? "first" : "second",
                                              NameWords(job.feature.name), tool->words);
  if (flats.count == 1) {
    SetMeasure(job, step,
               {{InstrumentKind::kCaliper, InstrumentKind::kMicrometer}, flats.across.middle_mm(), flats.across.lower_mm,
                flats.across.upper_mm, "from the flat to the round opposite"});
  }
  step.caution = kOneWay;
  SetMinutes(job, step,
             static_cast<double>(step.levels_mm.size()) * (RowMinutes(rows, *settings) + 0.3));
  return Ok{};
}

}  // namespace

Status CutFlats(Job& job) {
  const auto& flats = std::get<Flats>(job.feature.shape);
  if (std::abs(job.DirToS(flats.axis_P.direction).z()) > 1 - kDirection)
    return CutFlatsFromEnd(job, flats);
  const double up = job.DirToS(flats.first_normal_P).z();
  if (std::abs(up) > 1 - kDirection) return CutFlatFromAbove(job, flats, up);
  return NoPlan(job, "neither the axis nor a flat faces the spindle in this setup",
                "stand the piece upright");
}

}  // namespace fitwright::planner
