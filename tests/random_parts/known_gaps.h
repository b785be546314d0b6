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
inline bool HasDividedFlats(const Part& part) {
  return AnyShape<Flats>(part, [](const Flats& flats) { return flats.count == 3 || flats.count == 6; });
}
inline bool HasShaftKeyway(const Part& part) {
  return AnyShape<Keyway>(part, [](const Keyway& keyway) { return !keyway.internal; });
}
inline bool HasCrossHole(const Part& part) {
  return part.envelope == EnvelopeKind::kTurned &&
         AnyShape<Hole>(part, [&](const Hole& hole) { return std::abs(hole.into_P.dot(part.turning_axis_P.direction)) < 0.5; });
}
inline bool HasSmallFlatFloor(const Part& part) {
  constexpr double kLargestReamed_mm = 12;
  return part.envelope == EnvelopeKind::kTurned && AnyShape<Hole>(part, [](const Hole& hole) {
           return !hole.through && hole.bottom == HoleBottom::kFlat && hole.diameter.middle_mm() < kLargestReamed_mm + 0.1;
         });
}

inline constexpr std::array<Gap, 5> kGaps = {{
    {"a block from a round or hexagon bar", IsBlockFromBar},
    {"three or six flats, which want dividing", HasDividedFlats},
    {"a keyway in a shaft", HasShaftKeyway},
    {"a hole across work that no vise holds by its ends", HasCrossHole},
    {"a small flat-bottomed hole on the axis, for which cutters go on the mill", HasSmallFlatFloor},
}};

}  // namespace fitwright::random_parts
