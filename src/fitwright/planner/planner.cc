#include "fitwright/planner/planner.h"

#include "fitwright/planner/advice.h"
#include "fitwright/planner/conflict.h"
#include "fitwright/planner/decided.h"
#include "fitwright/planner/difference.h"
#include "fitwright/planner/front.h"
#include "fitwright/planner/means.h"
#include "fitwright/planner/pins.h"
#include "fitwright/planner/plan_lists.h"
#include "fitwright/planner/search.h"
#include "fitwright/planner/why.h"

namespace fitwright::planner {
namespace {

void SayWish(const PlannerOptions& options, Plan& plan) {
  if (options.wish == Wish::kSure) {
    plan.assumed.push_back(fmt::format("Chosen as asked: of the plans found that reach {:.4g} in 100, the one of the fewest expected hours.", 100 * options.sure));
  }
  if (options.tries > 0) plan.assumed.push_back(fmt::format("The search began again {} times from shaken plans, by seed {}.", options.tries, options.seed));
  if (options.wish == Wish::kQuickest) plan.assumed.emplace_back("Chosen as asked: the quickest plan found if all goes well; remakes and re-cuts were not weighed.");
  if (options.wish == Wish::kFewestSetups) plan.assumed.emplace_back("Chosen as asked: the fewest setups found, and of those the fewest expected hours.");
}

PlannerOptions WithMemos(PlannerOptions options, CutMemo& cuts, SetupMemo& setups, const Subjects& subjects) {
  if (options.cuts == nullptr) options.cuts = &cuts;
  if (options.setups == nullptr) options.setups = &setups;
  if (options.subjects == nullptr) options.subjects = &subjects;
  return options;
}

}  // namespace

struct Planner::State {
  State(const Machine& m, const Shop& s, const Choices& c, const PlannerOptions& o)
      : machine(m), shop(s), choices(c), own_subjects(FindSubjects(m)), options(WithMemos(o, own_cuts, own_setups, own_subjects)),
        free_search(m, s, none, options), search(m, s, choices, options) {}
  // The plan as found without pins, the pins imposed on it; where they cannot be, found under the pins from the start.
  Status Decide();
  Status FindBase();
  // The pins that are to blame, else what the shop lacks.
  Error WhyNoPlan(const Error& error) const;
  Result<Offer> OfferOf(const Strategy& strategy, const Plan& first);
  Search& Used() { return choices.pins.empty() ? free_search : search; }

