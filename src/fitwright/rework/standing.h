// Where a build stands: the plan that is followed, what is done of it, what was read.
#pragma once

#include <set>
#include <utility>
#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/rework/observation.h"

namespace fitwright::rework {

struct Standing {
  const Machine* machine = nullptr;
  const Shop* shop = nullptr;
  const Plan* plan = nullptr;
  std::vector<ReadingTaken> readings;        // as they were taken
  std::set<std::pair<StepId, PartId>> done;  // on which piece
  bool IsDone(const Step& step, const PartId& piece) const {
    return done.contains({step.id, piece});
  }
};

}  // namespace fitwright::rework
