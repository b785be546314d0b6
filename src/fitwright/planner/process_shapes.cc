// Cones, round and vee grooves in the lathe.
#include <algorithm>
#include <cmath>

#include "fitwright/planner/process_lathe.h"

namespace fitwright::planner {
namespace {

constexpr double kBarOut_mm = 1;           // of a boring bar beyond the cut
constexpr double kSameRadius_mm = 1e-3;    // a round-nose tool serves a groove of its own radius

struct Cone {
  Span span;
  double low_r = 0;   // at span.low
  double high_r = 0;  // at span.high
  double slope() const { return (high_r - low_r) / (span.high - span.low); }
  double half_angle_deg() const { return std::abs(std::atan(slope())) / kRadPerDeg; }
};

Cone ConeInS(const Job& job, const Taper& taper) {
  Cone cone;
  cone.span = SpanInS(job, taper.axis_P, taper.from_mm, taper.to_mm);
  cone.low_r = taper.start_diameter.middle_mm() / 2;
  cone.high_r = taper.end_diameter.middle_mm() / 2;
  const double from = job.ToS(taper.axis_P.point_mm + taper.axis_P.direction * taper.from_mm).z();
  if (from > cone.span.low + kZone_mm) std::swap(cone.low_r, cone.high_r);
  return cone;
}

// Widest made bore that the cone opens, where the bar goes in.
double OpenAlong(const Job& job, const Cone& cone) {
  return 2 * std::min(OpenRadiusAt(job, cone.span.low + kZone_mm), OpenRadiusAt(job, cone.span.high - kZone_mm));
}

const Tool* FindConeBar(const Job& job, const Cone& cone) {
  const double open = OpenAlong(job, cone);
  const double out = job.top_S_mm() - cone.span.low + kBarOut_mm;
  return FindTool(
      job.shop(), job.machine(), ToolKind::kBoringBar,
      [&](const Tool& t) {
        return t.diameter_min_mm <= open + kZone_mm && t.reach_mm >= out && t.section_T_mm.size() >= 3;
      },
      [](const Tool& t) { return -t.shank_mm; });
}

// Straight in beside the upper end, down the cone, and clear of the work.
std::vector<Vec3> ConePath(const Job& job, const Cone& cone, bool internal) {
  const double low_reach = 1;
  std::vector<Vec3> points = {Vec3(cone.high_r, 0, job.top_S_mm() + kApproach_mm), Vec3(cone.high_r, 0, cone.span.high),
                              Vec3(cone.low_r, 0, cone.span.low)};
  // With the tailstock set over the carriage feeds along the cone only: the tool comes in by the cross slide.
  if (job.context.set_over_mm != 0) points.front() = Vec3(OutsideRadius(job.piece) + low_reach, 0, cone.span.high);
  if (internal) {
    points.emplace_back(std::max(0.2, cone.low_r - low_reach), 0, cone.span.low);
  } else {
    points.emplace_back(OutsideRadius(job.piece) + low_reach, 0, cone.span.low);
  }
  return points;
}

std::string ConeWords(const Job& job, const Taper& taper, const Cone& cone) {
  return fmt::format("Set the compound slide over by {:.2f} degrees (half the cone's angle) and turn {} with it: {} at the {} end, "
                     "{} at the other, {} long. Try the angle with the indicator along the cone before the last cut.",
                     cone.half_angle_deg(), NameWords(job.feature.name), Num(2 * std::max(cone.low_r, cone.high_r)),
                     taper.internal ? "wide" : "thick", Num(2 * std::min(cone.low_r, cone.high_r)),
                     Num(cone.span.high - cone.span.low));
}

Status AddCone(Job& job, const Tool& tool, const Taper& taper, const Cone& cone) {
  const double outside = taper.internal ? std::max(cone.low_r, cone.high_r) : OutsideRadius(job.piece);
  const auto settings = Settings(job, tool, {taper.internal ? trade::CutKind::kBore : trade::CutKind::kTurn, 2 * outside});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kTurn, tool, *settings);
  const double big = std::max(cone.low_r, cone.high_r);
  const double small = std::min(cone.low_r, cone.high_r);
  step.depth_mm = big - small;
  step.levels_mm = PassLevels(step.depth_mm, settings->depth_mm, trade::FinishAllowance_mm(trade::CutKind::kTurn));
  PathPiece piece;
  piece.kind = PathKind::kTurn;
  piece.points_S_mm = ConePath(job, cone, taper.internal);
  if (const Status s = AddPath(job, step, tool, piece); !s) return s;
  const Size& size = taper.start_diameter.middle_mm() > taper.end_diameter.middle_mm() ? taper.start_diameter : taper.end_diameter;
  step.aim = MakeAim(job, size, taper.internal ? SafeSide::kSmall : SafeSide::kBig, "turned_diameter");
  step.words = ConeWords(job, taper, cone);
  step.caution = LatheCaution(job) + " Carriage locked; feed by the compound slide's handle.";
  if (job.context.set_over_mm != 0) {
    step.words = fmt::format("Turn {} with the tailstock set over: the carriage feeds along as ever and the work leans. Tool at the height of the centres "
                             "to a hair, else the cone comes out hollow. {} mm across its thick end, {} mm across its thin one, {} mm long; try it with a gauge "
                             "or the mate and blue after the second cut, and shift the tailstock by what it shows.",
                             NameWords(job.feature.name), Num(2 * big), Num(2 * small), Num(cone.span.high - cone.span.low));
    step.caution = LatheCaution(job) + " The centres sit askew: oil them at every cut, no heavy cuts.";
  }
  SetMinutes(job, step, static_cast<double>(step.levels_mm.size()) * (cone.span.high - cone.span.low) / settings->feed_mm_min,
             8 + 0.5 * static_cast<double>(step.levels_mm.size()));
  return Ok{};
}

Status AddGrooveStep(Job& job, const Tool& tool, const Groove& groove, double surface_mm, const PathPiece& path,
                     const std::string& words) {
  const auto settings = Settings(job, tool, {trade::CutKind::kGroove, 2 * surface_mm});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kGroove, tool, *settings);
  step.depth_mm = surface_mm - groove.diameter.middle_mm() / 2;
  step.levels_mm = {step.depth_mm};
  if (const Status s = AddPath(job, step, tool, path); !s) return s;
  step.aim = MakeAim(job, groove.diameter, SafeSide::kBig, "turned_diameter");
  step.words = words;
  step.caution = "Slow speed, a wide edge chatters: light feed, oil, the tool short in its holder.";
  SetMinutes(job, step, (step.depth_mm + kApproach_mm) / settings->feed_mm_min + 1, 1);
  return Ok{};
}

