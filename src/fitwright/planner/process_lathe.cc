// Outside work in the lathe, grooves, chamfers on round edges, parting off.
#include "fitwright/planner/process_lathe.h"

#include <algorithm>
#include <cmath>

#include "fitwright/planner/paths.h"
#include "fitwright/planner/paths_design.h"

namespace fitwright::planner {
Span SpanInS(const Job& job, const Axis3& axis_P, double from_mm, double to_mm) {
  const double a = job.ToS(axis_P.point_mm + axis_P.direction * from_mm).z();
  const double b = job.ToS(axis_P.point_mm + axis_P.direction * to_mm).z();
  return {std::min(a, b), std::max(a, b)};
}

const Tool* FindOutside(const Job& job, ToolKind first, ToolKind second) {
  const auto sized = [](const Tool& t) { return t.section_T_mm.size() >= 3; };
  const auto any = [](const Tool&) { return 0.0; };
  const Tool* tool = FindTool(job.shop(), job.machine(), first, sized, any);
  return tool != nullptr ? tool : FindTool(job.shop(), job.machine(), second, sized, any);
}

bool IsBlock(const Job& job) { return job.piece.bar_diameter_mm <= 0; }

// Black bar and castings: the first cut goes under the skin, which blunts an edge that rubs on it.
void GoUnderSkin(const Job& job, Step& step) {
  const double skin = job.part().stock.skin_mm;
  const bool raw = job.part().stock.IsRound() && job.piece.bar_diameter_mm > job.part().stock.diameter_mm - kZone_mm;
  if (skin <= 0 || !raw || step.levels_mm.empty()) return;
  const double first = std::min(step.depth_mm, 1.5 * skin);
  std::erase_if(step.levels_mm, [&](double level) { return level < first - kZone_mm; });
  if (step.levels_mm.empty() || step.levels_mm.front() > first + kZone_mm) step.levels_mm.insert(step.levels_mm.begin(), first);
  step.words += fmt::format(" The first cut goes {} deep, under the skin.", Num(first));
}

std::string LatheCaution(const Job& job) {
  if (IsBlock(job))
    return "Out of balance: low speed, turn a full turn by hand first, shield in place.";
  if (job.context.holding == HoldingKind::kFaceplate)
    return "Balance the faceplate and turn a full turn by hand first.";
  if (job.material.kind == trade::MaterialKind::kCastIron) {
    return "Chuck key out before starting. Cast-iron dust: no air line, wipe the bed after.";
  }
  return "Chuck key out before starting.";
}

bool OnSpindle(const Job& job, const Axis3& axis_P) {
  return job.ToS(axis_P.point_mm).head<2>().norm() < kZone_mm &&
         std::abs(job.DirToS(axis_P.direction).z()) > 1 - kDirection;
}

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
    if (((p - b.min_mm).array() > 0).all() && ((b.max_mm - p).array() > 0).all())
      d = std::max(d, 2 * OutsideRadius(job.piece));
  }
  return d;
}

bool ClearsJaws(const Job& job, double z_S) {
  constexpr double kRoom_mm = 0.5;
  return !job.context.jaws_S_mm || z_S > *job.context.jaws_S_mm + kRoom_mm;
}

void AddUnsweptPath(Job& job, Step& step, PathPiece piece) {
  for (std::size_t i = 0; i < piece.points_S_mm.size(); ++i) {
    step.coordinates.push_back(DialReading(job.machine(), piece.points_S_mm[i],
                                           piece.points_S_mm.size() == 1 ? "1" : i == 0 ? "start" : "end"));
  }
  step.path.push_back(std::move(piece));
}

