#include "fitwright/planner/underway.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "fitwright/planner/advice.h"
#include "fitwright/planner/build_plan.h"
#include "fitwright/planner/decided.h"
#include "fitwright/planner/difference.h"
#include "fitwright/planner/directions.h"
#include "fitwright/planner/pins.h"
#include "fitwright/planner/plan_lists.h"
#include "fitwright/planner/search.h"
#include "fitwright/planner/why.h"

namespace fitwright::planner {
namespace {


bool SameAim(const std::optional<Aim>& a, const std::optional<Aim>& b) {
  if (!a || !b) return !a && !b;
  const auto near = [](double x, double y) { return std::abs(x - y) < kSame_mm; };
  return a->kind == b->kind && a->mate == b->mate && a->closes == b->closes && near(a->target_mm, b->target_mm) &&
         near(a->lower_mm, b->lower_mm) && near(a->upper_mm, b->upper_mm) && near(a->clearance_mm, b->clearance_mm) &&
         near(a->clearance_lower_mm, b->clearance_lower_mm) && near(a->clearance_upper_mm, b->clearance_upper_mm);
}

bool SameWork(const Step& a, const Step& b) {
  return a.operation == b.operation && a.features == b.features && a.holes == b.holes && a.finishes == b.finishes && a.tool == b.tool &&
         a.through == b.through && a.joints == b.joints && a.parts == b.parts && SameAim(a.aim, b.aim);
}

// What is measured follows from what is left, and changes nothing on the piece.
std::vector<const Step*> WorkOf(const Setup& setup) {
  std::vector<const Step*> work;
  for (const Step& step : setup.steps) {
    if (step.operation != Operation::kMeasure) work.push_back(&step);
  }
  return work;
}

bool SamePose(const PartPose& a, const PartPose& b) {
  return a.part == b.part && a.held == b.held && a.X_PS.isApprox(b.X_PS, kSame_mm);
}

// The same pieces held the same way, and the same done to them.
bool SameWork(const Setup& a, const Setup& b) {
  if (a.machine != b.machine || a.holding != b.holding || a.device != b.device || a.up != b.up) return false;
  if (!std::equal(a.parts.begin(), a.parts.end(), b.parts.begin(), b.parts.end(), SamePose)) return false;
  const auto work = WorkOf(a);
  const auto other = WorkOf(b);
  return std::equal(work.begin(), work.end(), other.begin(), other.end(), [](const Step* x, const Step* y) { return SameWork(*x, *y); });
}

bool ShareAPart(const Setup& a, const Setup& b) {
  return std::any_of(a.parts.begin(), a.parts.end(), [&](const PartPose& pose) {
    return std::any_of(b.parts.begin(), b.parts.end(), [&](const PartPose& other) { return other.part == pose.part; });
  });
}

Unexpected Refuse(const std::string& why) {
  return Unexpected(Error{ErrorCode::kNoPlan, why, {}, "plan from the sheets alone with 'fitwright plan --afresh', or put the sheets back", {}});
}

// Sizes of `setup` are read, or the plan followed asks for them to be.
bool IsMeasured(const Underway& underway, const FeatureRef& feature) {
  if (underway.read.contains(feature)) return true;
  for (const Setup& setup : underway.followed->setups) {
    for (const Step& step : setup.steps) {
      if (step.measure && step.measure->feature == feature) return true;
    }
  }
  return false;
}

bool IsFinishedIn(const Setup& setup, const FeatureRef& feature) {
  return std::any_of(setup.steps.begin(), setup.steps.end(), [&](const Step& step) {
    return step.finishes && std::find(step.features.begin(), step.features.end(), feature) != step.features.end();
  });
}

// Once a piece is out of the setup that made a size, only what was measured there is known of it.
Status CheckMates(const Underway& underway, const Plan& plan, std::size_t done) {
  for (std::size_t i = done; i < plan.setups.size(); ++i) {
    for (const Step& step : plan.setups[i].steps) {
      if (!step.aim || !step.aim->mate) continue;
      const FeatureRef& mate = *step.aim->mate;
      const bool made = std::any_of(plan.setups.begin(), plan.setups.begin() + static_cast<std::ptrdiff_t>(done),
                                    [&](const Setup& setup) { return IsFinishedIn(setup, mate); });
      if (made && !IsMeasured(underway, mate)) return Refuse(fmt::format("{} is made and was not measured", mate.text()));
    }
  }
  return Ok{};
}

void Renumber(const Setup& as, const std::map<SetupId, SetupId>& ids, Setup& setup) {
  setup.id = as.id;
  setup.number = as.number;
  for (std::size_t i = 0; i < setup.steps.size(); ++i) setup.steps[i].id = StepId(fmt::format("{}.{}", setup.id.text(), i + 1));
  for (SetupId& waits : setup.waits_for) waits = ids.at(waits);
}

}  // namespace

std::vector<std::size_t> FindStaying(const Plan& followed, const std::set<SetupId>& begun) {
  const std::vector<Setup>& setups = followed.setups;
  std::vector<bool> stays(setups.size());
  for (std::size_t i = 0; i < setups.size(); ++i) stays[i] = begun.contains(setups[i].id);
  for (std::size_t i = setups.size(); i-- > 0;) {
    if (!stays[i]) continue;
    for (std::size_t k = 0; k < i; ++k) {
      const auto& waits = setups[i].waits_for;
      if (ShareAPart(setups[i], setups[k]) || std::find(waits.begin(), waits.end(), setups[k].id) != waits.end()) stays[k] = true;
    }
  }
  std::vector<std::size_t> places;
  for (std::size_t i = 0; i < setups.size(); ++i) {
    if (stays[i]) places.push_back(i);
  }
  return places;
}

Result<Strategy> StrategyUnderway(const Machine& machine, const Shop& shop, const Subjects& subjects, const Choices& choices,
                                  const Underway& underway) {
  Result<Strategy> strategy = StrategyFrom(underway.decided);
  if (!strategy) return strategy;
  const auto pinned = OwnAims(machine, choices);
  std::erase_if(strategy->own_aims, [&](const auto& own) { return !own.second.window && !pinned.contains(own.first); });
  const auto ordered = InOrder(machine, shop, subjects, *strategy, choices);
  if (!ordered) return Unexpected(ordered.error());
  const Result<Plan> built = BuildPlan(machine, shop, subjects, *strategy, choices);
  if (!built) return Unexpected(built.error());
  std::vector<SetupSketch> done;
  for (const std::size_t place : FindStaying(*underway.followed, underway.begun)) {
    const Setup& setup = underway.followed->setups[place];
    const auto found = std::find_if(built->setups.begin(), built->setups.end(), [&](const Setup& other) { return SameWork(setup, other); });
    const auto at = static_cast<std::size_t>(found - built->setups.begin());
    if (found == built->setups.end()) return Refuse(fmt::format("setup {} is begun, and by the sheets as they are now it would be another", setup.number));
    if (at >= ordered->size()) return Refuse("nothing is left to plan: all that is still to be done is to try the machine together");
    done.push_back((*ordered)[at].sketch);
  }
  strategy->done = std::move(done);
  return strategy;
}

Status KeepDone(const Underway& underway, Plan& plan) {
  const std::vector<std::size_t> places = FindStaying(*underway.followed, underway.begun);
  if (places.size() > plan.setups.size()) return Refuse("a setup that is done is not in the plan");
  std::map<SetupId, SetupId> ids;
  double minutes = 0;
  for (std::size_t i = 0; i < places.size(); ++i) {
    Setup setup = underway.followed->setups[places[i]];
    if (!SameWork(setup, plan.setups[i])) return Refuse(fmt::format("setup {} is begun and would be another", setup.number));
    ids[setup.id] = plan.setups[i].id;
    Renumber(plan.setups[i], ids, setup);
    plan.setups[i] = std::move(setup);
  }
  for (const Setup& setup : plan.setups) minutes += setup.time_min;
  plan.hours_cutting = minutes / 60;
  return CheckMates(underway, plan, places.size());
}

bool IsSameWork(const Setup& a, const Setup& b) { return SameWork(a, b); }

int CountChanged(const Underway& underway, const Plan& plan) {
  const std::vector<std::size_t> places = FindStaying(*underway.followed, underway.begun);
  std::vector<const Setup*> before;
  for (std::size_t i = 0; i < underway.followed->setups.size(); ++i) {
    if (!std::binary_search(places.begin(), places.end(), i)) before.push_back(&underway.followed->setups[i]);
  }
  int added = 0;
  for (std::size_t i = places.size(); i < plan.setups.size(); ++i) {
    const auto same = std::find_if(before.begin(), before.end(), [&](const Setup* other) { return SameWork(*other, plan.setups[i]); });
    if (same == before.end()) ++added;
    if (same != before.end()) before.erase(same);
  }
  return std::max(added, static_cast<int>(before.size()));
}

Result<Judged> JudgeLeft(const Underway& underway, Plan plan) {
  const int changed = CountChanged(underway, plan);
  if (const Status kept = KeepDone(underway, plan); !kept) return Unexpected(kept.error());
  Result<Judged> judged = underway.judge(plan, FindStaying(*underway.followed, underway.begun));
  if (judged) judged->disturbance_min = kEachChanged_min * changed;
  return judged;
}

namespace {

// What else could be done with what is left, and what it would come to.
Status TellOfLeft(const Machine& machine, const Shop& shop, const Choices& choices, const PlannerOptions& options, const Strategy& followed,
                  const Strategy& best, Search& search, WhatIsLeft& left) {
  const Underway& underway = *options.underway;
  const auto counted = underway.count(left.plan, FindStaying(*underway.followed, underway.begun));
  if (!counted) return Unexpected(counted.error());
  left.plan.odds.all.odds = counted->odds;
  left.plan.hours_expected = left.plan.hours_cutting + (left.after.expected_min - left.after.minutes) / 60;
  PlannerOptions told = options;
  told.final_builds = static_cast<std::int64_t>(counted->builds);
  told.work.progress = {};
  const std::vector<Decision> decisions = WeighDecisions(machine, search, followed, best, left.plan);
  const AdviceInput in{&machine, &shop, &choices, &best, &search.tried(), &best, told};
  if (const Status offered = AddChoices(in, search, best, left.plan); !offered) return offered;
  return TellAdvice(in, decisions, left.plan);
}

}  // namespace

Result<WhatIsLeft> PlanWhatIsLeft(const Machine& machine, const Shop& shop, const Choices& choices, const PlannerOptions& options,
                                  const Underway& underway) {
  PlannerOptions by_readings = options;
  by_readings.underway = &underway;
  Search search(machine, shop, choices, by_readings);
  if (const Status checked = CheckPins(machine, search.subjects(), choices); !checked) return Unexpected(checked.error());
  const auto strategy = StrategyUnderway(machine, shop, search.subjects(), choices, underway);
  if (!strategy) return Unexpected(strategy.error());
  const auto honoured = search.Honour(*strategy, search.tried());
  if (!honoured) return Refuse(fmt::format("the plan cannot be kept with what is done and pinned: {}", search.last_reason()));
  const auto before = search.Look(*strategy);
  const Strategy best = search.Improve(*honoured);
  if (search.stopped()) return Unexpected(Error{ErrorCode::kStopped, "stopped before the plan was made", {}, {}, {}});
  WhatIsLeft left;
  left.after = *search.Look(best);
  left.before = before.value_or(left.after);
  Result<Plan> plan = BuildMeasuredPlan(machine, shop, search.subjects(), best, choices, by_readings.cuts);
  if (!plan) return Unexpected(plan.error());
  left.plan = *std::move(plan);
  left.plan.project = machine.name;
  if (const Status kept = KeepDone(underway, left.plan); !kept) return Unexpected(kept.error());
  left.setups_changed = CountChanged(underway, left.plan);
  left.changes = WhatDiffers(search.subjects(), shop, *strategy, best);
  left.decided = LinesOf(best);
  AddAssumed(machine, left.plan);
  if (const Status told = TellOfLeft(machine, shop, choices, by_readings, *strategy, best, search, left); !told) return Unexpected(told.error());
  if (search.stopped()) return Unexpected(Error{ErrorCode::kStopped, "stopped before the advice was worked out", {}, {}, {}});
  return left;
}

Result<std::vector<Why>> TellWhyOfLeft(const Machine& machine, const Shop& shop, const Choices& choices, const PlannerOptions& options,
                                       const Underway& underway, const std::string& subject) {
  CutMemo cuts;
  SetupMemo setups;
  PlannerOptions by_readings = options;
  by_readings.underway = &underway;
  by_readings.cuts = &cuts;
  by_readings.setups = &setups;
  const auto strategy = StrategyUnderway(machine, shop, FindSubjects(machine), choices, underway);
  if (!strategy) return Unexpected(strategy.error());
  return TellWhy({&machine, &shop, &choices, &*strategy, underway.followed, by_readings}, subject);
}

}  // namespace fitwright::planner
