// Outside work in the lathe, grooves, chamfers on round edges, parting off.
#include <algorithm>
#include <cmath>

#include "fitwright/planner/paths.h"
#include "fitwright/planner/paths_design.h"
#include "fitwright/planner/process_common.h"

namespace fitwright::planner {
namespace {

constexpr double kPastShoulder_mm = 1;      // an outside without a shoulder is turned this far past its end
constexpr double kClear_mm = 1;             // of a tool that comes in beside the work
constexpr double kBlockRpm = 400;           // blocks in the four-jaw: unbalanced (opinion)
constexpr double kSawFirst_mm = 6;          // more than this is sooner sawn off than faced (opinion)
constexpr double kFinishFace_mm = 0.2;
constexpr double kLevel45 = 1e-3;           // legs alike within this: a 45 degree form tool serves
constexpr double kSectionShare = 0.9;       // of a tool's section, taken at one go in the drawn path

double ReachOutward(const Tool& tool) {
  double most = 0;
  for (const Vec2& p : tool.section_T_mm) most = std::max(most, p.x());
  return most;
}
double ReachUpward(const Tool& tool) {
  double most = 0;
  for (const Vec2& p : tool.section_T_mm) most = std::max(most, p.y());
  return most;
}

// How far past the axis the corner must go so that no pip is left up to height above the face: the edge
// that rises from the corner falls back by its clearance.
double PastCentre(const Tool& tool, double height_mm) {
  const auto& section = tool.section_T_mm;
  double back = 1;
  for (std::size_t i = 0; i < section.size(); ++i) {
    if (section[i].norm() > kZone_mm) continue;
    for (const std::size_t k : {(i + 1) % section.size(), (i + section.size() - 1) % section.size()}) {
      if (section[k].y() > 0) back = std::min(back, std::max(0.0, section[k].x() / section[k].y()));
    }
  }
  return 0.2 + back * height_mm;
}

const Tool* FindOutside(const Job& job, ToolKind first, ToolKind second) {
  const auto sized = [](const Tool& t) { return t.section_T_mm.size() >= 3; };
  const auto any = [](const Tool&) { return 0.0; };
  const Tool* tool = FindTool(job.shop(), job.machine(), first, sized, any);
  return tool != nullptr ? tool : FindTool(job.shop(), job.machine(), second, sized, any);
}

bool IsBlock(const Job& job) { return job.piece.bar_diameter_mm <= 0; }

std::string LatheCaution(const Job& job) {
  if (IsBlock(job)) return "Out of balance: low speed, turn a full turn by hand first, shield in place.";
  if (job.context.holding == HoldingKind::kFaceplate) return "Balance the faceplate and turn a full turn by hand first.";
  return "Chuck key out before starting.";
}

struct Span {
  double low = 0;
  double high = 0;
};
// Extent along z of S of a feature about an axis of P.
Span SpanInS(const Job& job, const Axis3& axis_P, double from_mm, double to_mm) {
  const double a = job.ToS(axis_P.point_mm + axis_P.direction * from_mm).z();
  const double b = job.ToS(axis_P.point_mm + axis_P.direction * to_mm).z();
  return {std::min(a, b), std::max(a, b)};
}

bool OnSpindle(const Job& job, const Axis3& axis_P) {
  return job.ToS(axis_P.point_mm).head<2>().norm() < kZone_mm &&
         std::abs(job.DirToS(axis_P.direction).z()) > 1 - kDirection;
}

// The outside that a place of the axis lies on, and whether one is bigger below an end.
double OutsideAt(const Job& job, double z_S) {
  double d = 0;
  for (const Feature& f : job.part().features) {
    const auto* outer = std::get_if<OuterDiameter>(&f.shape);
    if (outer == nullptr || !OnSpindle(job, outer->axis_P)) continue;
    const Span s = SpanInS(job, outer->axis_P, outer->from_mm, outer->to_mm);
    if (z_S > s.low && z_S < s.high) d = std::max(d, outer->diameter.middle_mm());
  }
  if (job.part().envelope == EnvelopeKind::kBlock) {
    const Vec3 p = job.piece.X_PS * Vec3(0, 0, z_S);
    const Box3& b = job.part().block_P;
    if (((p - b.min_mm).array() > 0).all() && ((b.max_mm - p).array() > 0).all()) d = std::max(d, 2 * OutsideRadius(job.piece));
  }
  return d;
}

void SetOutsideMeasure(Job& job, Step& step, const Size& size, const std::string& where) {
  SetMeasure(job, step, {{InstrumentKind::kMicrometer, InstrumentKind::kCaliper}, size.middle_mm(), size.lower_mm, size.upper_mm, where});
}

double MeasuringMinutes(const Job& job) {
  return job.request.aim == AimKind::kOneShot ? 0 : 2 * job.shop().times.measure + 2;
}

}  // namespace

Status CutTurnedFace(Job& job) {
  const auto& face = std::get<PlanarFace>(job.feature.shape);
  const Vec3 normal = job.DirToS(face.normal_P);
  if (normal.z() < 1 - kDirection) return NoPlan(job, "it does not face the tailstock in this setup", "turn the part round");
  const Tool* tool = FindOutside(job, ToolKind::kFacingTool, ToolKind::kTurningTool);
  if (tool == nullptr) return NoPlan(job, "the shop has no facing tool", "buy or grind a knife tool");
  const double z = job.ToS(face.normal_P * face.at.middle_mm()).z() + job.request.leave_mm;
  const double allowance = job.top_S_mm() - z;
  if (allowance < kZone_mm) return NoPlan(job, "nothing stands over it to be faced off");
  const double outside = OutsideRadius(job.piece);
  const auto settings = Settings(job, *tool, {trade::CutKind::kFaceInLathe, 2 * outside, 0, 0, IsBlock(job) ? kBlockRpm : 0});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kFace, *tool, *settings);
  step.depth_mm = allowance;
  step.levels_mm = PassLevels(allowance, settings->depth_mm, kFinishFace_mm);
  const double slice = kSectionShare * ReachUpward(*tool);
  const int slices = std::max(1, static_cast<int>(std::ceil(allowance / slice)));
  for (int i = slices - 1; i >= 0; --i) {
    const double height = std::min(allowance, slice);
    PathPiece piece;
    piece.kind = PathKind::kTurn;
    piece.points_S_mm = {Vec3(outside + kApproach_mm, 0, z + i * slice), Vec3(-PastCentre(*tool, height), 0, z + i * slice)};
    if (const Status s = AddPath(job, step, *tool, piece); !s) return s;
  }
  step.aim = MakeAim(job, face.at, SafeSide::kBig, "depth_stop");
  step.words = fmt::format("Face {} clean to the centre, {} off.", NameWords(job.feature.name), Num(allowance));
  if (allowance > kSawFirst_mm) {
    job.result.warnings.push_back(fmt::format("{}: {} mm to face off is much; saw the bar shorter first.", job.ref.text(), Num(allowance)));
  }
  if (job.request.leave_mm > 0) step.words += fmt::format(" Leave {} on it.", Num(job.request.leave_mm));
  step.caution = LatheCaution(job);
  SetMinutes(job, step, static_cast<double>(step.levels_mm.size()) * (outside + kApproach_mm) / settings->feed_mm_min,
             0.4 * static_cast<double>(step.levels_mm.size()));
  return Ok{};
}

