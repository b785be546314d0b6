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

// Of which machine it is asked.
struct WhatIfOf {
  int build = 1;        // of several made to this plan
  bool as_planned = false;  // as planned, whatever was read of it
  std::optional<LengthUnit> unit = std::nullopt;  // of words; else the machine's
};

// Safe to use from several threads. All answers are JSON, by what was read of the machine so far, where
// something was. Numbers are in each knob's own unit. Errors of all: those of Open, LoadSavedPlan,
// EnterWorkshop and variation::AnalyseProject; of changes those of variation::ApplyWhatIf (kUsage).
class WhatIfDesk {
 public:
  explicit WhatIfDesk(OpenOptions open) : open_(std::move(open)) {}

  // {schema: fitwright-knobs/1, by_readings: how many count; 0: as planned, all: that everything
  // is met, as what is asked begins, knobs: [{key, kind: spread | limit | clearance | aim, say, unit,
  // now, weight, steps: [{word, value}]}]}: all that may be changed. `weight`: the misses that
  // the plan's causes put down to it, in machines; those of a kind stand heaviest first. `steps`:
  // the figures of a careful, a usual and a worn shop.
  Result<std::string> Knobs(const WhatIfOf& of);
  // {schema: fitwright-what-if/1, builds, by_readings: how many count; 0: as planned, changes: [{key, say, unit, from, to}], all: {before,
  // after}, requirements: [{name, before, after}]}, each {odds, low, high, met, text}. Before and
  // after are counted in the same builds.
  Result<std::string> Odds(const files::WhatIfAsked& asked, const WhatIfOf& of);
  // {schema: fitwright-spread/1, requirement, axis, source, decimals, edges, before, edges_after,
  // after, lower, upper, lower_text, upper_text}: how the quantity of one requirement is spread, as
  // shares of builds between the edges; limits are those after, null where there are none. Without
  // changes `after` is empty; of what does not vary all lists are. Errors too: kUsage (no such
  // requirement).
  Result<std::string> Spread(const files::WhatIfAsked& asked, const WhatIfOf& of);
  // {schema: fitwright-lessen/1, lessen: [{key, to, say, effects, saves}]}: single changes, most
  // time saved first. Takes seconds where the machine is large; found once for a plan.
  Result<std::string> Lessen(const WhatIfOf& of);

 private:
  struct Kept;
  Result<std::shared_ptr<Kept>> Get(const WhatIfOf& of);
  Result<std::shared_ptr<Kept>> GetPlanned();
  Result<std::shared_ptr<Kept>> MakeKept(std::shared_ptr<Kept> kept) const;

  OpenOptions open_;
  std::mutex mutex_;
  std::shared_ptr<Kept> planned_;
  std::shared_ptr<Kept> standing_;  // of the build that was asked for last
};

}  // namespace fitwright::service
