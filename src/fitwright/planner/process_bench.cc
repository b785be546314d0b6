// Work on the bench: letters, outlines sawn and filed to the line, sheet cut with snips, knife and punch.
#include <algorithm>
#include <cmath>

#include "fitwright/planner/outline_path.h"
#include "fitwright/planner/paths_design.h"
#include "fitwright/planner/pieces.h"
#include "fitwright/planner/process_common.h"

namespace fitwright::planner {
namespace {

constexpr double kClear_mm = 0.5;          // the drawn cut begins above and ends below the piece
constexpr double kLine_mm_min = 4;         // sawn and filed to a line, per mm of thickness up to 8 (opinion)
constexpr double kSheetLine_mm_min = 40;   // cut in sheet (opinion)
constexpr double kRub_min_mm = 40;         // a small end rubbed down on paper, a tenth in four minutes (opinion)
constexpr double kHole_min = 1.5;          // a hole punched in sheet (opinion)
constexpr double kLetter_min = 1.5;        // a letter (opinion)

const Tool* FindHandTool(const Job& job, ToolKind kind) {
  for (const Tool& tool : job.shop().tools) {
    if (tool.kind == kind) return &tool;
  }
  return nullptr;
}

struct Level {
  double top = 0;
  double below = 0;
};
Level LevelOf(const Job& job) {
  return {job.top_S_mm() + kClear_mm, job.piece.piece_S.min_mm.z() - kClear_mm};
}

double Length(const std::vector<Vec2>& points, const std::vector<double>& turns) {
  double sum = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double chord = (points[(i + 1) % points.size()] - points[i]).norm();
    const double half = std::abs(turns[i]) / 2;
    sum += half < 1e-9 ? chord : chord * half / std::sin(half);
  }
  return sum;
}

double LineMinutes(const Job& job, double length_mm) {
  if (IsSheet(job.part())) return 1 + length_mm / kSheetLine_mm_min;
  const double thick = job.piece.piece_S.size_mm().z();
  return 5 + length_mm / kLine_mm_min * std::clamp(thick / 8, 0.25, 2.0);
}

// A step of handwork with the file (or what stands for it) in the list of tools.
Result<Step*> HandStep(Job& job, Operation operation, ToolKind kind) {
  const Tool* tool = FindHandTool(job, kind);
  if (tool == nullptr) {
    return NoPlan(job, fmt::format("the shop has no {} for handwork", WordOf(kind)), "add one to the shop's tools");
  }
  Step& step = AddStep(job, operation, *tool, CutSettings{});
  step.depth_mm = job.piece.piece_S.size_mm().z();
  step.levels_mm = {step.depth_mm};
  return &step;
}

PathPiece ByHand(PathKind kind, const std::vector<Vec2>& points_S, const std::vector<double>& turns, const Level& level) {
  PathPiece piece;
  piece.kind = kind;
  piece.from_z_mm = level.top;
  piece.turns_rad = turns;
  for (const Vec2& p : points_S) piece.points_S_mm.emplace_back(p.x(), p.y(), level.below);
  return piece;
}

// "1: 0, 0; 2: 30, 0, on round a radius of 5; ..."
std::string CornerWords(const ClosedLine& line) {
  std::string words;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const double radius = RadiusOf(line, i);
    words += fmt::format("{}{}: {}, {}", i == 0 ? "" : "; ", i + 1, Num(line[i].at_mm.x()), Num(line[i].at_mm.y()));
    if (radius != 0) words += fmt::format(", on round a radius of {}", Num(std::abs(radius)));
  }
  return words;
}