namespace {

constexpr double kPastShoulder_mm =
    1;                              // an outside without a shoulder is turned this far past its end
constexpr double kClear_mm = 1;     // of a tool that comes in beside the work
constexpr double kSawFirst_mm = 6;  // more than this is sooner sawn off than faced (opinion)
constexpr double kSawLeaves_mm = 1.5;  // to be faced: a hand's saw cut runs out (opinion)
constexpr double kFinishFace_mm = 0.2;
constexpr double kIntoHole_mm = 0.5;  // on the radius, past the edge of a hole in the face
constexpr double kThinRing = 0.8;  // bore over outside: thinner than this springs (opinion)
constexpr double kShortRing = 0.5;  // length over outside: longer is a tube (opinion)
constexpr double kSectionShare = 0.9;  // of a tool's section, taken at one go in the drawn path

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

// How far past the axis the corner must go so that no pip is left up to height above the face: the
// edge that rises from the corner falls back by its clearance.
double PastCentre(const Tool& tool, double height_mm) {
  const auto& section = tool.section_T_mm;
  double back = 1;
  for (std::size_t i = 0; i < section.size(); ++i) {
    if (section[i].norm() > kZone_mm) continue;
    for (const std::size_t k :
         {(i + 1) % section.size(), (i + section.size() - 1) % section.size()}) {
      if (section[k].y() > 0) back = std::min(back, std::max(0.0, section[k].x() / section[k].y()));
    }
  }
  return 0.2 + back * height_mm;
}

// The limits of the cut's own aim where it has one: a size made to suit is measured more finely than
// the drawing alone would ask.
void SetOutsideMeasure(Job& job, Step& step, const Size& size, const std::string& where) {
  const auto& given = job.request.given_aim;
  SetMeasure(job, step,
             {{InstrumentKind::kCaliper, InstrumentKind::kMicrometer},
              size.middle_mm(),
              given ? given->lower_mm : size.lower_mm,
              given ? given->upper_mm : size.upper_mm,
              where});
}

double MeasuringMinutes(const Job& job) {
  return job.request.aim == AimKind::kOneShot ? 0 : 2 * job.shop().times.measure + 2;
}

}  // namespace

namespace {

// What stands far over a face goes with the hacksaw, the bar in the chuck; false when the shop has none
// that goes through it.
bool SawFirst(Job& job, double z_S) {
  constexpr double kSoft_mm2_min = 150;  // by hand, opinion
  constexpr double kHard_mm2_min = 60;
  const double outside = OutsideRadius(job.piece);
  const auto& tools = job.shop().tools;  // whatever the machine: it is worked by hand
  const auto saw = std::find_if(tools.begin(), tools.end(),
                                [&](const Tool& t) { return t.kind == ToolKind::kHacksaw && t.reach_mm >= 2 * outside; });
  if (saw == tools.end() || IsBlock(job)) return false;
  Step& step = AddStep(job, Operation::kSaw, *saw, {});
  step.features.clear();
  PathPiece piece;
  piece.kind = PathKind::kSaw;
  piece.points_S_mm = {Vec3(0, 0, z_S), Vec3::UnitZ()};
  step.path = {piece};
  const std::string from_jaws = job.context.jaws_S_mm ? fmt::format(", {} mm from the jaws", Num(std::round(10 * (z_S - *job.context.jaws_S_mm)) / 10)) : "";
  step.words = fmt::format("Saw off what stands {} mm or more over {}{}: spindle stopped and in back gear, a scrap of board on the bed.",
                           Num(kSawLeaves_mm), NameWords(job.feature.name), from_jaws);
  step.caution = "Hold the end that comes off; the lathe's switch off at the wall.";
  using K = trade::MaterialKind;
  const bool soft = job.material.kind == K::kAluminium || job.material.kind == K::kBrass || job.material.kind == K::kBronze;
  SetMinutes(job, step, kPi * outside * outside / (soft ? kSoft_mm2_min : kHard_mm2_min), 1);
  return true;
}

}  // namespace