Status CutOuterDiameter(Job& job) {
  const auto& outer = std::get<OuterDiameter>(job.feature.shape);
  if (!OnSpindle(job, outer.axis_P)) return NoPlan(job, "its axis is not the spindle's in this setup", "centre it on the spindle");
  const Tool* tool = FindOutside(job, ToolKind::kTurningTool, ToolKind::kFacingTool);
  if (tool == nullptr) return NoPlan(job, "the shop has no knife tool", "buy or grind a knife tool");
  const Span span = SpanInS(job, outer.axis_P, outer.from_mm, outer.to_mm);
  const double r = outer.diameter.middle_mm() / 2 + job.request.leave_mm;
  if (OutsideAt(job, span.high + 0.01) > 2 * r + kZone_mm) {
    return NoPlan(job, "a larger diameter stands between it and the tailstock", "turn it from the other end");
  }
  const double outside = OutsideRadius(job.piece);
  if (outside - r < kZone_mm) return NoPlan(job, "nothing is left on it to be turned off", "use a larger bar");
  const bool shoulder = OutsideAt(job, span.low - 0.01) > 2 * r + kZone_mm;
  const double low = shoulder ? span.low : span.low - kPastShoulder_mm;
  const auto settings = Settings(job, *tool, {trade::CutKind::kTurn, 2 * outside, 0, 0, IsBlock(job) ? kBlockRpm : 0});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kTurn, *tool, *settings);
  step.depth_mm = outside - r;
  step.levels_mm = PassLevels(step.depth_mm, settings->depth_mm, trade::FinishAllowance_mm(trade::CutKind::kTurn));
  const double start = job.top_S_mm() + kApproach_mm;
  const double slice = kSectionShare * ReachOutward(*tool);
  const int slices = std::max(1, static_cast<int>(std::ceil((outside - r) / slice)));
  for (int i = slices - 1; i >= 0; --i) {
    PathPiece piece;
    piece.kind = PathKind::kTurn;
    piece.points_S_mm = {Vec3(r + i * slice, 0, start), Vec3(r + i * slice, 0, low)};
    if (shoulder) piece.points_S_mm.emplace_back(outside + kClear_mm, 0, low);
    if (const Status s = AddPath(job, step, *tool, piece); !s) return s;
  }
  step.aim = MakeAim(job, outer.diameter, SafeSide::kBig, "turned_diameter");
  const std::string size = Num(outer.diameter.nominal_mm) + (outer.diameter.fit.empty() ? "" : " " + outer.diameter.fit);
  step.words = fmt::format("Turn {} {}{}, {} long, in cuts of {} mm.", NameWords(job.feature.name),
                           job.request.leave_mm > 0 ? fmt::format("to {} (leave {} on each side)", Num(2 * r), Num(job.request.leave_mm)) : size,
                           shoulder ? " and face its shoulder" : "", Num(span.high - span.low), Num(std::round(10 * settings->depth_mm) / 10));
  if (job.request.aim == AimKind::kBringToSize) step.words += " Leave 0.3, let it cool, measure, then bring it to size.";
  if (job.request.aim == AimKind::kFitToMeasured && job.request.given_aim && job.request.given_aim->mate) {
    step.words += fmt::format(" Measure {} first and turn to suit it.", job.request.given_aim->mate->text());
  }
  step.caution = LatheCaution(job);
  if (span.high - span.low > 6 * r) step.caution += " Slender: support the end with the tailstock centre.";
  const double length = start - low;
  SetMinutes(job, step, static_cast<double>(step.levels_mm.size()) * length / settings->feed_mm_min,
             0.4 * static_cast<double>(step.levels_mm.size()) + MeasuringMinutes(job));
  SetOutsideMeasure(job, step, outer.diameter, span.high - span.low > 10 ? "at both ends" : "");
  return Ok{};
}