Status CutRoundGroove(Job& job, const Groove& groove, const Span& span, double surface_mm) {
  const double radius = 0.5 * (span.high - span.low);
  const double deep = surface_mm - groove.diameter.middle_mm() / 2;
  const Tool* tool = FindTool(
      job.shop(), job.machine(), ToolKind::kFormTool,
      [&](const Tool& t) { return std::abs(t.nose_radius_mm - radius) < kSameRadius_mm && t.reach_mm >= deep; },
      [](const Tool& t) { return t.reach_mm; });
  if (tool == nullptr) {
    return NoPlan(job, fmt::format("no round-nose tool of {} mm radius reaches {} deep", Num(radius), Num(deep)),
                  "grind one to a radius gauge");
  }
  PathPiece path;
  path.kind = PathKind::kTurn;
  const double middle = 0.5 * (span.low + span.high);
  path.points_S_mm = {Vec3(surface_mm + kApproach_mm, 0, middle), Vec3(groove.diameter.middle_mm() / 2, 0, middle)};
  return AddGrooveStep(job, *tool, groove, surface_mm, path,
                       fmt::format("Cut {} with the {}, fed straight in to {} across its floor; most of it first with a narrower tool.",
                                   NameWords(job.feature.name), tool->words, Num(groove.diameter.middle_mm())));
}