Status CutTurnedFace(Job& job) {
  const auto& face = std::get<PlanarFace>(job.feature.shape);
  const Vec3 normal = job.DirToS(face.normal_P);
  if (normal.z() < 1 - kDirection)
    return NoPlan(job, "it does not face the tailstock in this setup", "turn the part round");
  const Tool* tool = FindOutside(job, ToolKind::kFacingTool, ToolKind::kTurningTool);
  if (tool == nullptr)
    return NoPlan(job, "the shop has no facing tool", "buy or grind a knife tool");
  const double z = job.ToS(face.normal_P * face.at.middle_mm()).z() + job.request.leave_mm;
  double allowance = job.top_S_mm() - z;
  if (allowance > kSawFirst_mm && SawFirst(job, z + kSawLeaves_mm)) allowance = kSawLeaves_mm;
  if (allowance < kZone_mm) return NoPlan(job, "nothing stands over it to be faced off");
  const double outside = OutsideRadiusAbove(job.piece, z);
  const auto settings = Settings(
      job, *tool, {trade::CutKind::kFaceInLathe, 2 * outside});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kFace, *tool, *settings);
  step.depth_mm = allowance;
  step.levels_mm = PassLevels(allowance, settings->depth_mm, kFinishFace_mm);
  // The drill ran out past a hole's end by more than is faced off.
  const double open = allowance < kRunOut_mm && OpenRadiusAt(job, z) > 2 * kIntoHole_mm ? OpenRadiusAt(job, z) : 0;
  const double slice = kSectionShare * ReachUpward(*tool);
  const int slices = std::max(1, static_cast<int>(std::ceil(allowance / slice)));
  for (int i = slices - 1; i >= 0; --i) {
    const double height = std::min(allowance, slice);
    PathPiece piece;
    piece.kind = PathKind::kTurn;
    piece.points_S_mm = {Vec3(outside + kApproach_mm, 0, z + i * slice),
                         Vec3(open > 0 ? open - kIntoHole_mm : -PastCentre(*tool, height), 0, z + i * slice)};
    if (const Status s = AddPath(job, step, *tool, piece); !s) return s;
  }
  step.aim = MakeAim(job, face.at, SafeSide::kBig, "depth_stop");
  step.words = fmt::format("Face {} clean {}, {} off.", NameWords(job.feature.name),
                           open > 0 ? "to the edge of its hole" : "to the centre", Num(allowance));
  MeasureThickness(job, step, face);
  if (!step.measure) step.words += fmt::format(" Before that touch it where it stands highest and set z to {}.", Num(job.machine().z_sense * (z + allowance)));
  if (allowance > kSawFirst_mm) {
    job.result.warnings.push_back(
        fmt::format("{}: {} mm to face off is much; saw the bar shorter first.", job.ref.text(),
                    Num(allowance)));
  }
  if (job.request.leave_mm > 0)
    step.words += fmt::format(" Leave {} on it.", Num(job.request.leave_mm));
  GoUnderSkin(job, step);
  step.caution = LatheCaution(job);
  SetMinutes(
      job, step,
      static_cast<double>(step.levels_mm.size()) * (outside + kApproach_mm) / settings->feed_mm_min,
      0.4 * static_cast<double>(step.levels_mm.size()));
  return Ok{};
}

