// Chamfers on round edges: by a form tool or along a line in the lathe, by a conical cutter on the
// mill.
#include <algorithm>
#include <cmath>

#include "fitwright/planner/process_lathe.h"

namespace fitwright::planner {
namespace {

constexpr double kFiling_rpm = 400;  // opinion
constexpr double kLevel45 = 1e-3;  // legs alike within this: a 45 degree form tool serves

Status AddChamferPath(Job& job, const Tool& tool, const PathPiece& piece, const std::string& words,
                      double diameter_mm) {
  const auto settings = Settings(
      job, tool, {trade::CutKind::kChamfer, diameter_mm});
  if (!settings) return Unexpected(settings.error());
  const auto& chamfer = std::get<RoundChamfer>(job.feature.shape);
  const std::size_t before = job.result.steps.size();
  Step& step = AddStep(job, Operation::kChamfer, tool, *settings);
  step.depth_mm = chamfer.axial_mm;
  step.levels_mm = {chamfer.axial_mm};
  if (const Status s = AddPath(job, step, tool, piece); !s) {
    job.result.steps.resize(before);
    return s;
  }
  step.words = words;
  step.caution = job.lathe() ? LatheCaution(job) : "";
  SetMinutes(job, step, 0.5);
  return Ok{};
}

// A form tool whose straight 45 degree edge lies along the chamfer.
Status ChamferByForm(Job& job, const Tool& tool, bool internal, double r, double z_end,
                     const RoundChamfer& chamfer, const std::string& words) {
  const double past = 0.3;
  const double tip_r = internal ? r + chamfer.radial_mm + past : r - chamfer.radial_mm - past;
  PathPiece piece;
  piece.kind = PathKind::kTurn;
  piece.points_S_mm = {Vec3(tip_r, 0, z_end + past + 6), Vec3(tip_r, 0, z_end + past)};
  return AddChamferPath(job, tool, piece, words, 2 * r);
}

// The corner of a knife tool or boring bar along the chamfer's line, by the compound slide.
Status ChamferByLine(Job& job, const Tool& tool, bool internal, double r, double z_end,
                     const RoundChamfer& chamfer) {
  const double sign = internal ? 1 : -1;
  const Vec2 along = Vec2(sign * chamfer.radial_mm, chamfer.axial_mm).normalized();
  const Vec2 top = Vec2(r + sign * chamfer.radial_mm, z_end) + along;
  const Vec2 bottom = Vec2(r, z_end - chamfer.axial_mm) - along * 0.5;
  PathPiece piece;
  piece.kind = PathKind::kTurn;
  piece.points_S_mm = {Vec3(top.x(), 0, top.y()), Vec3(bottom.x(), 0, bottom.y())};
  const double angle = std::atan2(chamfer.radial_mm, chamfer.axial_mm) / kRadPerDeg;
  return AddChamferPath(job, tool, piece,
                        fmt::format("Cut {} {} long and {} on the radius with the compound slide "
                                    "set {} degrees off the axis.",
                                    NameWords(job.feature.name), Num(chamfer.axial_mm),
                                    Num(chamfer.radial_mm), Num(std::round(10 * angle) / 10)),
                        2 * r);
}

// How far the section hangs below the reference point.
double LowestOf(const Tool& tool) {
  double lowest = 0;
  for (const Vec2& p : tool.section_T_mm) lowest = std::min(lowest, p.y());
  return -lowest;
}

// The slanting edge goes on past the chamfer: outside what stands lower down the work.
bool EdgeClears(const Job& job, const Tool& tool, double r, double z_foot) {
  for (double down = 0.05; down < LowestOf(tool); down += 0.1) {
    if (OutsideAt(job, z_foot - down) / 2 > r + down + kLevel45) return false;
  }
  return true;
}

// A round on the edge: a hollow form tool of its radius, else a file and a radius gauge.
Status RoundInLathe(Job& job, bool internal, double r, double z_end, const RoundChamfer& chamfer) {
  const double radius = chamfer.radial_mm;
  const Tool* tool = FindTool(
      job.shop(), job.machine(), ToolKind::kFormTool,
      [&](const Tool& t) {
        return !internal && std::abs(t.hollow_radius_mm - radius) < kLevel45 && ClearsJaws(job, z_end - radius - LowestOf(t));
      },
      [](const Tool&) { return 0.0; });
  const bool filed = tool == nullptr;
  for (const Tool& t : job.shop().tools) {
    if (tool == nullptr && t.kind == ToolKind::kFile) tool = &t;
  }
  if (tool == nullptr) return NoPlan(job, "no radius tool and no file for the round edge", "buy a file and a radius gauge");
  CutSettings by_hand;
  by_hand.rpm = trade::StepAtOrBelow(job.machine().speeds_rpm, kFiling_rpm).value_or(job.machine().speeds_rpm.front());
  const auto settings = filed ? Result<CutSettings>(by_hand) : Settings(job, *tool, {trade::CutKind::kChamfer, 2 * r});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kChamfer, *tool, *settings);
  step.depth_mm = chamfer.axial_mm;
  step.levels_mm = {chamfer.axial_mm};
  PathPiece piece;
  piece.kind = PathKind::kTurn;
  const double from = internal ? r - radius : r + radius;
  piece.points_S_mm = {Vec3(from, 0, z_end), Vec3(r, 0, z_end)};
  if (filed) piece.set_diameter_mm = 2 * radius;
  if (filed) {
    AddUnsweptPath(job, step, piece);
  } else if (const Status s = AddPath(job, step, *tool, piece); !s) {
    return s;
  }
  step.words = filed ? fmt::format("Round the edge of {} with the {} to a {} radius, tried with the radius gauge.",
                                   NameWords(chamfer.on), tool->words, Num(radius))
                     : fmt::format("Round the edge of {} with the {}.", NameWords(chamfer.on), tool->words);
  step.caution = filed ? "File with a handle, held left-handed, clear of the chuck; sleeves rolled up." : LatheCaution(job);
  SetMinutes(job, step, filed ? 4 : 1);
  return Ok{};
}

// Too narrow for a bar: a spotting drill of 90 degrees from the tailstock.
Status ChamferBySpot(Job& job, double r, double z_end, const RoundChamfer& chamfer) {
  const double mouth = 2 * (r + chamfer.radial_mm);
  const Tool* tool = FindTool(
      job.shop(), job.machine(), ToolKind::kSpotDrill,
      [&](const Tool& t) { return std::abs(t.point_deg - 90) < 0.01 && t.diameter_mm >= mouth; },
      [](const Tool& t) { return t.diameter_mm; });
  if (tool == nullptr || std::abs(chamfer.axial_mm - chamfer.radial_mm) >= kLevel45)
    return NoPlan(job, "no tool for the chamfer goes in there", "buy a countersink of that angle");
  PathPiece piece;
  piece.kind = PathKind::kPlunge;
  piece.from_z_mm = job.highest_S_mm() + kApproach_mm;
  piece.points_S_mm = {Vec3(0, 0, z_end - mouth / 2)};
  return AddChamferPath(job, *tool, piece,
                        fmt::format("Chamfer {} {} x 45 degrees with the {} from the tailstock.",
                                    NameWords(chamfer.on), Num(chamfer.axial_mm), tool->words),
                        mouth);
}

Status ChamferInLathe(Job& job, bool internal, double r, double z_end,
                      const RoundChamfer& chamfer) {
  if (chamfer.rounded) return RoundInLathe(job, internal, r, z_end, chamfer);
  if (std::abs(chamfer.axial_mm - chamfer.radial_mm) < kLevel45) {
    const Tool* form = FindTool(
        job.shop(), job.machine(), ToolKind::kChamferTool,
        [&](const Tool& t) {
          const bool inside = t.diameter_min_mm > 0;
          return inside == internal && std::abs(t.point_deg - 90) < 0.01 &&
                 t.reach_mm >= chamfer.axial_mm + 0.5 && (!inside || t.diameter_min_mm <= 2 * r) &&
                 (inside || (ClearsJaws(job, z_end - LowestOf(t)) && EdgeClears(job, t, r, z_end - chamfer.axial_mm)));
        },
        [](const Tool& t) { return t.reach_mm; });
    const std::string words = fmt::format("Chamfer {} {} x 45 degrees with the form tool.",
                                          NameWords(chamfer.on), Num(chamfer.axial_mm));
    if (form != nullptr) {
      const Status done = ChamferByForm(job, *form, internal, r, z_end, chamfer, words);
      if (done) return done;
    }
  }
  const Tool* point = internal
                          ? FindTool(
                                job.shop(), job.machine(), ToolKind::kBoringBar,
                                [&](const Tool& t) {
                                  return t.diameter_min_mm <= 2 * r && t.section_T_mm.size() >= 3;
                                },
                                [](const Tool& t) { return -t.shank_mm; })
                          : FindOutside(job, ToolKind::kTurningTool, ToolKind::kFacingTool);
  if (internal && point == nullptr) return ChamferBySpot(job, r, z_end, chamfer);
  if (point == nullptr) return NoPlan(job, "no tool for the chamfer goes in there");
  return ChamferByLine(job, *point, internal, r, z_end, chamfer);
}

// A conical cutter of 90 degrees straight down the bore; for bores wider than any, a 45 degree bar
// in the boring head (its greatest diameter set to the chamfer's).
Status ChamferOnMill(Job& job, const Hole& hole, const RoundChamfer& chamfer) {
  if (std::abs(chamfer.axial_mm - chamfer.radial_mm) >= kLevel45) {
    return NoPlan(job, "only 45 degree chamfers are cut from above on the mill",
                  "cut it in the lathe");
  }
  const double mouth = hole.diameter.middle_mm() + 2 * chamfer.radial_mm;
  const Tool* tool = FindTool(
      job.shop(), job.machine(), ToolKind::kChamferMill,
      [&](const Tool& t) {
        return std::abs(t.point_deg - 90) < 0.01 && t.diameter_mm >= mouth &&
               (t.diameter_min_mm == 0 || t.diameter_min_mm <= hole.diameter.middle_mm());
      },
      [](const Tool& t) { return t.diameter_mm; });
  if (tool == nullptr) {
    return NoPlan(job, fmt::format("no 90 degree cutter opens to {}", Num(mouth)),
                  "use a 45 degree bar in the boring head, or chamfer it in the lathe");
  }
  const bool set = tool->diameter_min_mm > 0;
  PathPiece piece;
  piece.kind = PathKind::kPlunge;
  piece.from_z_mm = job.highest_S_mm() + kApproach_mm;
  piece.set_diameter_mm = set ? mouth : 0;
  for (const Vec3& entry : hole.entries_P_mm)
    piece.points_S_mm.push_back(job.ToS(entry) - Vec3(0, 0, mouth / 2));
  const Status added = AddChamferPath(
      job, *tool, piece,
      fmt::format("Chamfer {} {} x 45 degrees with the {}{}.", NameWords(chamfer.on),
                  Num(chamfer.axial_mm), tool->words,
                  set ? fmt::format(", set to sweep about {:.1f}", mouth) : ""),
      mouth);
  if (added && set) {
    Step& step = job.result.steps.back();
    const double touch = mouth / 2 - chamfer.axial_mm;
    for (Coordinate& c : step.coordinates) c.z_mm += job.machine().z_sense * touch;
    step.caution = "Z counts from where the slanting edge touches the rim of the bore: set 0 there.";
  }
  return added;
}

}  // namespace

