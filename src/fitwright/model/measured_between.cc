#include "fitwright/model/measured_between.h"

#include <fmt/format.h>

#include <algorithm>

namespace fitwright {

std::string StepMeasuring(const Plan& plan, const FeatureRef& a, const FeatureRef& b) {
  for (const Setup& setup : plan.setups) {
    for (std::size_t i = 0; i < setup.steps.size(); ++i) {
      const Step& step = setup.steps[i];
      const auto has = [&](const FeatureRef& ref) { return std::find(step.features.begin(), step.features.end(), ref) != step.features.end(); };
      if (step.operation == Operation::kMeasure && step.measure && step.features.size() == 2 && has(a) && has(b)) return fmt::format("{}.{}", setup.number, i + 1);
    }
  }
  return "";
}

std::optional<FeatureRef> SeatOn(const Machine& machine, const PartId& part, const PartId& on) {
  for (const Joint& joint : machine.joints) {
    if (joint.kind != JointKind::kFaceContact) continue;
    if (joint.fixed.part == on && joint.moving.part == part) return joint.fixed;
    if (joint.moving.part == on && joint.fixed.part == part) return joint.moving;
  }
  return std::nullopt;
}

}  // namespace fitwright