namespace {

struct TurnedLand {
  double r_mm = 0;
  double length_mm = 0;
  bool shoulder = false;
  double low_mm = 0;  // where it ends, in S
};

double LeftOnDiameter_mm() { return 2 * trade::FinishAllowance_mm(trade::CutKind::kTurn); }

// How far what holds the piece stands behind the end of a cut, where that is near.
std::optional<double> BehindCut_mm(const Job& job, double low_S_mm) {
  constexpr double kNear_mm = 3;  // opinion
  if (!job.context.jaws_S_mm) return std::nullopt;
  const double behind = low_S_mm - *job.context.jaws_S_mm;
  return behind < kNear_mm ? std::optional(behind) : std::nullopt;
}

std::string JawsCaution(const Job& job, double low_S_mm) {
  const auto behind = BehindCut_mm(job, low_S_mm);
  if (!behind) return {};
  const bool jaws = job.context.holding == HoldingKind::kThreeJaw || job.context.holding == HoldingKind::kThreeJawShort ||
                    job.context.holding == HoldingKind::kFourJaw;
  return fmt::format(" {} {:.1f} mm behind the end of this cut.", jaws ? "The jaws turn" : "What holds the piece turns", *behind);
}

// A through bore was cut on past the finished end, into what is parted away: the piece comes off where the blade
// meets it, and what holds the piece by its bore stays clear of the blade. Radii.
double ComesOffAt_mm(const Job& job, double z_S_mm) { return OpenRadiusAt(job, z_S_mm + kRunOut_mm - kZone_mm); }
double PartedOpen_mm(const Job& job, double z_S_mm) {
  const double comes_off = ComesOffAt_mm(job, z_S_mm);
  return comes_off > 1 ? comes_off : std::min(OpenRadiusAt(job, z_S_mm), OpenRadiusAt(job, z_S_mm - 3));
}

// What parts the piece off at z_S_mm.
const Tool* FindBlade(const Job& job, double z_S_mm) {
  const double wall = OutsideRadius(job.piece) - PartedOpen_mm(job, z_S_mm);
  return FindTool(
      job.shop(), job.machine(), ToolKind::kPartingTool, [&](const Tool& t) { return t.reach_mm >= wall && t.section_T_mm.size() >= 3; },
      [](const Tool& t) { return t.width_mm; });
}

// Past the end of an outside without a shoulder, so much less where the jaws stand near that most of the room is kept.
// Where the piece is parted off just behind, past the blade too: it goes in beside no step that would push it over.
double PastEnd_mm(const Job& job, double end_S_mm) {
  constexpr double kRoomShare = 0.25;  // opinion
  constexpr double kLeastPast_mm = 0.3;  // an edge's nose clears the corner (opinion)
  constexpr double kOffJaws_mm = 2;      // opinion
  if (!job.context.jaws_S_mm) return kPastShoulder_mm;
  const double room = end_S_mm - *job.context.jaws_S_mm;
  const double past = std::clamp(kRoomShare * room, kLeastPast_mm, kPastShoulder_mm);
  if (!job.context.parted_S_mm || end_S_mm - *job.context.parted_S_mm > kPastShoulder_mm) return past;
  const Tool* blade = FindBlade(job, *job.context.parted_S_mm);
  if (blade == nullptr) return past;
  return std::clamp(end_S_mm - *job.context.parted_S_mm + blade->width_mm, past, std::max(past, room - kOffJaws_mm));
}

std::string TurnWords(const Job& job, const OuterDiameter& outer, const TurnedLand& land,
                      double pass_mm) {
  const auto& given = job.request.given_aim;
  const bool to_suit = job.request.leave_mm <= 0 && job.request.aim == AimKind::kFitToMeasured && given && given->mate;
  std::string size = Num(outer.diameter.nominal_mm);
  if (!outer.diameter.fit.empty()) size += " " + outer.diameter.fit;
  if (to_suit) size = fmt::format("to suit, about {},", Num(given->target_mm));
  if (job.request.leave_mm > 0) {
    size =
        fmt::format("to {} (leave {} on each side)", Num(2 * land.r_mm), Num(job.request.leave_mm));
  }
  std::string words =
      fmt::format("Turn {} {}{}, in cuts of {} mm.", NameWords(job.feature.name), size,
                  land.shoulder ? fmt::format(" and face its shoulder, {} long", Num(land.length_mm))
                                : fmt::format(" down to Z {}", Num(job.machine().z_sense * land.low_mm)),
                  Num(std::round(10 * pass_mm) / 10));
  const bool near_jaws = BehindCut_mm(job, land.low_mm).has_value();
  if (land.shoulder || near_jaws) {
    words += fmt::format(" Carriage stop at Z {}{}: power off a millimetre short of it, the rest by hand.", Num(job.machine().z_sense * land.low_mm),
                         near_jaws ? ", set with the lathe stopped and the spindle turned once by hand past the tool" : "");
  }
  if (job.request.aim == AimKind::kBringToSize) {
    words += fmt::format(" Leave {} on the diameter, let it cool, measure, then bring it to size.", Num(LeftOnDiameter_mm()));
  }
  if (job.request.aim == AimKind::kFitToMeasured && given && given->mate) {
    words += fmt::format(" {} Leave {} on the diameter, let it cool, measure, then turn it to suit.", MeasureFirstWords(*given->mate), Num(LeftOnDiameter_mm()));
  }
  return words;
}

}  // namespace