Status CutGroove(Job& job) {
  const auto& groove = std::get<Groove>(job.feature.shape);
  if (!OnSpindle(job, groove.axis_P)) return NoPlan(job, "its axis is not the spindle's in this setup");
  const Span span = SpanInS(job, groove.axis_P, groove.from_mm, groove.to_mm);
  const double width = span.high - span.low;
  const double r = groove.diameter.middle_mm() / 2;
  const double middle = 0.5 * (span.low + span.high);
  double surface = OutsideAt(job, middle) / 2;
  if (groove.internal) {
    surface = 0;
    for (const Feature& f : job.part().features) {
      const auto* hole = std::get_if<Hole>(&f.shape);
      if (hole == nullptr || hole->entries_P_mm.size() != 1) continue;
      const Vec3 entry = job.ToS(hole->entries_P_mm.front());
      const double exit = entry.z() + job.DirToS(hole->into_P).z() * hole->depth_mm;
      if (entry.head<2>().norm() > kZone_mm || middle < std::min(entry.z(), exit) || middle > std::max(entry.z(), exit)) continue;
      surface = std::max(surface, hole->diameter.middle_mm() / 2);
    }
  }
  const double depth = groove.internal ? r - surface : surface - r;
  if (surface <= 0 || depth < kZone_mm) return NoPlan(job, "there is no surface of the part at the groove to cut it in");
  if (!groove.internal && OutsideAt(job, span.high + 0.01) > 2 * surface + kZone_mm) {
    return NoPlan(job, "a larger diameter stands between it and the tailstock", "cut it from the other end");
  }
  const ToolKind kind = groove.internal ? ToolKind::kInternalGroovingTool : ToolKind::kGroovingTool;
  const double deep_in = job.top_S_mm() - span.low + kClear_mm;
  const Tool* tool = FindTool(
      job.shop(), job.machine(), kind,
      [&](const Tool& t) {
        if (t.width_mm > width + kZone_mm || t.reach_mm < depth - kZone_mm || t.section_T_mm.size() < 3) return false;
        return !groove.internal || (t.diameter_min_mm <= 2 * surface && t.stick_out_mm >= deep_in);
      },
      [](const Tool& t) { return -t.width_mm; });
  if (tool == nullptr) {
    job.result.missing.push_back({fmt::format("{} grooving tool, {} mm wide", groove.internal ? "inside" : "outside", Num(width)), 1, "for " + job.ref.text()});
    return NoPlan(job, fmt::format("no grooving tool up to {} wide reaches {} deep", Num(width), Num(depth)), "grind or buy one");
  }
  const auto settings = Settings(job, *tool, {trade::CutKind::kGroove, 2 * std::max(surface, r)});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kGroove, *tool, *settings);
  step.depth_mm = depth;
  step.levels_mm = {depth};
  const double clear = groove.internal ? std::max(0.2, surface - 0.5) : surface + kClear_mm;
  const double last = span.high - tool->width_mm;
  PathPiece piece;
  piece.kind = PathKind::kTurn;
  if (groove.internal) piece.points_S_mm.emplace_back(clear, 0, job.top_S_mm() + kApproach_mm);
  piece.points_S_mm.emplace_back(clear, 0, span.low);
  piece.points_S_mm.emplace_back(r, 0, span.low);
  if (last > span.low + kZone_mm) piece.points_S_mm.emplace_back(r, 0, last);
  piece.points_S_mm.emplace_back(clear, 0, std::max(last, span.low));
  if (const Status s = AddPath(job, step, *tool, piece); !s) return s;
  step.aim = MakeAim(job, groove.diameter, groove.internal ? SafeSide::kSmall : SafeSide::kBig, "turned_diameter");
  step.words = fmt::format("{} {} {} wide to {} across{}.", groove.undercut ? "Undercut" : "Cut", NameWords(job.feature.name), Num(width),
                           Num(groove.diameter.middle_mm()), last > span.low + kZone_mm ? ", in two plunges and along the bottom" : "");
  step.caution = "Slow speed, square tool, steady feed; do not let it rub.";
  SetMinutes(job, step, (depth + kClear_mm) / settings->feed_mm_min + 0.5, 0.5);
  return Ok{};
}

