// Whether two parts are one shape, turned and moved as may be, or each other's mirror image.
#pragma once

#include <optional>

#include "fitwright/model/part.h"

namespace fitwright::recognize {

// The motion that takes the points of a to those of b so that every feature of a lies on one of b's
// like it, sizes within kDrawnAlike_mm; nothing where there is none. Names, finishes, notes and
// limits do not count, and turns are by quarters, as features lie along the axes. Of several the
// one that turns least.
std::optional<Pose> FindMotion(const Part& a, const Part& b);

// As seen in a mirror: axis (0 x, 1 y, 2 z) of the plane where that coordinate is 0 in a's frame,
// and the motion that takes a's mirror image there to b. Nothing where the two are alike without a
// mirror.
struct MirrorMotion {
  int axis = 0;
  Pose X_BM = Pose::Identity();  // from the mirror image of a to b
};
std::optional<MirrorMotion> FindMirror(const Part& a, const Part& b);

// How far two features are from being one: what their sizes differ by and what lies between their
// places, each summed up. Nothing where they are of two kinds or look two ways. Threads do not count.
struct FeatureDistance {
  double sizes_mm = 0;
  double places_mm = 0;
  double sum_mm() const { return sizes_mm + places_mm; }
};
std::optional<FeatureDistance> FindDistance(const Part& a, const Feature& of_a, const Part& b,
                                            const Feature& of_b);

}  // namespace fitwright::recognize