Status CutOuterDiameter(Job& job) {
  const auto& outer = std::get<OuterDiameter>(job.feature.shape);
  if (!OnSpindle(job, outer.axis_P))
    return NoPlan(job, "its axis is not the spindle's in this setup", "centre it on the spindle");
  const Tool* tool = FindOutside(job, ToolKind::kTurningTool, ToolKind::kFacingTool);
  if (tool == nullptr)
    return NoPlan(job, "the shop has no knife tool", "buy or grind a knife tool");
  const Span span = SpanInS(job, outer.axis_P, outer.from_mm, outer.to_mm);
  const double r = outer.diameter.middle_mm() / 2 + job.request.leave_mm;
  if (OutsideAt(job, span.high + 0.01) > 2 * r + kZone_mm) {
    return NoPlan(job, "a larger diameter stands between it and the tailstock",
                  "turn it from the other end");
  }
  const double outside = OutsideRadius(job.piece);
  if (outside - r < kZone_mm)
    return NoPlan(job, "nothing is left on it to be turned off", "use a larger bar");
  const bool shoulder = OutsideAt(job, span.low - 0.01) > 2 * r + kZone_mm;
  const double low = shoulder ? span.low : span.low - PastEnd_mm(job, span.low);
  const auto settings = Settings(
      job, *tool, {trade::CutKind::kTurn, 2 * outside});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kTurn, *tool, *settings);
  step.depth_mm = OutsideRadiusAbove(job.piece, span.low) - r;
  step.levels_mm = PassLevels(step.depth_mm, settings->depth_mm,
                              trade::FinishAllowance_mm(trade::CutKind::kTurn));
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
  step.words = TurnWords(job, outer, {r, span.high - span.low, shoulder, low}, settings->depth_mm);
  GoUnderSkin(job, step);
  step.caution = LatheCaution(job) + JawsCaution(job, low);
  if (job.context.centred)
    step.caution += " The middle springs away from the tool: the last cut twice at one setting, measured there too.";
  const double length = start - low;
  SetMinutes(job, step, static_cast<double>(step.levels_mm.size()) * length / settings->feed_mm_min,
             0.4 * static_cast<double>(step.levels_mm.size()) + MeasuringMinutes(job));
  SetOutsideMeasure(job, step, outer.diameter, span.high - span.low > 10 ? "at both ends" : "");
  return Ok{};
}

namespace {

// Radius of the surface that a groove is cut into; 0 = none.
double GrooveSurface(const Job& job, const Groove& groove, double middle_S) {
  if (!groove.internal) return OutsideAt(job, middle_S) / 2;
  double surface = 0;
  for (const Feature& f : job.part().features) {
    const auto* hole = std::get_if<Hole>(&f.shape);
    if (hole == nullptr || hole->entries_P_mm.size() != 1) continue;
    const Vec3 entry = job.ToS(hole->entries_P_mm.front());
    const double exit = entry.z() + job.DirToS(hole->into_P).z() * hole->depth_mm;
    if (entry.head<2>().norm() > kZone_mm) continue;
    if (middle_S < std::min(entry.z(), exit) || middle_S > std::max(entry.z(), exit)) continue;
    surface = std::max(surface, hole->diameter.middle_mm() / 2);
  }
  return surface;
}

struct GrooveCut {
  Span span;
  double r_mm = 0;        // of the groove's bottom
  double surface_mm = 0;  // radius of the surface
  double depth_mm = 0;
  double width_mm() const { return span.high - span.low; }
};

const Tool* FindGroover(const Job& job, bool internal, const GrooveCut& cut) {
  const double deep_in = job.top_S_mm() - cut.span.low + kClear_mm;
  return FindTool(
      job.shop(), job.machine(),
      internal ? ToolKind::kInternalGroovingTool : ToolKind::kGroovingTool,
      [&](const Tool& t) {
        if (t.width_mm > cut.width_mm() + kZone_mm) return false;
        if (t.reach_mm < cut.depth_mm - kZone_mm || t.section_T_mm.size() < 3) return false;
        return !internal || (t.diameter_min_mm <= 2 * cut.surface_mm && t.stick_out_mm >= deep_in);
      },
      [](const Tool& t) { return -t.width_mm; });
}

// In at the near wall, along the bottom when the groove is wider than the tool, out again.
PathPiece GroovePath(const Job& job, bool internal, const GrooveCut& cut, const Tool& tool) {
  const double clear = internal ? std::max(0.2, cut.surface_mm - 0.5) : cut.surface_mm + kClear_mm;
  const double last = std::max(cut.span.high - tool.width_mm, cut.span.low);
  PathPiece piece;
  piece.kind = PathKind::kTurn;
  if (internal) piece.points_S_mm.emplace_back(clear, 0, job.top_S_mm() + kApproach_mm);
  piece.points_S_mm.emplace_back(clear, 0, cut.span.low);
  piece.points_S_mm.emplace_back(cut.r_mm, 0, cut.span.low);
  if (last > cut.span.low + kZone_mm) piece.points_S_mm.emplace_back(cut.r_mm, 0, last);
  piece.points_S_mm.emplace_back(clear, 0, last);
  return piece;
}

}  // namespace

