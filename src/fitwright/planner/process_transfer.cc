// Marks taken from a mate by hand: a punch through its holes, or points screwed into its threads.
#include <algorithm>

#include "fitwright/planner/process_common.h"

namespace fitwright::planner {
namespace {

constexpr double kFills_mm =
    0.15;  // a punch that loose in the mate's hole still marks its middle (opinion)
constexpr double kMark_mm = 0.3;   // depth of a mark (opinion)
constexpr double kMark_min = 0.2;  // one blow (opinion)

const Tool* FindTransferPoint(const Shop& shop, const Hole& mate) {
  const Tool* best = nullptr;
  for (const Tool& tool : shop.tools) {
    if (tool.kind != ToolKind::kTransferPunch || tool.thread.empty() == mate.thread.has_value())
      continue;
    if (mate.thread && tool.thread != mate.thread->designation) continue;
    const double loose = mate.diameter.middle_mm() - tool.diameter_mm;
    if (!mate.thread && (loose < -kZone_mm || loose > kFills_mm)) continue;
    if (best == nullptr || tool.diameter_mm > best->diameter_mm) best = &tool;
  }
  return best;
}

Unexpected NoPoint(Job& job, const Hole& mate) {
  const std::string what = mate.thread ? mate.thread->designation + " transfer screws, pointed"
                                       : Num(mate.diameter.middle_mm()) + " mm transfer punch";
  job.result.missing.push_back({what, 1, "for " + job.ref.text()});
  return NoPlan(job, "the shop has no " + what, "buy it, or turn one from silver steel");
}

// Where the marks come: at the holes' mouths on the mate's side.
std::vector<Vec3> MarksOf(const Job& job, const Hole& hole, const PieceInSetup& mate,
                          const Hole& mate_hole) {
  const double face_z = (mate.X_PS.inverse() * mate_hole.entries_P_mm.front()).z();
  std::vector<Vec3> marks;
  for (std::size_t i = 0; i < hole.entries_P_mm.size(); ++i) {
    const auto& wanted = job.request.holes;
    if (!wanted.empty() &&
        std::find(wanted.begin(), wanted.end(), static_cast<int>(i)) == wanted.end())
      continue;
    Vec3 at = job.ToS(hole.entries_P_mm[i]);
    if (mate_hole.thread) at.z() = face_z;
    marks.push_back(at);
  }
  return marks;
}

}  // namespace

Status CutMarks(Job& job) {
  const FeatureRef& through = *job.request.through;
  const PieceInSetup* mate = nullptr;
  for (const PieceInSetup& piece : job.context.pieces) {
    if (piece.part->name == through.part) mate = &piece;
  }
  const Feature* from = mate == nullptr ? nullptr : mate->part->Find(through.feature);
  const auto* mate_hole = from == nullptr ? nullptr : std::get_if<Hole>(&from->shape);
  if (mate_hole == nullptr)
    return NoPlan(job, fmt::format("{} is not in the setup to mark it from", through.text()),
                  "put the mate on first");
  const Tool* tool = FindTransferPoint(job.shop(), *mate_hole);
  if (tool == nullptr) return NoPoint(job, *mate_hole);
  const std::vector<Vec3> marks =
      MarksOf(job, std::get<Hole>(job.feature.shape), *mate, *mate_hole);
  Step& step = AddStep(job, Operation::kSpotThrough, *tool, {});
  step.through = through;
  step.depth_mm = kMark_mm;
  step.levels_mm = {kMark_mm};
  PathPiece piece;
  piece.kind = PathKind::kPlunge;
  piece.from_z_mm = job.highest_S_mm() + kApproach_mm;
  for (const Vec3& mark : marks) piece.points_S_mm.push_back(mark - Vec3(0, 0, kMark_mm));
  for (const Vec3& point : piece.points_S_mm)
    step.coordinates.push_back(
        DialReading(job.machine(), point, std::to_string(step.coordinates.size() + 1)));
  step.path.push_back(std::move(piece));
  const std::string count = CountWords(marks.size());
  step.words =
      mate_hole->thread
          ? fmt::format("One tap with a soft hammer over each of the {} points: they mark {}.",
                        count.empty() ? "" : count, job.ref.part.text())
          : fmt::format("Mark {} through {} with the {}, upright, one sharp blow each.",
                        count.empty() ? "the hole" : "the " + count, through.part.text(),
                        tool->words);
  step.caution = "Eye protection: a hardened point can chip.";
  SetMinutes(job, step, kMark_min * static_cast<double>(marks.size()));
  return Ok{};
}

}  // namespace fitwright::planner