  const Machine& machine;
  const Shop& shop;
  const Choices& choices;
  CutMemo own_cuts;  // of all searches here
  SetupMemo own_setups;
  Subjects own_subjects;
  PlannerOptions options;
  Choices none;
  Search free_search;  // without pins
  Search search;       // under the pins
  Strategy free;
  Strategy plain;
  Strategy chosen;
};

Planner::Planner(const Machine& machine, const Shop& shop, const Choices& choices, const PlannerOptions& options)
    : state_(new State(machine, shop, choices, options)) {}

Planner::~Planner() = default;

Status Planner::State::Decide() {
  if (const Status found = FindBase(); !found) return found;
  const Result<Strategy> wished = FindWished(machine, shop, choices, Used(), chosen, options);
  if (!wished) return Unexpected(wished.error());
  if (KeyOf(*wished) == KeyOf(chosen)) return Ok{};
  chosen = *wished;
  free = chosen;  // which keeps all pins
  return Ok{};
}

Error Planner::State::WhyNoPlan(const Error& error) const {
  if (!choices.pins.empty()) {
    const Conflict conflict = SmallestConflict(machine, shop, choices, options);
    if (!conflict.pins.empty() && options.catalogue == nullptr) return SayConflict(conflict, error);
    if (!conflict.pins.empty()) return SayConflict(conflict, error, FindLacks(machine, shop, *options.catalogue, options, conflict.pins));
  }
  if (options.catalogue == nullptr) return error;
  return SayLacks(FindLacks(machine, shop, *options.catalogue, options), error);
}

Status Planner::State::FindBase() {
  if (const Status checked = CheckPins(machine, search.subjects(), choices); !checked) return checked;
  const Result<Strategy> start = Used().Plain();
  if (!start) return Unexpected(WhyNoPlan(start.error()));
  plain = *start;
  const Result<Strategy> free_start = free_search.Plain();
  if (free_start) free = free_search.TryAgain(free_search.Improve(*free_start), options.tries);
  if (choices.pins.empty()) {
    chosen = free;
    return Ok{};
  }
  const auto honoured = free_start ? search.Honour(free, free_search.tried()) : std::nullopt;
  chosen = honoured ? *honoured : search.TryAgain(search.Improve(plain), options.tries);
  if (!honoured) free = chosen;
  return Ok{};
}

Result<Plan> Planner::Choose() {
  State& s = *state_;
  const Status decided = s.Decide();
  if (!decided) return Unexpected(decided.error());
  if (s.search.stopped()) return Unexpected(Error{ErrorCode::kStopped, "stopped before the plan was made", {}, {}, {}});
  Result<Plan> plan = BuildMeasuredPlan(s.machine, s.shop, s.search.subjects(), s.chosen, s.choices, s.options.cuts);
  if (!plan) return plan;
  plan->project = s.machine.name;
  return plan;
}

std::vector<std::string> Planner::Decided() const { return LinesOf(state_->chosen); }

Status Planner::Tell(Plan& plan) {
  State& s = *state_;
  PlannerOptions finer = s.options;
  finer.search_builds = s.options.advice_builds;
  finer.work.progress = {};
  Search neighbours(s.machine, s.shop, s.choices, finer);
  const std::vector<Decision> decisions = WeighDecisions(s.machine, neighbours, s.plain, s.chosen, plan);
  AddAssumed(s.machine, plan);
  SayWish(s.options, plan);
  const Status odds = FillOdds(s.machine, s.shop, s.options, plan);
  if (!odds) return odds;
  const AdviceInput in{&s.machine, &s.shop, &s.choices, &s.free, &s.free_search.tried(), &s.chosen, s.options};
  if (const Status offered = AddChoices(in, s.Used(), s.plain, plan); !offered) return offered;
  const Status told = TellAdvice(in, decisions, plan);
  if (s.options.work.cancelled()) return Unexpected(Error{ErrorCode::kStopped, "stopped before the advice was worked out", {}, {}, {}});
  return told;
}

namespace {

std::string TradeOf(const Merit& first, const Merit& other) {
  std::vector<std::string> words;
  if (other.odds != first.odds) words.emplace_back(other.odds > first.odds ? "surer" : "less sure");
  if (other.expected != first.expected) words.emplace_back(other.expected < first.expected ? "quicker" : "longer");
  if (other.setups != first.setups) words.push_back(other.setups < first.setups ? "fewer setups" : "more setups");
  return fmt::format("{}", fmt::join(words, ", "));
}

}  // namespace

Result<Offer> Planner::State::OfferOf(const Strategy& strategy, const Plan& first) {
  Result<Plan> plan = BuildMeasuredPlan(machine, shop, search.subjects(), strategy, choices, options.cuts);
  if (!plan) return Unexpected(plan.error());
  plan->project = first.project;
  const Status odds = FillOdds(machine, shop, options, *plan, false);
  if (!odds) return Unexpected(odds.error());
  return Offer{*std::move(plan), "", WhatDiffers(search.subjects(), shop, chosen, strategy)};
}

Result<std::vector<Offer>> Planner::Offers(const Plan& plan) {
  State& s = *state_;
  constexpr std::size_t kMostWeighed = 16;  // each is worked out with its odds
  std::vector<Found> found = UnbeatenOf(s.Used().seen());
  std::erase_if(found, [&](const Found& f) { return KeyOf(f.first) == KeyOf(s.chosen); });
  const auto chosen = s.Used().Look(s.chosen);
  if (chosen) found.insert(found.begin(), {s.chosen, *chosen});
  std::vector<Merit> merits;
  for (const Found& f : found) merits.push_back({f.second.odds, f.second.expected_min, f.second.setups});
  std::vector<Offer> offers = {{plan, "", {}}};
  std::vector<Merit> finals = {{plan.odds.all.odds, plan.hours_expected, static_cast<int>(plan.setups.size())}};
  for (const std::size_t i : PlacesToOffer(merits)) {
    if (i == 0 || offers.size() == kMostWeighed) continue;
    if (s.options.work.cancelled()) return Unexpected(Error{ErrorCode::kStopped, "stopped before the choices were worked out", {}, {}, {}});
    Result<Offer> offer = s.OfferOf(found[i].first, plan);
    if (!offer) return Unexpected(offer.error());
    finals.push_back({offer->plan.odds.all.odds, offer->plan.hours_expected, static_cast<int>(offer->plan.setups.size())});
    offer->trade = TradeOf(finals.front(), finals.back());
    offers.push_back(*std::move(offer));
  }
  std::vector<Offer> unbeaten;
  for (const std::size_t i : PlacesToOffer(finals)) unbeaten.push_back(std::move(offers[i]));
  return unbeaten;
}

Result<std::vector<Why>> Planner::TellWhy(const Plan& plan, const std::string& subject) {
  const State& s = *state_;
  return planner::TellWhy({&s.machine, &s.shop, &s.choices, &s.chosen, &plan, s.options}, subject);
}

Result<Plan> MakePlan(const Machine& machine, const Shop& shop, const Choices& choices, const PlannerOptions& options) {
  Planner planner(machine, shop, choices, options);
  Result<Plan> plan = planner.Choose();
  if (!plan) return plan;
  const Status told = planner.Tell(*plan);
  if (!told) return Unexpected(told.error());
  return plan;
}

Result<Plan> MakePlainPlan(const Machine& machine, const Shop& shop, const Choices& choices, const PlannerOptions& options) {
  Search search(machine, shop, choices, options);
  if (const Status checked = CheckPins(machine, search.subjects(), choices); !checked) return Unexpected(checked.error());
  const Result<Strategy> plain = search.Plain();
  if (!plain) return Unexpected(plain.error());
  Result<Plan> plan = BuildMeasuredPlan(machine, shop, search.subjects(), *plain, choices);
  if (!plan) return plan;
  plan->project = machine.name;
  AddAssumed(machine, *plan);
  const Status odds = FillOdds(machine, shop, options, *plan);
  if (!odds) return Unexpected(odds.error());
  return plan;
}

}  // namespace fitwright::planner