Status CutGroove(Job& job) {
  const auto& groove = std::get<Groove>(job.feature.shape);
  if (!OnSpindle(job, groove.axis_P)) {
    return NoPlan(job, "its axis is not the spindle's in this setup");
  }
  GrooveCut cut;
  cut.span = SpanInS(job, groove.axis_P, groove.from_mm, groove.to_mm);
  cut.r_mm = groove.diameter.middle_mm() / 2;
  cut.surface_mm = GrooveSurface(job, groove, 0.5 * (cut.span.low + cut.span.high));
  cut.depth_mm = groove.internal ? cut.r_mm - cut.surface_mm : cut.surface_mm - cut.r_mm;
  if (cut.surface_mm <= 0 || cut.depth_mm < kZone_mm) {
    return NoPlan(job, "there is no surface of the part at the groove to cut it in");
  }
  if (!groove.internal && OutsideAt(job, cut.span.high + 0.01) > 2 * cut.surface_mm + kZone_mm) {
    return NoPlan(job, "a larger diameter stands between it and the tailstock",
                  "cut it from the other end");
  }
  if (groove.profile != GrooveProfile::kSquare) return CutShapedGroove(job, groove, cut.span, cut.surface_mm);
  const Tool* tool = FindGroover(job, groove.internal, cut);
  if (tool == nullptr) {
    return NoPlan(
        job,
        fmt::format("no {} grooving tool up to {} wide reaches {} deep",
                    groove.internal ? "inside" : "outside", Num(cut.width_mm()), Num(cut.depth_mm)),
        "grind or buy one");
  }
  const double across = 2 * std::max(cut.surface_mm, cut.r_mm);
  const auto settings = Settings(job, *tool, {trade::CutKind::kGroove, across});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kGroove, *tool, *settings);
  step.depth_mm = cut.depth_mm;
  step.levels_mm = {cut.depth_mm};
  const PathPiece path = GroovePath(job, groove.internal, cut, *tool);
  if (const Status s = AddPath(job, step, *tool, path); !s) return s;
  step.aim = MakeAim(job, groove.diameter, groove.internal ? SafeSide::kSmall : SafeSide::kBig,
                     "turned_diameter");
  const bool wider = cut.width_mm() > tool->width_mm + kZone_mm;
  step.words = fmt::format("{} {} {} wide to {} across{}.", groove.undercut ? "Undercut" : "Cut",
                           NameWords(job.feature.name), Num(cut.width_mm()),
                           Num(groove.diameter.middle_mm()),
                           wider ? ", in two plunges and along the bottom" : "");
  step.words += " Z is read at the tool's left corner.";
  if (!wider && !groove.undercut) step.words += " A groove comes out a little wider than its tool: try one first in a scrap or where the bar is cut away.";
  step.caution = "Slow speed, square tool, steady feed; do not let it rub.";
  SetMinutes(job, step, (cut.depth_mm + kClear_mm) / settings->feed_mm_min + 0.5, 0.5);
  return Ok{};
}