// All outside the line, or of a cutout all inside it, over its depth.
Status CutToLine(Job& job, const Outline& outline, const std::vector<Vec2>& points, const ClosedWay& way) {
  auto step = HandStep(job, Operation::kByHand, ToolKind::kFile);
  if (!step) return Unexpected(step.error());
  Level level = LevelOf(job);
  if (outline.depth_mm > 0) {
    level.top = std::min(level.top, job.ToS(outline.origin_P_mm).z() + kClear_mm);
    level.below = job.ToS(outline.origin_P_mm + outline.depth_mm * outline.into_P).z();
    (*step)->depth_mm = outline.depth_mm;
    (*step)->levels_mm = {outline.depth_mm};
  }
  (*step)->path = {ByHand(outline.within ? PathKind::kCutOut : PathKind::kCutAround, points, way.turns_rad, level)};
  const std::string depth = outline.depth_mm > 0 ? fmt::format(", {} deep", Num(outline.depth_mm)) : std::string(", right through");
  const char* waste = outline.depth_mm > 0 ? "take the waste out with a small end mill or drills set to the depth"
                      : outline.within     ? "drill or saw the waste out"
                                           : "saw outside the line";
  (*step)->words = fmt::format("Blue the face, scribe {}{}: {}. Then {} and file to the line.", NameWords(job.feature.name), depth,
                               CornerWords(outline.line), waste);
  (*step)->caution = "A handle on the file; clamp the work, not the fingers.";
  (*step)->time_min = LineMinutes(job, Length(way.points_mm, way.turns_rad));
  return Ok{};
}

Status CutOutline(Job& job) {
  const auto& outline = std::get<Outline>(job.feature.shape);
  const auto way = OutlineWay(outline);
  if (!way) return NoPlan(job, way.error().message, way.error().remedy);
  std::vector<Vec2> points;
  for (const Vec2& q : way->points_mm)
    points.push_back(job.ToS(outline.origin_P_mm + q.x() * outline.u_P + q.y() * outline.v_P).head<2>());
  if (!outline.line.empty()) return CutToLine(job, outline, points, *way);
  auto step = HandStep(job, Operation::kByHand, ToolKind::kFile);
  if (!step) return Unexpected(step.error());
  (*step)->path = {ByHand(PathKind::kCutAround, points, way->turns_rad, LevelOf(job))};
  std::string round;
  for (const Outline::Disc& disc : outline.discs) {
    round += fmt::format("{}{} across about {}, {}", round.empty() ? "" : "; ", Num(disc.diameter_mm), Num(disc.centre_mm.x()),
                         Num(disc.centre_mm.y()));
  }
  (*step)->words =
      IsSheet(job.part())
          ? fmt::format("Scribe {} on the sheet, cut outside the line with snips, file to it between two pieces of scrap. Round ends: {}.",
                        NameWords(job.feature.name), round)
          : fmt::format("Blue the face, scribe {}, saw outside the line and file to it; hardened buttons in the holes guide the file round "
                        "the ends ({}). Inside corners {} in radius, with a round file.",
                        NameWords(job.feature.name), round, Num(outline.inside_radius_mm));
  (*step)->caution = IsSheet(job.part()) ? "Strip edges cut: gloves off the machine, on for the sheet; file the burr away."
                                         : "A handle on the file; clamp the work, not the fingers.";
  (*step)->time_min = LineMinutes(job, Length(way->points_mm, way->turns_rad));
  return Ok{};
}

Status CutSheetEdge(Job& job, const PlanarFace& face) {
  auto step = HandStep(job, Operation::kByHand, ToolKind::kHacksaw);
  if (!step) return Unexpected(step.error());
  PathPiece piece;
  piece.kind = PathKind::kSaw;
  piece.points_S_mm = {job.ToS(face.normal_P * face.at.middle_mm()), job.DirToS(face.normal_P)};
  (*step)->path = {piece};
  (*step)->words = fmt::format("Cut {} straight along a rule with a knife or snips.", NameWords(job.feature.name));
  (*step)->caution = "Cut away from the hand that holds the rule.";
  (*step)->time_min = LineMinutes(job, job.piece.piece_S.size_mm().maxCoeff());
  return Ok{};
}

