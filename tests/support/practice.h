// Good practice weighed: a decision of the planner's set against its alternative on the same machine and
// shop. Shared by the tests and the study that prints the curves.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/planner/search.h"

namespace fitwright::testing {

struct Pair {
  planner::Judged good;   // the practice
  planner::Judged other;  // its plain alternative
};

// Every practice as (name, strategy that follows it, strategy that does not), everything else as chosen.
struct Practice {
  std::string name;
  planner::Strategy good;
  planner::Strategy other;
};

inline std::optional<std::size_t> SetupThatCuts(const planner::Route& route, const FeatureId& id) {
  for (std::size_t i = 0; i < route.setups.size(); ++i) {
    const auto& cuts = route.setups[i].cuts;
    if (std::find(cuts.begin(), cuts.end(), id) != cuts.end()) return i;
  }
  return std::nullopt;
}

// The primary datum of a vise setup: the face against the fixed jaw (jaw first) or on the bed.
inline Vec3 PrimaryNormal(const planner::SetupSketch& sketch) {
  return sketch.holding == HoldingKind::kViseJawFirst ? sketch.jaw_P : Vec3(-sketch.up_P);
}

}  // namespace fitwright::testing
