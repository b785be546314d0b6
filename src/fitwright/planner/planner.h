// From a machine and a shop to the build plan: the one entry of the planner.
//
// The search is coordinate descent over everything a plan decides (technique of each joint, how sizes
// are brought in, each part's order of sides, and in each setup device, mode, jaw face and zero); every
// candidate route of a part is tried. It ends where no single change helps: no bound says how far that is
// from the best. Every candidate is a whole plan, judged by its minutes plus the expected minutes of
// remedies over the same virtual builds.
// Deterministic: budget is counted in plans judged, never in time.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "fitwright/base/progress.h"
#include "fitwright/base/result.h"
#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/model/shop.h"
#include "fitwright/variation/odds.h"

namespace fitwright::planner {

class CutMemo;
struct Subjects;
class SetupMemo;
struct Underway;

// What a plan's minutes are weighed against.
struct Preference {
  double remedies = 1;        // what a minute of expected remedies and re-cuts counts
  double each_setup_min = 0;  // what a setup counts beside its own minutes
  double least_odds = 0;      // each point that is missing counts more than it can save
};
// What the builder wants most of a plan.
enum class Wish {
  kLeastHours,    // the fewest expected hours, remedies and all
  kSure,          // of the plans that reach the odds asked for, the fewest expected hours
  kQuickest,      // the fewest hours if all goes well
  kFewestSetups   // the fewest setups; of those, the fewest expected hours
};

struct PlannerOptions {
  std::uint64_t seed = 1;
  int search_builds = 512;           // virtual builds a candidate is judged on
  int advice_builds = 4096;          // and the plan against its neighbours, for what is said of them
  std::int64_t final_builds = 20000; // for the plan's own odds
  int threads = 0;
  WorkOptions work;                  // budget counts plans judged; 0 = 1500
  variation::OutcomeMemo* outcomes = nullptr;  // not owned; null: of this planning alone
  CutMemo* cuts = nullptr;           // not owned, of this machine and shop; null: of one search alone
  SetupMemo* setups = nullptr;       // the same
  const Subjects* subjects = nullptr;  // not owned, of this machine; null: found
  Preference preference = {};
  Wish wish = Wish::kLeastHours;
  double sure = 0;                   // the odds asked for, 0..1
  int tries = 0;                     // times that the search begins again from a shaken plan
  bool offers = false;               // look further afield, for Planner::Offers
  const Underway* underway = nullptr;  // not owned; plans are judged by what is done and was read
  const Shop* catalogue = nullptr;   // not owned; what might be got, to say what would let a machine be made
};

// One plan judged.
struct Judged {
  double minutes = 0;     // of the plan itself
  double expected_min = 0;  // with remedies and re-cuts
  double odds = 0;        // all requirements in one build
  int setups = 0;
  double disturbance_min = 0;  // of a plan that is followed; counts like minutes, and is none of them
  std::vector<double> per_requirement;
  std::vector<double> remedies_min;  // of each requirement, in expected_min
};

double CostOf(const Judged& judged, const Preference& preference);

// One of the plans that none beats on odds, expected hours and setups together.
struct Offer {
  Plan plan;                         // of all but the first without causes, advice and choices
  std::string trade;                 // "surer, longer": against the first
  std::vector<std::string> differs;  // what is done otherwise than in the first
};

// One of the ways of a decision; of the whole plan made so.
struct WhyWay {
  std::string what;
  double odds = 0;
  double minutes = 0;
  double expected_min = 0;
};
struct WhyNot {
  std::string what;
  std::string because;  // it makes no plan
};
// Why a decision of the plan is as it is.
struct Why {
  std::string about;    // "technique of bush_screws"
  std::string kind;     // technique setups holding datum zero order
  WhyWay chosen;
  std::optional<WhyWay> runner_up;  // of the ways that make a plan the best but for the chosen one
  std::vector<WhyNot> fails;
  std::string because;  // no other way makes a plan
  std::string note;     // what bears on it besides; may be empty
};

// The two halves of MakePlan, for who has use for the setups while the odds are still being worked out.
// Machine, shop and choices must outlive it.
class Planner {
 public:
  Planner(const Machine& machine, const Shop& shop, const Choices& choices, const PlannerOptions& options);
  ~Planner();
  // Setups, joints' techniques, parts, what to buy. Errors as MakePlan.
  Result<Plan> Choose();
  // What Choose's plan was worked out from (decided.h).
  std::vector<std::string> Decided() const;
  // The rest for the plan that Choose gave: joints' alternatives, odds, advice, choices, what was assumed.
  // Reports no progress, so that it may run beside other work.
  Status Tell(Plan& plan);
  // With options.offers, after Tell: `plan` first, then those worth offering beside it, the fewest expected hours
  // first; no two within a point of odds and two per cent of hours. Errors: kStopped, of odds as CalcOdds.
  Result<std::vector<Offer>> Offers(const Plan& plan);
  // After Choose, which gave `plan`: see why.h.
  Result<std::vector<Why>> TellWhy(const Plan& plan, const std::string& subject);

 private:
  struct State;
  std::unique_ptr<State> state_;
};

// Makes the plan: setups, joints with alternatives, odds with causes, advice, choices, what to buy, what
// was assumed. Pins of `choices` are honoured. Errors: kNoPlan with the reason (nothing holds a part, a
// tool is missing, pins cannot all hold), kStopped.
Result<Plan> MakePlan(const Machine& machine, const Shop& shop, const Choices& choices,
                      const PlannerOptions& options);

// The plan that the pins alone decide, everything else plain (each part by itself, holes by coordinates,
// sizes to their limits, parts in list order). Judged like any other; for comparisons.
Result<Plan> MakePlainPlan(const Machine& machine, const Shop& shop, const Choices& choices,
                           const PlannerOptions& options);

// Judges a plan as the search does.
Result<Judged> Judge(const Machine& machine, const Shop& shop, const Plan& plan, const PlannerOptions& options);

}  // namespace fitwright::planner