// The widest of what files and rubs is the plate with abrasive paper.
Status RubFace(Job& job, const PlanarFace& face) {
  const Tool* plate = nullptr;
  for (const Tool& tool : job.shop().tools) {
    if (tool.kind == ToolKind::kFile && (plate == nullptr || tool.width_mm > plate->width_mm)) plate = &tool;
  }
  const Box3& box = job.piece.piece_S;
  const double widest = box.size_mm().head<2>().maxCoeff();
  if (plate == nullptr || plate->width_mm < widest) {
    return NoPlan(job, "the shop has no plate to rub it down on", "add a file as wide as the face, or a plate with abrasive paper, to its tools");
  }
  const double z = job.ToS(face.normal_P * face.at.middle_mm()).z();
  const double off = job.top_S_mm() - z;
  if (off < kGeometryNoise_mm) return NoPlan(job, "nothing stands over it to be rubbed off", "leave it over length before");
  Step& step = AddStep(job, Operation::kByHand, *plate, CutSettings{});
  step.depth_mm = off;
  step.levels_mm = {off};
  const Vec2 low = box.min_mm.head<2>() - Vec2(kClear_mm, kClear_mm);
  const Vec2 high = box.max_mm.head<2>() + Vec2(kClear_mm, kClear_mm);
  step.path = {ByHand(PathKind::kCutOut, {low, {high.x(), low.y()}, high, {low.x(), high.y()}}, {0, 0, 0, 0}, {job.top_S_mm() + kClear_mm, z})};
  step.aim = MakeAim(job, face.at, SafeSide::kBig, "turned_diameter");
  step.words = fmt::format("Rub {} down on it, wet, in a figure of eight, a quarter turn every few strokes.", NameWords(job.feature.name));
  step.time_min = 2 + off * kRub_min_mm;
  return Ok{};
}

Status CutSheetHoles(Job& job, const Hole& hole) {
  auto step = HandStep(job, Operation::kByHand, ToolKind::kFile);
  if (!step) return Unexpected(step.error());
  const double r = hole.diameter.middle_mm() / 2;
  for (const Vec3& entry : hole.entries_P_mm) {
    const Vec2 c = job.ToS(entry).head<2>();
    (*step)->path.push_back(ByHand(PathKind::kCutOut, {c + Vec2(r, 0), c - Vec2(r, 0)}, {kPi, kPi}, LevelOf(job)));
  }
  const std::size_t count = hole.entries_P_mm.size();
  (*step)->words = fmt::format("{} {} on a block of end grain, {} in diameter; where a mate has the same hole, use it for a template.",
                               r < 8 ? "Punch" : "Cut", NameWords(job.feature.name), Num(hole.diameter.middle_mm()));
  (*step)->time_min = kHole_min * static_cast<double>(count);
  return Ok{};
}

bool IsIronRing(const Part& part) {
  const trade::Material* material = trade::FindMaterial(part.material);
  return part.envelope == EnvelopeKind::kTurned && material != nullptr && material->kind == trade::MaterialKind::kCastIron;
}

// A ring that is slit: its gap is what it has in its bore, and turned to that bore it lies there without spring (common practice).
const char* SprungWords(const Part& part) {
  if (!IsIronRing(part)) return "";
  return " while it stands square in the bore that it runs in. Turned to that bore it has no spring of its own: hold it open on a wedge, its gap some four times "
         "its thickness, heat it evenly to a dull red, let it cool in still air and clean it: gloves, eye protection, nothing near that burns. Then rub both sides, mike its thickness again at four places and feel the gap again";
}

// A gap that is less than any saw takes is snapped (common practice).
std::string SlitWords(const Part& part, const std::string& name, const Size& width) {
  constexpr double kThinnestSaw_mm = 0.25;
  if (IsIronRing(part) && width.lower_mm < kThinnestSaw_mm) {
    return fmt::format("Nick the inside at {} with the edge of a file and snap the ring there, for no saw is so thin; spring the ends past each other sideways and dress one of "
                       "them with a fine file until there is {} to {},",
                       name, Num(width.lower_mm), Num(width.upper_mm));
  }
  return fmt::format("Cut {} with a fine saw and open it with a thin file to {} to {},", name, Num(width.lower_mm), Num(width.upper_mm));
}