// A square tool no wider than the floor: in along one wall, across the floor, out along the other.
Status CutVeeGroove(Job& job, const Groove& groove, const Span& span, double surface_mm) {
  const double floor_r = groove.diameter.middle_mm() / 2;
  const double deep = surface_mm - floor_r;
  const double lean = std::tan(0.5 * groove.vee_deg * kRadPerDeg);
  const double floor = span.high - span.low - 2 * deep * lean;
  if (floor < -kZone_mm) return NoPlan(job, "its walls meet above its floor", "draw it shallower or wider");
  const Tool* tool = FindTool(
      job.shop(), job.machine(), ToolKind::kGroovingTool,
      [&](const Tool& t) { return t.width_mm <= floor + kZone_mm && t.reach_mm >= deep; },
      [](const Tool& t) { return -t.width_mm; });
  // A point no blunter than the vee does as well.
  for (const ToolKind kind : {ToolKind::kThreadingTool, ToolKind::kChamferTool}) {
    if (tool != nullptr) break;
    tool = FindTool(
        job.shop(), job.machine(), kind,
        [&](const Tool& t) { return t.diameter_min_mm == 0 && t.point_deg <= groove.vee_deg + 0.01 && t.reach_mm >= deep; },
        [](const Tool&) { return 0.0; });
  }
  if (tool == nullptr) {
    return NoPlan(job, fmt::format("no grooving tool goes to a vee's floor {} wide and {} deep", Num(std::max(0.0, floor)), Num(deep)),
                  "grind a tool to the vee's angle");
  }
  const double out = 0.3;  // clear of the surface; a tool's flank may stand at a shoulder
  PathPiece path;
  path.kind = PathKind::kTurn;
  path.points_S_mm = {Vec3(surface_mm + out, 0, span.low - out * lean), Vec3(floor_r, 0, span.low + deep * lean),
                      Vec3(floor_r, 0, span.high - deep * lean - tool->width_mm),
                      Vec3(surface_mm + out, 0, span.high + out * lean - tool->width_mm)};
  return AddGrooveStep(job, *tool, groove, surface_mm, path,
                       fmt::format("Cut {} with the {}: down to {} across, then each wall with the compound slide set {} degrees "
                                   "off square, one way and the other.",
                                   NameWords(job.feature.name), tool->words, Num(groove.diameter.middle_mm()), Num(0.5 * groove.vee_deg)));
}

}  // namespace

Status CutTaper(Job& job) {
  const auto& taper = std::get<Taper>(job.feature.shape);
  if (!OnSpindle(job, taper.axis_P)) return NoPlan(job, "its axis is not the spindle's in this setup", "centre it on the spindle");
  const Cone cone = ConeInS(job, taper);
  const double along = (cone.span.high - cone.span.low) / std::cos(cone.half_angle_deg() * kRadPerDeg);
  const bool set_over = job.context.set_over_mm != 0;
  if (!set_over && along > job.machine().top_slide_mm) {
    return NoPlan(job, fmt::format("the cone is {} mm long, the compound slide moves {}", Num(along), Num(job.machine().top_slide_mm)),
                  "bar long enough for a centre in both ends, so that it can be turned with the tailstock set over");
  }
  if (taper.internal && cone.slope() < 0) {
    return NoPlan(job, "it narrows towards the tailstock", "bore it from its wide end");
  }
  const Tool* tool = taper.internal ? FindConeBar(job, cone) : FindOutside(job, ToolKind::kTurningTool, ToolKind::kFacingTool);
  if (tool == nullptr) {
    return NoPlan(job, taper.internal ? "no boring bar goes in there and reaches its end" : "the shop has no knife tool",
                  taper.internal ? "bore the hole first, or buy a longer bar" : "buy or grind a knife tool");
  }
  return AddCone(job, *tool, taper, cone);
}

Status CutShapedGroove(Job& job, const Groove& groove, const Span& span, double surface_mm) {
  if (groove.internal) {
    return NoPlan(job, "a round or vee groove inside a bore has no tool here", "grind a boring tool to its shape");
  }
  return groove.profile == GrooveProfile::kRound ? CutRoundGroove(job, groove, span, surface_mm)
                                                 : CutVeeGroove(job, groove, span, surface_mm);
}

}  // namespace fitwright::planner
