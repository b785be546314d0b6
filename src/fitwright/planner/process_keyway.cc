// A key's seat along a shaft: a slot sunk from the outside towards the axis, on past the shaft's
// end where it is open there. Along a bore: slotted by strokes, or broached.
#include <algorithm>
#include <cmath>

#include "fitwright/model/shapes.h"
#include "fitwright/planner/holding_keyway.h"
#include "fitwright/planner/process_common.h"
#include "fitwright/trade/keys.h"

namespace fitwright::planner {
namespace {

constexpr double kPerStroke_mm = 0.05;  // of a bit in a bar, common practice 0.03 to 0.1
constexpr double kPerStroke_min = 0.15; // out and home by the saddle's handwheel; opinion
constexpr int kSpringStrokes = 4;       // at the last setting, until it cuts no more; common practice
constexpr double kPastEnd_mm = 2;       // beyond the bore
constexpr double kBroachPass_min = 3;   // oil, press through, wipe; with each shim again. Opinion
constexpr double kPerShim_mm = 1.2;     // a broach takes about so much in one pass; opinion

void MeasureSeat(Job& job, Step& step, const Keyway& keyway, double bore_mm) {
  const double size = keyway.floor_mm + bore_mm / 2;
  SetMeasure(job, step,
             {{InstrumentKind::kCaliper}, size, size, size + trade::KeywayDepthTolerance_mm(keyway.width.nominal_mm),
              "from the seat's floor to the bore's wall opposite, and try the key in it over its whole length"});
}

}  // namespace

Status CutHubKeyway(Job& job) {
  const auto& keyway = std::get<Keyway>(job.feature.shape);
  const double bore = HubBore_mm(job.part(), keyway);
  const double deep = keyway.floor_mm - bore / 2;
  const ToolKind kind = job.lathe() ? ToolKind::kSlottingTool : ToolKind::kBroach;
  const Tool* tool = FindKeywayTool(job.shop(), job.part(), job.feature, kind);
  if (tool == nullptr) return NoPlan(job, job.lathe() ? "no slotting tool of its width goes in" : "no broach of its width goes in");
  Step& step = AddStep(job, job.lathe() ? Operation::kShape : Operation::kBroach, *tool, {});
  step.depth_mm = deep;
  PathPiece stroke;
  stroke.kind = PathKind::kStroke;
  const double from = job.piece.piece_S.max_mm.z() + kPastEnd_mm;
  const double to = job.piece.piece_S.min_mm.z() - kPastEnd_mm;
  stroke.points_S_mm = {Vec3(keyway.floor_mm, 0, from), Vec3(keyway.floor_mm, 0, to)};
  if (const Status s = AddPath(job, step, *tool, std::move(stroke)); !s) return s;
  step.aim = MakeAim(job, keyway.width, SafeSide::kSmall, job.lathe() ? "slotted_width" : "broached_width");
  if (step.aim) step.aim->kind = AimKind::kOneShot;
  if (job.lathe()) {
    const int strokes = static_cast<int>(std::ceil(deep / kPerStroke_mm)) + kSpringStrokes;
    step.words = fmt::format("Slot {} {} wide with the {}, spindle locked: push it through with the saddle's handwheel, {} more on the cross slide at every stroke, "
                             "drawn back in before it comes home; about {} strokes to {} deep, the last {} without a cut put on.",
                             NameWords(job.feature.name), Num(keyway.width.middle_mm()), tool->words, Num(kPerStroke_mm), strokes, Num(deep), kSpringStrokes);
    step.caution = "Never switch on while the bar is in the bore. Oil at every stroke; a bit that springs down cuts a seat out of square: wait for the last strokes.";
    SetMinutes(job, step, strokes * kPerStroke_min);
  } else {
    const int passes = static_cast<int>(std::ceil(deep / kPerShim_mm));
    step.coordinates.clear();
    step.words = fmt::format("Broach {} {} wide with the {} in its guide bush: press it straight through in {}, to {} deep below the bore's wall.",
                             NameWords(job.feature.name), Num(keyway.width.middle_mm()), tool->words,
                             passes == 1 ? "one pass" : fmt::format("{} passes, a shim behind it after the first", passes), Num(deep));
    step.caution = "Oil on every tooth; let it right itself after the first teeth bite, and stop if it leans: a broach that is forced breaks.";
    SetMinutes(job, step, passes * kBroachPass_min);
  }
  MeasureSeat(job, step, keyway, bore);
  return Ok{};
}

Status CutKeyway(Job& job) {
  const auto& keyway = std::get<Keyway>(job.feature.shape);
  const double outside = CoveringDiameter(job.part(), keyway.axis_P, keyway.from_mm, keyway.to_mm);
  const auto [open_from, open_to] = OpenEnds(job.part(), keyway);
  const double width = keyway.width.middle_mm();
  const double low = std::min(keyway.from_mm, keyway.to_mm) - (open_from ? width : 0);
  const double high = std::max(keyway.from_mm, keyway.to_mm) + (open_to ? width : 0);
  Slot slot;
  slot.into_P = -keyway.side_P;
  slot.along_P = keyway.axis_P.direction;
  slot.centre_P_mm = keyway.axis_P.point_mm + 0.5 * (low + high) * keyway.axis_P.direction +
                     outside / 2 * keyway.side_P;
  slot.length_mm = high - low;
  slot.width = keyway.width;
  slot.depth_mm = outside / 2 - keyway.floor_mm;
  Feature sunk = job.feature;
  sunk.shape = slot;
  Job as_slot{job.context, job.request, job.piece, sunk, job.ref, job.material, job.X_SP, {}};
  const Status cut = CutSlot(as_slot);
  if (!cut) return cut;
  job.result = std::move(as_slot.result);
  Step& step = job.result.steps.back();
  const Tool* tool = job.shop().Find(step.tool);
  step.words =
      fmt::format("Mill the keyway {} wide and {} deep from the round's top with the {}.",
                  Num(width), Num(slot.depth_mm), tool == nullptr ? "cutter" : tool->words);
  return Ok{};
}

}  // namespace fitwright::planner
