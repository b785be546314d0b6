// "What if" for the page: the saved plan read and compiled once, then asked again and again with
// some of its numbers changed.
#pragma once

#include <memory>
#include <mutex>
#include <optional>
#include <string>

#include "fitwright/files/page_asked_json.h"
#include "fitwright/service/use_cases.h"

namespace fitwright::service {

using files::WhatIfAskedFromJson;

// Safe to use from several threads. All answers are JSON; U is the unit of their words, the
// machine's where there is none. Numbers are in each knob's own unit. Errors of all: those of Open,
// LoadSavedPlan and variation::AnalyseProject; of changes those of variation::ApplyWhatIf (kUsage).
class WhatIfDesk {
 public:
  explicit WhatIfDesk(OpenOptions open) : open_(std::move(open)) {}

  // {schema: fitwright-knobs/1, knobs: [{key, kind: spread | limit | clearance | aim, say, unit,
  // now, weight, steps: [{word, value}]}]}: all that may be changed. `weight`: the misses that
  // the plan's causes put down to it, in machines; those of a kind stand heaviest first. `steps`:
  // the figures of a careful, a usual and a worn shop.
  Result<std::string> Knobs(std::optional<LengthUnit> unit);
  // {schema: fitwright-what-if/1, builds, changes: [{key, say, unit, from, to}], all: {before,
  // after}, requirements: [{name, before, after}]}, each {odds, low, high, met, text}. Before and
  // after are counted in the same builds.
  Result<std::string> Odds(const files::WhatIfAsked& asked, std::optional<LengthUnit> unit);
  // {schema: fitwright-spread/1, requirement, axis, source, decimals, edges, before, edges_after,
  // after, lower, upper, lower_text, upper_text}: how the quantity of one requirement is spread, as
  // shares of builds between the edges; limits are those after, null where there are none. Without
  // changes `after` is empty; of what does not vary all lists are. Errors too: kUsage (no such
  // requirement).
  Result<std::string> Spread(const files::WhatIfAsked& asked, std::optional<LengthUnit> unit);
  // {schema: fitwright-lessen/1, lessen: [{key, to, say, effects, saves}]}: single changes, most
  // time saved first. Takes seconds where the machine is large; found once for a plan.
  Result<std::string> Lessen(std::optional<LengthUnit> unit);

 private:
  struct Kept;
  Result<std::shared_ptr<Kept>> Get();

  OpenOptions open_;
  std::mutex mutex_;
  std::shared_ptr<Kept> kept_;
};

}  // namespace fitwright::service
