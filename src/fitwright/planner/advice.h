// What a builder would do differently afterwards, said beforehand: each decision of the chosen plan set
// against its alternatives, judged by the same virtual builds.
#pragma once

#include "fitwright/planner/search.h"

namespace fitwright::planner {

// Fills plan.joints' alternatives and reasons, and plan.advice (largest gain first). Looks at one
// strategy for each alternative of each decision.
void AddAdvice(const Machine& machine, Search& search, const Strategy& plain,
               const Strategy& chosen, Plan& plan);

// Pins that make the planner take the techniques of `strategy` where they differ from `from`.
std::vector<Pin> PinsOf(const Strategy& strategy, const Strategy& from);

// The plans worth offering: none beats another on odds and expected hours, no two alike.
void AddChoices(const Search& search, const Strategy& plain, const Strategy& chosen, Plan& plan);

}  // namespace fitwright::planner