Status CutThinSlot(Job& job, const Slot& slot) {
  auto step = HandStep(job, Operation::kByHand, ToolKind::kFile);
  if (!step) return Unexpected(step.error());
  const double r = slot.width.middle_mm() / 2;
  const Vec2 c = job.ToS(slot.centre_P_mm).head<2>();
  const Vec2 u = job.DirToS(slot.along_P).head<2>().normalized();
  const Vec2 v(-u.y(), u.x());
  const Vec2 half = (slot.length_mm / 2 - r) * u;
  Level level = LevelOf(job);
  if (!slot.through) level.below = job.ToS(slot.centre_P_mm + slot.depth_mm * slot.into_P).z();
  (*step)->path = {ByHand(PathKind::kCutOut, {c - half - r * v, c + half - r * v, c + half + r * v, c - half + r * v},
                          {0, kPi, 0, kPi}, level)};
  const bool sheet = IsSheet(job.part());
  (*step)->words = sheet ? fmt::format("Cut out {} with a knife, {} by {} over its round ends, the ends with a punch.",
                                       NameWords(job.feature.name), Num(slot.width.middle_mm()), Num(slot.length_mm))
                         : fmt::format("{} tried with the feeler gauge{}.", SlitWords(job.part(), NameWords(job.feature.name), slot.width), SprungWords(job.part()));
  if (!sheet) {
    (*step)->aim = MakeAim(job, slot.width, SafeSide::kSmall, "scribed_line");
    (*step)->caution = "Thin work: hold it flat on a board; eye protection, a ring snaps.";
  }
  (*step)->time_min = sheet ? LineMinutes(job, 2 * slot.length_mm) : 10;
  return Ok{};
}

// The corner outside a quarter round, seen along the edge.
Status CutStraightRound(Job& job, const EdgeChamfer& chamfer) {
  const auto plane = FindChamferPlane(job.part(), chamfer);
  if (!plane) return NoPlan(job, "its two faces do not meet in an edge");
  auto step = HandStep(job, Operation::kByHand, ToolKind::kFile);
  if (!step) return Unexpected(step.error());
  const Vec2 edge = job.ToS(plane->edge_P_mm).head<2>();
  Vec2 a = job.ToS(plane->foot_a_P_mm).head<2>();
  Vec2 b = job.ToS(plane->foot_b_P_mm).head<2>();
  if ((a - edge).x() * (b - edge).y() < (a - edge).y() * (b - edge).x()) std::swap(a, b);  // counter-clockwise below
  const Vec2 out_a = (edge - b).normalized() * kClear_mm;  // square faces: out of a is along b
  const Vec2 out_b = (edge - a).normalized() * kClear_mm;
  (*step)->path = {ByHand(PathKind::kCutOut, {a, b, b + out_b, edge + out_a + out_b, a + out_a},
                          {-kPi / 2, 0, 0, 0, 0}, LevelOf(job))};
  (*step)->words = fmt::format("File the edge of {} and {} round to a radius of {}: first a 45 degree flat, then its two corners, "
                               "then round, tried with the radius gauge along all of it.",
                               NameWords(chamfer.face_a), NameWords(chamfer.face_b), Num(chamfer.leg_a_mm));
  (*step)->caution = "A handle on the file; soft jaws, so that the finished faces are not marked.";
  (*step)->time_min = LineMinutes(job, job.piece.piece_S.size_mm().z()) / 2;
  return Ok{};
}

Status CutMarking(Job& job, const Marking& marking) {
  Step step;
  step.operation = Operation::kMark;
  step.features = {job.ref};
  step.depth_mm = marking.depth_mm;
  step.words = fmt::format("Mark \"{}\" in letters {} high, {} deep: stamps against a straight edge, or engraved.", marking.text,
                           Num(marking.height_mm), Num(marking.depth_mm));
  step.caution = "Lay it on a flat steel block, soft sheet between: a stamp raises a burr behind it.";
  step.time_min = 3 + kLetter_min * static_cast<double>(marking.text.size());
  job.result.steps.push_back(std::move(step));
  return Ok{};
}

}  // namespace

Status CutByHand(Job& job) {
  const FeatureShape& shape = job.feature.shape;
  if (const auto* marking = std::get_if<Marking>(&shape)) return CutMarking(job, *marking);
  if (std::holds_alternative<Outline>(shape)) return CutOutline(job);
  if (const auto* slot = std::get_if<Slot>(&shape)) return CutThinSlot(job, *slot);
  if (const auto* hole = std::get_if<Hole>(&shape)) return CutSheetHoles(job, *hole);
  if (const auto* edge = std::get_if<EdgeChamfer>(&shape)) return CutStraightRound(job, *edge);
  if (const auto* face = std::get_if<PlanarFace>(&shape)) return IsSheet(job.part()) ? CutSheetEdge(job, *face) : RubFace(job, *face);
  return NoPlan(job, "it is not cut by hand", "cut it on a machine");
}

}  // namespace fitwright::planner
