// A machine cut down to some of its parts, to judge a change that concerns no others. Private to search*.cc.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>

#include "fitwright/planner/planner.h"
#include "fitwright/planner/strategy.h"

namespace fitwright::planner {

struct Excerpt {
  std::set<PartId> parts;
  Machine machine;    // these parts, everything bought, the joints and requirements of nothing else
  Subjects subjects;
  std::map<std::string, std::optional<Judged>> judged = {};  // by the strategy's key
};

// `requirements`: places in the machine's list of those that stay.
Excerpt ExcerptOf(const Machine& machine, const std::set<PartId>& parts, const std::set<std::size_t>& requirements);
// What the strategy decides about the excerpt.
Strategy StrategyIn(const Excerpt& excerpt, const Strategy& strategy);
// Nothing when the strategy of the excerpt makes no plan. Takes the setups' memo of the options.
std::optional<Judged> JudgeExcerpt(const Excerpt& excerpt, const Shop& shop, const Strategy& in, const PlannerOptions& options);

}  // namespace fitwright::planner
