// A machine that is being made: what is done stays as it was done, and what is left is planned round it by
// what was read (docs/design/018-what-is-left.md).
#pragma once

#include <functional>
#include <set>
#include <string>
#include <vector>

#include "fitwright/planner/planner.h"
#include "fitwright/planner/strategy.h"

namespace fitwright::planner {

// What a plan costs more for each setup that is not as it was in the plan that is followed: whoever has that one
// in mind, on paper or on the bench must learn another (opinion).
inline constexpr double kEachChanged_min = 5;

// A size that is better worked to other limits, by what was read of the rest.
struct NewAim {
  FeatureRef feature;
  double aim_mm = 0;
  Window window;
};

struct CountedOdds {
  double odds = 0;
  double builds = 0;  // how many equal ones they are counted on
};

struct Underway {
  const Plan* followed = nullptr;
  std::vector<std::string> decided;  // what it was worked out from (decided.h)
  std::set<SetupId> begun;         // of `followed`: work was done or a size read in them
  std::set<FeatureRef> read;
  // Of a plan whose first setups are setups of `followed`, at these places in it: what is left to be done, with the
  // odds by what was read. Called from several threads.
  std::function<Result<Judged>(const Plan& plan, const std::vector<std::size_t>& done)> judge;
  // The odds by what was read, on as many builds as those of a plan that is saved.
  std::function<Result<CountedOdds>(const Plan& plan, const std::vector<std::size_t>& done)> count;
  std::function<Result<std::vector<NewAim>>(const Plan& plan, const std::vector<std::size_t>& done)> aims;
};

// Setups of a plan that stay: those begun, what they wait for, and what comes before them on their parts. Places, in
// the order of work.
std::vector<std::size_t> FindStaying(const Plan& followed, const std::set<SetupId>& begun);

// The strategy that was decided with those setups as its `done`. Errors: kNoPlan where machine, shop and choices as they
// are now no longer make a setup that is done as it was.
Result<Strategy> StrategyUnderway(const Machine& machine, const Shop& shop, const Subjects& subjects, const Choices& choices,
                                  const Underway& underway);

// Puts what was done in the place of the plan's first setups, to the byte but for numbers. Errors: kNoPlan where the
// plan has one of them otherwise, or is to fit something to a mate that can no longer be measured.
Status KeepDone(const Underway& underway, Plan& plan);

// Setups still to be done that are not as in the plan followed, or are no longer there: the greater number.
int CountChanged(const Underway& underway, const Plan& plan);
// The same pieces held the same way, and the same done to them; what is measured aside.
bool IsSameWork(const Setup& a, const Setup& b);

// By Underway::judge, the disturbance with it. Errors: as KeepDone and the judge.
Result<Judged> JudgeLeft(const Underway& underway, Plan plan);

struct WhatIsLeft {
  Plan plan;      // of its odds those of all together; alternatives, advice and choices of what is left
  Judged before;  // the plan that is followed
  Judged after;
  std::vector<std::string> decided;  // what `plan` was worked out from
  int setups_changed = 0;
  std::vector<std::string> changes;  // what is done otherwise; empty: the plan is followed as it is
};
// The plan that is followed, what is left of it improved until nothing helps. Errors: as MakePlan; kNoPlan as
// StrategyUnderway, where nothing is left, and where pins cannot hold with what is done.
Result<WhatIsLeft> PlanWhatIsLeft(const Machine& machine, const Shop& shop, const Choices& choices, const PlannerOptions& options,
                                  const Underway& underway);

// Answers of why.h about the plan that is followed, by what was read: what is done has no other way. Errors: as
// PlanWhatIsLeft and TellWhy.
Result<std::vector<Why>> TellWhyOfLeft(const Machine& machine, const Shop& shop, const Choices& choices, const PlannerOptions& options,
                                       const Underway& underway, const std::string& subject);

}  // namespace fitwright::planner
