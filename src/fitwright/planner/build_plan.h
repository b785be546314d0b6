// A strategy worked out into a plan: setups in order across the parts, each held, zeroed and cut.
#pragma once

#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/planner/holding.h"
#include "fitwright/planner/planner.h"
#include "fitwright/planner/process.h"
#include "fitwright/planner/setup_memo.h"
#include "fitwright/planner/strategy.h"

namespace fitwright::planner {

// The setups of all parts and of the joints' techniques, in the order of work, each with the indices of
// the setups it waits for. What `memo` (may be null) knows is not looked for again. Error kNoPlan when
// they wait for each other in a circle.
struct OrderedSketch {
  SetupSketch sketch;
  std::vector<std::size_t> waits_for;  // indices into the same list, all smaller
};
Result<std::vector<OrderedSketch>> OrderSetups(const Machine& machine, const Shop& shop, const Subjects& subjects,
                                               const Strategy& strategy, const Choices& choices, SetupMemo* memo = nullptr);

// The same with the strategy's `done` first. Error kNoPlan also where one of these is not among the setups, or needs
// another before it that is not done.
Result<std::vector<OrderedSketch>> InOrder(const Machine& machine, const Shop& shop, const Subjects& subjects,
                                           const Strategy& strategy, const Choices& choices, SetupMemo* memo = nullptr);

// The plan without odds, advice and choices: setups, steps, coordinates, times, joints, parts, what to
// buy, warnings. hours_cutting is filled. Cuts that `memo` (may be null) knows are not worked out again.
// Errors: kNoPlan with the reason.
Result<Plan> BuildPlan(const Machine& machine, const Shop& shop, const Subjects& subjects,
                       const Strategy& strategy, const Choices& choices, CutMemo* memo = nullptr);
// The same with what is measured beside the sizes that are worked to (measuring.h), and its minutes. A
// search leaves it out: it is done whichever plan is chosen, and must not steer the choice.
Result<Plan> BuildMeasuredPlan(const Machine& machine, const Shop& shop, const Subjects& subjects,
                               const Strategy& strategy, const Choices& choices, CutMemo* memo = nullptr);

// Its setups are outlines where a memo has the whole.
struct PlanToJudge {
  Plan plan;
  std::vector<variation::KnownSetup> known;  // of its setups, as long as the memo is there
};
// The same without what only people read (words, coordinates, paths, fixtures; to buy and warnings incomplete), for
// a search: setups that `setups` knows are not worked out again.
Result<PlanToJudge> BuildPlanToJudge(const Machine& machine, const Shop& shop, const Subjects& subjects,
                              const Strategy& strategy, const Choices& choices, CutMemo* memo, SetupMemo& setups);

// With its steps in it.
Plan WholePlan(PlanToJudge plan);

// Judges it; setups that have been read before are not read again.
Result<Judged> Judge(const Machine& machine, const Shop& shop, const PlanToJudge& plan, const PlannerOptions& options);

// Pieces as they stand before each setup of the ordered list (for finding variants of a setup).
Result<std::vector<PieceStates>> PiecesBefore(const Machine& machine, const std::vector<OrderedSketch>& ordered);

}  // namespace fitwright::planner