// What is parted off there with this hole in it is short, and thin all along against its diameter.
bool IsThinRing(const Job& job, double z_S_mm, double open_radius_mm) {
  double outside = 0;
  for (double z = z_S_mm; z < job.top_S_mm(); z += kClear_mm) outside = std::max(outside, OutsideAt(job, z));
  if (outside <= 0) outside = 2 * OutsideRadius(job.piece);
  return job.top_S_mm() - z_S_mm < kShortRing * outside && 2 * open_radius_mm > kThinRing * outside;
}

Status CutPartOff(Job& job, double z_S_mm) {
  const double outside = OutsideRadius(job.piece);
  const double comes_off = ComesOffAt_mm(job, z_S_mm);
  const double open = PartedOpen_mm(job, z_S_mm);
  const Tool* tool = FindBlade(job, z_S_mm);
  if (tool == nullptr) {
    return NoPlan(job, fmt::format("no parting tool reaches {} mm", Num(outside - open)),
                  "saw it off and face the end in another setup");
  }
  const auto settings = Settings(job, *tool, {trade::CutKind::kPartOff, 2 * outside});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kPartOff, *tool, *settings);
  step.features.clear();
  const double z = z_S_mm - tool->width_mm;
  PathPiece piece;
  piece.kind = PathKind::kTurn;
  piece.points_S_mm = {Vec3(outside + kApproach_mm, 0, z),
                       Vec3(open > 1 ? open - 0.5 : -0.2, 0, z)};
  if (const Status s = AddPath(job, step, *tool, piece); !s) return s;
  step.depth_mm = outside - std::max(0.0, open);
  step.levels_mm = {step.depth_mm};
  step.words = fmt::format("Part it off with the {}, its left corner at Z {}.", tool->words,
                           Num(job.machine().z_sense * z));
  if (comes_off > 1) {
    step.words += fmt::format(" It comes off at {} across, where the blade meets its bore.", Num(2 * comes_off));
  }
  constexpr double kRodRoom_mm = 0.75;  // the blade goes a little into the bore
  step.caution = fmt::format("Parting: low speed, tool dead on centre height, carriage locked, oil; {}, not in the hand.",
                             comes_off > kRodRoom_mm + 1 ? fmt::format("catch it on a smooth rod held in the tailstock, through its bore, {:.0f} mm at most, for the blade comes in there", std::floor(2 * (comes_off - kRodRoom_mm)))
                                                        : std::string("a board with a rag over the bed for it to drop on"));
  if (IsThinRing(job, z_S_mm, comes_off)) step.caution += " A thin ring: it springs and snaps, eye protection.";
  if (job.context.centred) {
    step.caution +=
        " Never right through on the centre: at about 3 mm stop the spindle, draw the centre back, saw the rest and hold the piece.";
  }
  SetMinutes(job, step, (outside + kApproach_mm) / settings->feed_mm_min, 1);
  return Ok{};
}

Status CutCentre(Job& job, const Tool& centre_drill) {
  const auto settings = Settings(job, centre_drill, {trade::CutKind::kCentreDrill, centre_drill.diameter_mm});
  if (!settings) return Unexpected(settings.error());
  Step& step = AddStep(job, Operation::kCentreDrill, centre_drill, *settings);
  step.features.clear();
  const double deep = CentreDepth_mm(centre_drill);
  step.depth_mm = deep;
  step.levels_mm = {deep};
  PathPiece piece;
  piece.kind = PathKind::kPlunge;
  piece.from_z_mm = job.top_S_mm() + kApproach_mm;
  piece.points_S_mm = {Vec3(0, 0, job.top_S_mm() - deep)};
  if (const Status s = AddPath(job, step, centre_drill, piece); !s) return s;
  step.words = "Drill a centre in the end, in until its 60 degree mouth is well open; this end comes off again later.";
  step.caution = "Oil, light feed: a centre drill's point snaps and stays in the hole.";
  SetMinutes(job, step, deep / settings->feed_mm_min, 0.5);
  return Ok{};
}

}  // namespace fitwright::planner
