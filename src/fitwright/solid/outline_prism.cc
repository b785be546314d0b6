#include "fitwright/solid/outline_prism.h"

#include <cmath>

#include "fitwright/solid/arcs.h"
#include "fitwright/solid/kernel.h"

namespace fitwright::solid {

Result<Solid> MakeOutlinePrism(const PlanOutline& outline) {
  const std::size_t count = outline.points_mm.size();
  if (count < 2 || outline.turns_rad.size() != count)
    return Unexpected(RangeError("an outline needs two points or more, each with its turn", fmt::format("{}", count), "add points"));
  if (!(outline.to_mm - outline.from_mm > kGeometryNoise_mm)) {
    return Unexpected(RangeError("an outline prism has no height", fmt::format("{:.6g} mm", outline.to_mm - outline.from_mm),
                                 "let it end above where it begins"));
  }
  for (const double turn : outline.turns_rad) {
    if (std::abs(turn) < 2 * kPi - 1e-6) continue;
    return Unexpected(RangeError("an arc of an outline turns a full circle", fmt::format("{:.6g} rad", turn), "split it in two"));
  }
  Pose frame = Pose::Identity();
  frame.translation().z() = outline.from_mm;
  return MakeArcPrism(frame, {outline.points_mm, outline.turns_rad}, outline.to_mm - outline.from_mm);
}

}  // namespace fitwright::solid
