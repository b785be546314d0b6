// Grooves, flats, tapers and keyways.
#include <algorithm>
#include <cmath>

#include "fitwright/model/shapes.h"
#include "fitwright/solid/arcs.h"
#include "fitwright/solid/build_internal.h"
#include "fitwright/solid/primitives.h"

namespace fitwright::solid {
namespace {

Vec3 Along(const Axis3& axis, double mm) {
  return axis.point_mm + mm * axis.direction.normalized();
}

// How far past its ends something along the axis runs out.
struct Ends {
  double from_mm = 0;
  double to_mm = 0;
};
Ends RunOutBoth(const Part& part, const Axis3& axis, double from_mm, double to_mm) {
  const Vec3 d = axis.direction.normalized();
  return {from_mm - RunOut(part, Along(axis, from_mm), -d),
          to_mm + RunOut(part, Along(axis, to_mm), d)};
}

// The half round, with straight walls up to `top` (a radius; 0 inside).
Result<Solid> MakeRoundGroove(const Groove& groove, double top) {
  const double half = 0.5 * (groove.to_mm - groove.from_mm);
  const double wall = 0.5 * groove.diameter.middle_mm() + (groove.internal ? -half : half);
  ArcOutline outline;
  outline.To({top, groove.from_mm});
  // Outside the floor lies towards the axis: the way turns right along it; inside, left.
  outline.To({wall, groove.from_mm}, groove.internal ? kPi : -kPi);
  outline.To({wall, groove.to_mm});
  outline.To({top, groove.to_mm});
  return MakeArcRevolve(groove.axis_P, outline);
}

// Two walls that lean from the surface down to the floor, or to where they meet.
Result<Solid> MakeVeeGroove(const Part& part, const Groove& groove, double top) {
  const double surface = GrooveSurfaceRadius(part, groove);
  const double half = 0.5 * (groove.to_mm - groove.from_mm);
  const double lean = std::tan(0.5 * groove.vee_deg * kRadPerDeg);
  const double depth = std::min(std::abs(surface - 0.5 * groove.diameter.middle_mm()), half / lean);
  const double floor = groove.internal ? surface + depth : surface - depth;
  const double in = depth * lean;
  return MakeRevolve(groove.axis_P, {{top, groove.from_mm},
                                     {surface, groove.from_mm},
                                     {floor, groove.from_mm + in},
                                     {floor, groove.to_mm - in},
                                     {surface, groove.to_mm},
                                     {top, groove.to_mm}});
}

Pose FrameAlong(const Axis3& axis, const Vec3& x) {
  Pose frame = Pose::Identity();
  frame.linear().col(0) = x;
  frame.linear().col(2) = axis.direction.normalized();
  frame.linear().col(1) = frame.linear().col(2).cross(x);
  frame.translation() = axis.point_mm;
  return frame;
}

// As the end mill leaves it: round ends inside from..to, run out by the cutter's width where open.
Solids MakeShaftKeyway(const Part& part, const Keyway& keyway) {
  const double width = keyway.width.middle_mm();
  const double half = 0.5 * width;
  const auto [open_from, open_to] = OpenEnds(part, keyway);
  const double from = keyway.from_mm + (open_from ? -half : half);
  const double to = std::max(from, keyway.to_mm + (open_to ? half : -half));
  const double outside =
      0.5 * CoveringDiameter(part, keyway.axis_P, keyway.from_mm, keyway.to_mm) + kRunOut_mm;
  const Vec3 side = keyway.side_P.normalized();
  const Vec3 floor = keyway.floor_mm * side;
  return One(MakeObround(Along(keyway.axis_P, from) + floor, Along(keyway.axis_P, to) + floor, side,
                         width, outside - keyway.floor_mm));
}

}  // namespace

Solids MakeGroove(const Part& part, const Feature& feature, const Groove& groove) {
  const double diameter = groove.diameter.middle_mm();
  double top = 0;
  if (!groove.internal) {
    const double outside = CoveringDiameter(part, groove.axis_P, groove.from_mm, groove.to_mm);
    if (outside <= diameter) {
      return Unexpected(Misplaced(ErrorCode::kWrongFeatureKind, part, feature,
                                  "an outside groove needs an outer diameter larger than itself"));
    }
    top = std::max(0.5 * outside, 0.5 * (diameter + groove.to_mm - groove.from_mm)) + kRunOut_mm;
  }
  switch (groove.profile) {
    case GrooveProfile::kRound:
      return One(MakeRoundGroove(groove, top));
    case GrooveProfile::kVee:
      return One(MakeVeeGroove(part, groove, top));
    case GrooveProfile::kSquare:
      break;
  }
  if (groove.internal) {
    return One(MakeCylinder(groove.axis_P, groove.from_mm, groove.to_mm, diameter));
  }
  const double outside = CoveringDiameter(part, groove.axis_P, groove.from_mm, groove.to_mm);
  return One(
      MakeRing(groove.axis_P, groove.from_mm, groove.to_mm, outside + 2 * kRunOut_mm, diameter));
}

Solids MakeFlats(const Part& part, const Feature& feature, const Flats& flats) {
  const double r = 0.5 * CoveringDiameter(part, flats.axis_P, flats.from_mm, flats.to_mm);
  const double off = FlatDistance(part, flats);
  if (r <= off) {
    return Unexpected(Misplaced(ErrorCode::kWrongFeatureKind, part, feature,
                                "flats need an outer diameter larger than their width across"));
  }
  const Ends ends = RunOutBoth(part, flats.axis_P, flats.from_mm, flats.to_mm);
  const double far = r + kRunOut_mm;
  std::vector<Solid> solids;
  for (int i = 0; i < flats.count; ++i) {
    const Pose frame = FrameAlong(flats.axis_P, FlatNormal(flats, i).normalized());
    const Result<Solid> one = MakePrism(frame, {{off, -far}, {far, -far}, {far, far}, {off, far}},
                                        ends.from_mm, ends.to_mm);
    if (!one) return Unexpected(one.error());
    solids.push_back(*one);
  }
  return solids;
}

Solids MakeTaper(const Part& part, const Feature& feature, const Taper& taper) {
  const double start = 0.5 * taper.start_diameter.middle_mm();
  const double end = 0.5 * taper.end_diameter.middle_mm();
  if (taper.internal) {
    const Ends ends = RunOutBoth(part, taper.axis_P, taper.from_mm, taper.to_mm);
    return One(MakeRevolve(taper.axis_P, {{0, ends.from_mm},
                                          {start, ends.from_mm},
                                          {start, taper.from_mm},
                                          {end, taper.to_mm},
                                          {end, ends.to_mm},
                                          {0, ends.to_mm}}));
  }
  const double outside = 0.5 * CoveringDiameter(part, taper.axis_P, taper.from_mm, taper.to_mm);
  if (outside <= std::min(start, end)) {
    return Unexpected(Misplaced(ErrorCode::kWrongFeatureKind, part, feature,
                                "a taper needs an outer diameter larger than its small end"));
  }
  const double top = std::max({outside, start, end}) + kRunOut_mm;
  return One(MakeRevolve(
      taper.axis_P,
      {{start, taper.from_mm}, {top, taper.from_mm}, {top, taper.to_mm}, {end, taper.to_mm}}));
}

Solids MakeKeyway(const Part& part, const Feature& feature, const Keyway& keyway) {
  if (!keyway.internal) {
    const double outside = CoveringDiameter(part, keyway.axis_P, keyway.from_mm, keyway.to_mm);
    if (0.5 * outside > keyway.floor_mm) return MakeShaftKeyway(part, keyway);
    return Unexpected(Misplaced(ErrorCode::kWrongFeatureKind, part, feature,
                                "a keyway needs an outer diameter over its floor"));
  }
  const double half = 0.5 * keyway.width.middle_mm();
  const Ends ends = RunOutBoth(part, keyway.axis_P, keyway.from_mm, keyway.to_mm);
  const Pose frame = FrameAlong(keyway.axis_P, keyway.side_P.normalized());
  return One(MakePrism(frame,
                       {{0, -half}, {keyway.floor_mm, -half}, {keyway.floor_mm, half}, {0, half}},
                       ends.from_mm, ends.to_mm));
}

}  // namespace fitwright::solid
