// What several tests of virtual builds make their plans with.
#pragma once

#include "tests/support/plan_builders.h"
#include "tests/support/slow_builds.h"

namespace fitwright::variation {

inline FeatureRef Ref(const char* part, const char* feature) {
  return {PartId(part), FeatureId(feature)};
}

inline testing::SlowValue Within(double value, double upper) {
  return testing::Judged(value, -1e9, upper);
}

inline void Hold(testing::PlanBuilder& b, const Machine& machine, const char* part) {
  const Part& sheet = *machine.FindPart(PartId(part));
  const Pose up =
      testing::SetupPose(Vec3::UnitX(), Vec3::UnitZ(), {0, 0, sheet.block_P.max_mm.z()});
  b.AddSetup(part, "mill", HoldingKind::kViseBedFirst, "vise", up);
  testing::SeatBedFirst(b, sheet, up, "", "", "");
}

}  // namespace fitwright::variation
