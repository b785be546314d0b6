// What a builder would do differently afterwards, said beforehand: each decision of the chosen plan set
// against its alternatives, judged by the same virtual builds.
#pragma once

#include <string>
#include <vector>

#include "fitwright/planner/search.h"

namespace fitwright::planner {

// A decision of the chosen plan: the pin that makes it so, and the one that makes it the other way.
struct Decision {
  std::string say;
  Pin pin;
  Pin other;
  double told = 0;  // what the other way changes, 1 = just worth a sentence
};

// Fills plan.joints' alternatives and reasons. Looks at one strategy for each alternative of each decision.
std::vector<Decision> WeighDecisions(const Machine& machine, Search& search, const Strategy& plain, const Strategy& chosen, Plan& plan);

struct AdviceInput {
  const Machine* machine = nullptr;
  const Shop* shop = nullptr;
  const Choices* choices = nullptr;
  const Strategy* free = nullptr;    // found without any pin ...
  const Tried* tried = nullptr;      // ... after these had lost
  const Strategy* chosen = nullptr;
  PlannerOptions options;
};

// Fills plan.advice (largest gain first) from the decisions that change most: each is planned the other way as
// `plan` would with that pin added to the choices, so its figures are those that come out then. plan.odds is
// filled before. Errors: kStopped, of odds as CalcOdds.
Status TellAdvice(const AdviceInput& in, std::vector<Decision> decisions, Plan& plan);

// Pins that make the planner take the techniques of `strategy` where they differ from `from`.
std::vector<Pin> PinsOf(const Strategy& strategy, const Strategy& from);

// Fills plan.choices: `plan` first as "this plan", then the plans worth offering beside it by what they
// trade for what; none beats another on odds and expected hours, no two alike. All on the same builds as
// plan.odds, which is filled before.
Status AddChoices(const AdviceInput& in, Search& search, const Strategy& plain, Plan& plan);

// plan.odds, seed and hours_expected; without `causes` also without the band of the shop.
Status FillOdds(const Machine& machine, const Shop& shop, const PlannerOptions& options, Plan& plan, bool causes = true);

}  // namespace fitwright::planner
