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
// From neither end: something larger stands before them there, or behind them nothing that jaws would hold.
inline bool HasSunkFlats(const Part& part) {
  constexpr double kGripAndRoom_mm = 7;
  return AnyShape<Flats>(part, [&](const Flats& flats) {
    const auto beside = [&](bool above, auto is) {
      return AnyShape<OuterDiameter>(part, [&](const OuterDiameter& o) {
        return is(o) && (above ? o.from_mm >= flats.to_mm - 1e-6 : o.to_mm <= flats.from_mm + 1e-6);
      });
    };
    const auto larger = [&](const OuterDiameter& o) { return o.diameter.middle_mm() > flats.across.middle_mm(); };
    const auto long_enough = [](const OuterDiameter& o) { return o.to_mm - o.from_mm >= kGripAndRoom_mm; };
    const auto cut_from = [&](bool above) { return !beside(above, larger) && beside(!above, long_enough); };
    return !cut_from(true) && !cut_from(false);
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
  return AnyShape<Hole>(part, [](const Hole& hole) {
    return !hole.through && hole.bottom == HoleBottom::kFlat && hole.diameter.middle_mm() < kLargestReamed_mm + 0.1;
  });
}

inline const OuterDiameter* Widest(const Part& part) {
  const OuterDiameter* widest = nullptr;
  for (const Feature& f : part.features) {
    const auto* o = std::get_if<OuterDiameter>(&f.shape);
    if (o != nullptr && (widest == nullptr || o->diameter.middle_mm() > widest->diameter.middle_mm())) widest = o;
  }
  return widest;
}
inline bool HasHolesBesideANarrowLand(const Part& part) {
  constexpr double kGripAndRoom_mm = 7;
  const OuterDiameter* widest = Widest(part);
  const auto round = [&](const Hole& hole) {
    return hole.entries_P_mm.size() > 1 && std::abs(hole.into_P.dot(part.turning_axis_P.direction)) > 0.5;
  };
  if (part.envelope != EnvelopeKind::kTurned || widest == nullptr || !AnyShape<Hole>(part, round)) return false;
  double plain = widest->to_mm - widest->from_mm;
  for (const Feature& f : part.features) {
    const auto* cone = std::get_if<Taper>(&f.shape);
    if (cone != nullptr && !cone->internal && cone->from_mm >= widest->from_mm && cone->to_mm <= widest->to_mm) plain -= cone->to_mm - cone->from_mm;
  }
  return plain < kGripAndRoom_mm;
}
// Three diameters stand out of the jaws (common practice); some of it is in them.
inline bool IsSlenderAboutItsMiddle(const Part& part) {
  const OuterDiameter* widest = Widest(part);
  if (part.envelope != EnvelopeKind::kTurned || widest == nullptr) return false;
  double low = widest->from_mm;
  double high = widest->to_mm;
  double slimmest = widest->diameter.middle_mm();
  for (const Feature& f : part.features) {
    const auto* o = std::get_if<OuterDiameter>(&f.shape);
    if (o == nullptr) continue;
    low = std::min(low, o->from_mm);
    high = std::max(high, o->to_mm);
    slimmest = std::min(slimmest, o->diameter.middle_mm());
  }
  return low < widest->from_mm - 1e-6 && high > widest->to_mm + 1e-6 && high - low > 4 * slimmest;
}

inline constexpr std::array<Gap, 7> kGaps = {{
    {"a block from a round or hexagon bar", IsBlockFromBar},
    {"a hole or keyway across work whose ends no vise and whose lands no V-block holds", HasCutAcross},
    {"a small flat-bottomed hole, for which a cutter goes before the boring tool, on the mill", HasSmallFlatFloor},
    {"flats sunk between larger lands or beside one too short to hold, which want a cutter from the side", HasSunkFlats},
    {"a step deeper than what is left to hold, which could be cut from its other open side", HasDeepStep},
    {"holes round a wide narrow land, which could be drilled while the bar is still on", HasHolesBesideANarrowLand},
    {"a slender shaft thickest in its middle, whose ends could be faced and centred close to the jaws first", IsSlenderAboutItsMiddle},
}};

}  // namespace fitwright::random_parts
