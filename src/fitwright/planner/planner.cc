#include "fitwright/planner/planner.h"

#include "fitwright/planner/advice.h"
#include "fitwright/planner/search.h"
#include "fitwright/variation/odds.h"

namespace fitwright::planner {
namespace {

Status FillOdds(const Machine& machine, const Shop& shop, const PlannerOptions& options, Plan& plan) {
  variation::OddsOptions wanted;
  wanted.builds = options.final_builds;
  wanted.seed = options.seed;
  wanted.threads = options.threads;
  wanted.cancel = options.work.cancel;
  options.work.Report("building it virtually", 0);
  Result<Odds> odds = variation::CalcOdds(machine, shop, plan, wanted);
  if (!odds) return Unexpected(odds.error());
  plan.odds = std::move(*odds);
  plan.seed = options.seed;
  const Result<Judged> judged = Judge(machine, shop, plan, options);
  if (!judged) return Unexpected(judged.error());
  plan.hours_expected = judged->expected_min / 60;
  return Ok{};
}

void AddAssumed(const Machine& machine, Plan& plan) {
  for (const PartUse& use : machine.uses) {
    if (use.quantity > 1) {
      plan.assumed.push_back(fmt::format("{} is wanted {} times: the setups are shown once, repeat them for each.", use.part.text(), use.quantity));
    }
  }
  plan.assumed.push_back("Handling and cutting times are opinions of the shop file, not measured here.");
}

}  // namespace

Result<Plan> MakePlan(const Machine& machine, const Shop& shop, const Choices& choices, const PlannerOptions& options) {
  Search search(machine, shop, choices, options);
  const Result<Strategy> plain = search.Plain();
  if (!plain) return Unexpected(plain.error());
  const Strategy chosen = search.Improve(*plain);
  if (search.stopped()) return Unexpected(Error{ErrorCode::kStopped, "stopped before the plan was made", {}, {}, {}});
  Result<Plan> plan = BuildPlan(machine, shop, search.subjects(), chosen, choices);
  if (!plan) return plan;
  plan->project = machine.name;
  PlannerOptions finer = options;
  finer.search_builds = options.advice_builds;
  Search neighbours(machine, shop, choices, finer);
  AddAdvice(machine, shop, neighbours, *plain, chosen, *plan);
  AddChoices(search, *plain, chosen, *plan);
  AddAssumed(machine, *plan);
  const Status odds = FillOdds(machine, shop, options, *plan);
  if (!odds) return Unexpected(odds.error());
  return plan;
}

Result<Plan> MakePlainPlan(const Machine& machine, const Shop& shop, const Choices& choices, const PlannerOptions& options) {
  Search search(machine, shop, choices, options);
  const Result<Strategy> plain = search.Plain();
  if (!plain) return Unexpected(plain.error());
  Result<Plan> plan = BuildPlan(machine, shop, search.subjects(), *plain, choices);
  if (!plan) return plan;
  plan->project = machine.name;
  AddAssumed(machine, *plan);
  const Status odds = FillOdds(machine, shop, options, *plan);
  if (!odds) return Unexpected(odds.error());
  return plan;
}

}  // namespace fitwright::planner
