#include "fitwright/variation/feature_forms.h"

#include <algorithm>

namespace fitwright::variation {

void AddMoveAlong(FormSum& sum, const PoseForms& pose, const Vec3& point, const Vec3& direction,
                  double factor) {
  if (pose.base != nullptr) AddMoveAlong(sum, *pose.base, point, direction, factor);
  AddMoveAlong(sum, pose.own, point, direction, factor);
}

void AddTurnAbout(FormSum& sum, const PoseForms& pose, const Vec3& direction, double factor) {
  for (int i = 0; i < 3; ++i) {
    const auto k = static_cast<std::size_t>(i);
    if (pose.base != nullptr) sum.Add(pose.base->w[k], factor * direction[i]);
    sum.Add(pose.own.w[k], factor * direction[i]);
  }
}

void AddFeatureMove(FormSum& sum, const FeatureForms& feature, const Vec3& point,
                    const Vec3& direction, double factor) {
  AddMoveAlong(sum, feature.pose, point, direction, factor);
  if (feature.rim_mm <= 0) return;
  const double inside = std::max(0.0, feature.rim_mm - (point - feature.dish_centre).norm());
  sum.Add(feature.dishing, -factor * inside);
}

void AddHoleMove(FormSum& sum, const HoleForms& hole, const Vec3& point, double depth,
                 const Vec3& direction, double factor) {
  AddMoveAlong(sum, hole.pose, point, direction, factor);
  for (std::size_t k = 0; k < 2; ++k)
    sum.Add(hole.run_off[k], factor * depth * hole.across[k].dot(direction));
}

}  // namespace fitwright::variation
