// How a plan came about: what it was worked out from and, where it was made while the machine is being
// made, what it changed. Saved beside the plan (plan.json), and needed to plan what is left.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/model/ids.h"

namespace fitwright {

// A size that is brought to other limits than in the plan that was followed.
struct MovedAim {
  FeatureRef feature;
  double aim_before_mm = 0;
  double lower_before_mm = 0;
  double upper_before_mm = 0;
  double aim_mm = 0;
  double lower_mm = 0;
  double upper_mm = 0;
  friend bool operator==(const MovedAim&, const MovedAim&) = default;
};
struct OddsMoved {
  RequirementId name;
  double before = 0;
  double after = 0;
  friend bool operator==(const OddsMoved&, const OddsMoved&) = default;
};
// Odds by what was read, 0..1.
struct PlannedAnew {
  int build = 1;
  int setups_done = 0;      // the plan's first: begun or done, as they were in the plan that was followed
  int readings = 0;         // that the odds and what is left go by
  double odds_before = 0;   // of the plan that was followed
  double odds_after = 0;
  double hours_before = 0;  // still to be worked, with remedies
  double hours_after = 0;
  int setups_changed = 0;
  std::vector<std::string> changes;  // what is done otherwise than in the plan that was followed
  std::vector<MovedAim> aims;
  std::vector<OddsMoved> why;        // requirements that the changes move, most first
  friend bool operator==(const PlannedAnew&, const PlannedAnew&) = default;
};

struct PlanOrigin {
  std::vector<std::string> decided;  // planner/decided.h; empty: of a plan that does not say
  std::optional<PlannedAnew> anew;
};

}  // namespace fitwright
