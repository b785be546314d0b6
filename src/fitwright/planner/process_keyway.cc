// A key's seat along a shaft: a slot sunk from the outside towards the axis, on past the shaft's
// end where it is open there.
#include <algorithm>

#include "fitwright/model/shapes.h"
#include "fitwright/planner/process_common.h"

namespace fitwright::planner {

Status CutKeyway(Job& job) {
  const auto& keyway = std::get<Keyway>(job.feature.shape);
  if (keyway.internal)
    return NoPlan(job, "a keyway in a bore is broached, and the shop has no broach",
                  "a screw through the hub, or buy the hub cut");
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