namespace {

Status AddChamferPath(Job& job, const Tool& tool, const PathPiece& piece, const std::string& words, double diameter_mm) {
  const auto settings = Settings(job, tool, {trade::CutKind::kChamfer, diameter_mm, 0, 0, IsBlock(job) ? kBlockRpm : 0});
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
Status ChamferByForm(Job& job, const Tool& tool, bool internal, double r, double z_end, const RoundChamfer& chamfer, const std::string& words) {
  const double past = 0.3;
  const double tip_r = internal ? r + chamfer.radial_mm + past : r - chamfer.radial_mm - past;
  PathPiece piece;
  piece.kind = PathKind::kTurn;
  piece.points_S_mm = {Vec3(tip_r, 0, z_end + past + 6), Vec3(tip_r, 0, z_end + past)};
  return AddChamferPath(job, tool, piece, words, 2 * r);
}

// The corner of a knife tool or boring bar along the chamfer's line, by the compound slide.
Status ChamferByLine(Job& job, const Tool& tool, bool internal, double r, double z_end, const RoundChamfer& chamfer) {
  const double sign = internal ? 1 : -1;
  const Vec2 along = Vec2(sign * chamfer.radial_mm, chamfer.axial_mm).normalized();
  const Vec2 top = Vec2(r + sign * chamfer.radial_mm, z_end) + along;
  const Vec2 bottom = Vec2(r, z_end - chamfer.axial_mm) - along * 0.5;
  PathPiece piece;
  piece.kind = PathKind::kTurn;
  piece.points_S_mm = {Vec3(top.x(), 0, top.y()), Vec3(bottom.x(), 0, bottom.y())};
  const double angle = std::atan2(chamfer.radial_mm, chamfer.axial_mm) / kRadPerDeg;
  return AddChamferPath(job, tool, piece,
                        fmt::format("Cut {} {} long and {} on the radius with the compound slide set {} degrees off the axis.",
                                    NameWords(job.feature.name), Num(chamfer.axial_mm), Num(chamfer.radial_mm), Num(std::round(10 * angle) / 10)),
                        2 * r);
}

Status ChamferInLathe(Job& job, bool internal, double r, double z_end, const RoundChamfer& chamfer) {
  if (std::abs(chamfer.axial_mm - chamfer.radial_mm) < kLevel45) {
    const Tool* form = FindTool(
        job.shop(), job.machine(), ToolKind::kChamferTool,
        [&](const Tool& t) {
          const bool inside = t.diameter_min_mm > 0;
          return inside == internal && std::abs(t.point_deg - 90) < 0.01 && t.reach_mm >= chamfer.axial_mm + 0.5 &&
                 (!inside || t.diameter_min_mm <= 2 * r);
        },
        [](const Tool& t) { return t.reach_mm; });
    const std::string words = fmt::format("Chamfer {} {} x 45 degrees with the form tool.", NameWords(chamfer.on), Num(chamfer.axial_mm));
    if (form != nullptr) {
      const Status done = ChamferByForm(job, *form, internal, r, z_end, chamfer, words);
      if (done) return done;
    }
  }
  const Tool* point = internal ? FindTool(job.shop(), job.machine(), ToolKind::kBoringBar,
                                          [&](const Tool& t) { return t.diameter_min_mm <= 2 * r && t.section_T_mm.size() >= 3; },
                                          [](const Tool& t) { return -t.shank_mm; })
                               : FindOutside(job, ToolKind::kTurningTool, ToolKind::kFacingTool);
  if (point == nullptr) return NoPlan(job, "no tool for the chamfer goes in there");
  return ChamferByLine(job, *point, internal, r, z_end, chamfer);
}

// A conical cutter of 90 degrees straight down the bore; for bores wider than any, a 45 degree bar in the
// boring head (its greatest diameter set to the chamfer's).
Status ChamferOnMill(Job& job, const Hole& hole, const RoundChamfer& chamfer) {
  if (std::abs(chamfer.axial_mm - chamfer.radial_mm) >= kLevel45) {
    return NoPlan(job, "only 45 degree chamfers are cut from above on the mill", "cut it in the lathe");
  }
  const double mouth = hole.diameter.middle_mm() + 2 * chamfer.radial_mm;
  const Tool* tool = FindTool(
      job.shop(), job.machine(), ToolKind::kChamferMill,
      [&](const Tool& t) {
        return std::abs(t.point_deg - 90) < 0.01 && t.diameter_mm >= mouth && (t.diameter_min_mm == 0 || t.diameter_min_mm <= hole.diameter.middle_mm());
      },
      [](const Tool& t) { return t.diameter_mm; });
  if (tool == nullptr) {
    return NoPlan(job, fmt::format("no 90 degree cutter opens to {}", Num(mouth)), "use a 45 degree bar in the boring head, or chamfer it in the lathe");
  }
  const bool set = tool->diameter_min_mm > 0;
  PathPiece piece;
  piece.kind = PathKind::kPlunge;
  piece.from_z_mm = job.highest_S_mm() + kApproach_mm;
  piece.set_diameter_mm = set ? mouth : 0;
  for (const Vec3& entry : hole.entries_P_mm) piece.points_S_mm.push_back(job.ToS(entry) - Vec3(0, 0, mouth / 2));
  return AddChamferPath(job, *tool, piece,
                        fmt::format("Chamfer {} {} x 45 degrees with the {}{}.", NameWords(chamfer.on), Num(chamfer.axial_mm), tool->words,
                                    set ? fmt::format(", set to sweep {}", Num(mouth)) : ""),
                        mouth);
}

}  // namespace

Status CutRoundChamfer(Job& job) {
  const auto& chamfer = std::get<RoundChamfer>(job.feature.shape);
  const Feature* on = job.part().Find(chamfer.on);
  if (on == nullptr) return NoPlan(job, fmt::format("it stands on {}, which is not there", chamfer.on.text()));
  if (const auto* hole = std::get_if<Hole>(&on->shape)) {
    const double up = -job.DirToS(hole->into_P).z() * (chamfer.at_start ? 1 : -1);
    if (up < 1 - kDirection) return NoPlan(job, "that end of the hole does not face the spindle's side", "turn the part round");
    const Vec3 end = job.ToS(hole->entries_P_mm.front() + (chamfer.at_start ? Vec3::Zero() : Vec3(hole->into_P * hole->depth_mm)));
    if (!job.lathe()) {
      if (!chamfer.at_start) return NoPlan(job, "the far end of a hole is not chamfered on the mill in this setup", "turn the part over and draw it from there");
      return ChamferOnMill(job, *hole, chamfer);
    }
    if (end.head<2>().norm() > kZone_mm || hole->entries_P_mm.size() != 1) return NoPlan(job, "the hole does not lie on the lathe's axis");
    return ChamferInLathe(job, true, hole->diameter.middle_mm() / 2, end.z(), chamfer);
  }
  const auto& outer = std::get<OuterDiameter>(on->shape);
  if (!job.lathe()) return NoPlan(job, "round outside edges are chamfered in the lathe");
  if (!OnSpindle(job, outer.axis_P)) return NoPlan(job, "its axis is not the spindle's in this setup");
  const Vec3 end = job.ToS(outer.axis_P.point_mm + outer.axis_P.direction * (chamfer.at_start ? outer.from_mm : outer.to_mm));
  const Span span = SpanInS(job, outer.axis_P, outer.from_mm, outer.to_mm);
  if (end.z() < span.high - kZone_mm) return NoPlan(job, "that edge faces the headstock", "turn the part round");
  return ChamferInLathe(job, false, outer.diameter.middle_mm() / 2, end.z(), chamfer);
}

Status CutPartOff(Job& job, double z_S_mm) {
  const double outside = OutsideRadius(job.piece);
  // The blade's whole width must meet the bore for it to stop short of the middle.
  const double open = std::min(OpenRadiusAt(job, z_S_mm), OpenRadiusAt(job, z_S_mm - 3));
  const Tool* tool = FindTool(
      job.shop(), job.machine(), ToolKind::kPartingTool,
      [&](const Tool& t) { return t.reach_mm >= outside - open && t.section_T_mm.size() >= 3; },
      [](const Tool& t) { return t.width_mm; });
  if (tool == nullptr) {
    return NoPlan(job, fmt::format("no parting tool reaches {} mm", Num(outside - open)), "saw it off and face the end in another setup");
  }
  const auto settings = Settings(job, *tool, {trade::CutKind::kPartOff, 2 * outside});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kPartOff, *tool, *settings);
  step.features.clear();
  const double z = z_S_mm - tool->width_mm;
  PathPiece piece;
  piece.kind = PathKind::kTurn;
  piece.points_S_mm = {Vec3(outside + kApproach_mm, 0, z), Vec3(open > 1 ? open - 0.5 : -0.2, 0, z)};
  if (const Status s = AddPath(job, step, *tool, piece); !s) return s;
  step.depth_mm = outside - std::max(0.0, open);
  step.levels_mm = {step.depth_mm};
  step.words = fmt::format("Part it off with the {}, its left corner at Z {}.", tool->words, Num(job.machine().z_sense * z));
  step.caution = "Parting: low speed, tool dead on centre height, carriage locked, oil; catch the piece, not with the hand.";
  SetMinutes(job, step, (outside + kApproach_mm) / settings->feed_mm_min, 1);
  return Ok{};
}

}  // namespace fitwright::planner
