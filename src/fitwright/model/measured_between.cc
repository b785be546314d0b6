#include "fitwright/model/measured_between.h"

#include <fmt/format.h>

namespace fitwright {

std::string StepMeasuring(const Plan& plan, const FeatureRef& a, const FeatureRef& b) {
  for (const Setup& setup : plan.setups) {
    for (std::size_t i = 0; i < setup.steps.size(); ++i) {
      const Step& step = setup.steps[i];
      if (!step.measure || step.measure->between.size() != 2) continue;
      const FeatureRef& from = step.measure->between[0];
      const FeatureRef& to = step.measure->between[1];
      if ((from == a && to == b) || (from == b && to == a)) return fmt::format("{}.{}", setup.number, i + 1);
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
