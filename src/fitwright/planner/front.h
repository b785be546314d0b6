// Plans that are chosen for something else than the fewest expected hours, and those worth offering beside one another.
#pragma once

#include <utility>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/planner/planner.h"
#include "fitwright/planner/search.h"

namespace fitwright::planner {

using Found = std::pair<Strategy, Judged>;

// Of `found`, in the order found, those that no other equals or beats on odds, expected minutes and setups all at once.
std::vector<Found> UnbeatenOf(const std::vector<Found>& found);

// A plan as the front sees it. Hours and minutes alike: only ratios count.
struct Standing {
  double odds = 0;
  double expected = 0;
  int setups = 0;
};
// Within a point of odds and two per cent of expected hours.
bool Alike(const Standing& a, const Standing& b);
// Places of those to offer: the first of `standings` always, then by expected hours; none beaten, no two alike.
std::vector<std::size_t> PlacesToOffer(const std::vector<Standing>& standings);

// Improves `start` under other weights of remedies and setups in turn, so that search.seen() holds plans of all kinds.
void LookAfield(Search& search, const Strategy& start);

// The strategy that options.wish asks for, found from `base` (the fewest expected hours). Where it is not base itself,
// the search stays under the preference that led to it, which is written to options. Errors: kNoPlan where the odds
// asked for are not reached, with the surest plan found and what holds it back; kStopped; of odds as CalcOdds.
Result<Strategy> FindWished(const Machine& machine, const Shop& shop, const Choices& choices, Search& search, const Strategy& base,
                            PlannerOptions& options);

}  // namespace fitwright::planner
