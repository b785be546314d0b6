// Parts that a shop could make and the planner does not yet: each is told apart by the part alone, and
// the test counts what runs into them. One that nothing runs into any more is to be struck out.
#pragma once

#include <array>
#include <cmath>
#include <string_view>

#include "fitwright/model/part.h"

namespace fitwright::random_parts {

struct Gap {
  std::string_view words;
  bool (*has)(const Part&);
};

template <typename Shape, typename Is>
bool AnyShape(const Part& part, Is is) {
  for (const Feature& f : part.features) {
    if (const auto* shape = std::get_if<Shape>(&f.shape); shape != nullptr && is(*shape)) return true;
  }
  return false;
}

inline bool IsBlockFromBar(const Part& part) { return part.envelope == EnvelopeKind::kBlock && part.stock.IsBar(); }
inline bool HasCutAcross(const Part& part) {
  const auto across = [&](const Hole& hole) { return std::abs(hole.into_P.dot(part.turning_axis_P.direction)) < 0.5; };
  return part.envelope == EnvelopeKind::kTurned &&
         (AnyShape<Hole>(part, across) || AnyShape<Keyway>(part, [](const Keyway& keyway) { return !keyway.internal; }));
}
inline bool HasSunkFlats(const Part& part) {
  return AnyShape<Flats>(part, [&](const Flats& flats) {
    const auto larger = [&](bool above) {
      return AnyShape<OuterDiameter>(part, [&](const OuterDiameter& o) {
        return o.diameter.middle_mm() > flats.across.middle_mm() && (above ? o.from_mm >= flats.to_mm - 1e-6 : o.to_mm <= flats.from_mm + 1e-6);
      });
    };
    return larger(false) && larger(true);
  });
}
inline bool HasDeepStep(const Part& part) {
  constexpr double kGripAndRoom_mm = 7;  // common practice: 5 in the jaws and 2 between them and the cut
  return AnyShape<StepCut>(part, [&](const StepCut& step) {
    const Vec3 up = -step.into_P;
    const auto low = [&](const Box3& box) { return std::min(up.dot(box.min_mm), up.dot(box.max_mm)); };
    return low(step.removed_P) - low(part.block_P) < kGripAndRoom_mm;
  });
}
inline bool HasSmallFlatFloor(const Part& part) {
  constexpr double kLargestReamed_mm = 12;
  return part.envelope == EnvelopeKind::kTurned && AnyShape<Hole>(part, [](const Hole& hole) {
           return !hole.through && hole.bottom == HoleBottom::kFlat && hole.diameter.middle_mm() < kLargestReamed_mm + 0.1;
         });
}

inline constexpr std::array<Gap, 5> kGaps = {{
    {"a block from a round or hexagon bar", IsBlockFromBar},
    {"a hole or keyway across work whose ends no vise and whose lands no V-block holds", HasCutAcross},
    {"a small flat-bottomed hole on the axis, for which cutters go on the mill", HasSmallFlatFloor},
    {"two flats sunk between larger lands, which want a cutter from the side", HasSunkFlats},
    {"a step deeper than what is left to hold, which could be cut from its other open side", HasDeepStep},
}};

}  // namespace fitwright::random_parts