Status CutRoundChamfer(Job& job) {
  const auto& chamfer = std::get<RoundChamfer>(job.feature.shape);
  const Feature* on = job.part().Find(chamfer.on);
  if (on == nullptr)
    return NoPlan(job, fmt::format("it stands on {}, which is not there", chamfer.on.text()));
  if (const auto* hole = std::get_if<Hole>(&on->shape)) {
    const double up = -job.DirToS(hole->into_P).z() * (chamfer.at_start ? 1 : -1);
    if (up < 1 - kDirection)
      return NoPlan(job, "that end of the hole does not face the spindle's side",
                    "turn the part round");
    const Vec3 end =
        job.ToS(hole->entries_P_mm.front() +
                (chamfer.at_start ? Vec3::Zero() : Vec3(hole->into_P * hole->depth_mm)));
    if (!job.lathe()) {
      if (!chamfer.at_start)
        return NoPlan(job, "the far end of a hole is not chamfered on the mill in this setup",
                      "turn the part over and draw it from there");
      return ChamferOnMill(job, *hole, chamfer);
    }
    if (end.head<2>().norm() > kZone_mm || hole->entries_P_mm.size() != 1)
      return NoPlan(job, "the hole does not lie on the lathe's axis");
    return ChamferInLathe(job, true, hole->diameter.middle_mm() / 2, end.z(), chamfer);
  }
  const auto& outer = std::get<OuterDiameter>(on->shape);
  if (!job.lathe()) return NoPlan(job, "round outside edges are chamfered in the lathe");
  if (!OnSpindle(job, outer.axis_P))
    return NoPlan(job, "its axis is not the spindle's in this setup");
  const Vec3 end =
      job.ToS(outer.axis_P.point_mm +
              outer.axis_P.direction * (chamfer.at_start ? outer.from_mm : outer.to_mm));
  const Span span = SpanInS(job, outer.axis_P, outer.from_mm, outer.to_mm);
  if (end.z() < span.high - kZone_mm)
    return NoPlan(job, "that edge faces the headstock", "turn the part round");
  return ChamferInLathe(job, false, outer.diameter.middle_mm() / 2, end.z(), chamfer);
}

}  // namespace fitwright::planner
