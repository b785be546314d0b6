// How a feature's size is to be come by: in one shot, by measuring, to what a mate measures, or at a size
// of the builder's own.
#pragma once

#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/shop.h"
#include "fitwright/planner/process.h"
#include "fitwright/planner/strategy.h"

namespace fitwright::planner {

// References to what outlives the call; `so_far` are the setups before this one.
struct RequestInput {
  const Machine& machine;
  const Shop& shop;
  const Subjects& subjects;
  const Strategy& strategy;
  const Plan& so_far;
};

// The request to cut one feature as the strategy wants it; what depends on the setup is the caller's to add.
CutRequest RequestFor(const RequestInput& in, const FeatureRef& ref);
// Faces that something else is made to, as they measure.
std::vector<FeatureRef> MeasuredFinely(const Subjects& subjects, const Strategy& strategy);

}  // namespace fitwright::planner
