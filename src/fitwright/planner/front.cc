#include "fitwright/planner/front.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "fitwright/variation/odds.h"

namespace fitwright::planner {
namespace {

constexpr double kAlikeOdds = 0.01;
constexpr double kAlikeTime = 0.02;
constexpr double kManySetups_min = 600;  // a setup fewer is worth whatever it takes
// Remedies left out, made light of and made much of; setups made much of.
constexpr std::array kAfield = {Preference{0, 0, 0}, Preference{0.3, 0, 0}, Preference{3, 0, 0}, Preference{10, 0, 0}, Preference{1, kManySetups_min, 0}};
constexpr std::size_t kMostTried = 12;   // plans whose odds are worked out in full for one that is to be sure
constexpr double kWithinNoise = 0.03;    // of the odds on few builds

Standing StandingOf(const Judged& judged) { return {judged.odds, judged.expected_min, judged.setups}; }

bool Beats(const Standing& a, const Standing& b) {
  const bool no_worse = a.odds >= b.odds && a.expected <= b.expected && a.setups <= b.setups;
  return no_worse && (a.odds > b.odds || a.expected < b.expected || a.setups < b.setups);
}

const Found* LeastOf(const std::vector<Found>& found, const Preference& preference) {
  const auto less = [&](const Found& a, const Found& b) {
    return std::pair(CostOf(a.second, preference), a.second.expected_min) < std::pair(CostOf(b.second, preference), b.second.expected_min);
  };
  return &*std::min_element(found.begin(), found.end(), less);
}

Strategy ImprovedUnder(Search& search, const Preference& preference, const Strategy& start) {
  search.Prefer(preference);
  search.Improve(start);
  return LeastOf(search.seen(), preference)->first;
}

Result<Odds> FullOdds(const Machine& machine, const Shop& shop, const Choices& choices, const Search& search, const Strategy& strategy,
                      const PlannerOptions& options) {
  const Result<Plan> plan = BuildMeasuredPlan(machine, shop, search.subjects(), strategy, choices, options.cuts);
  if (!plan) return Unexpected(plan.error());
  variation::OddsOptions wanted;
  wanted.builds = options.final_builds;
  wanted.seed = options.seed;
  wanted.threads = options.threads;
  wanted.cancel = options.work.cancel;
  wanted.shop_band = false;
  return variation::CalcOdds(machine, shop, *plan, wanted, options.outcomes);
}

Unexpected NotReached(const Machine& machine, double sure, const Odds& surest, const Judged& judged) {
  const auto weakest = std::min_element(surest.requirements.begin(), surest.requirements.end(),
                                        [](const RequirementOdds& a, const RequirementOdds& b) { return a.chance.odds < b.chance.odds; });
  std::string why = fmt::format("no plan was found that reaches {:.4g} in 100: the surest reaches {:.1f} in {:.1f} expected hours", 100 * sure,
                                100 * surest.all.odds, judged.expected_min / 60);
  if (weakest == surest.requirements.end()) return Unexpected(Error{ErrorCode::kNoPlan, why, {}, "ask for less", {}});
  const auto requirement = std::find_if(machine.requirements.begin(), machine.requirements.end(), [&](const Requirement& r) { return r.name == weakest->name; });
  const std::string say = requirement == machine.requirements.end() || requirement->words.empty() ? "" : fmt::format(" ({})", requirement->words);
  why += fmt::format("; {}{} holds it back, met by {:.1f} in 100", weakest->name.text(), say, 100 * weakest->chance.odds);
  if (!weakest->causes.empty()) why += fmt::format(", {:.0f} per cent of that from: {}", 100 * weakest->causes.front().share, weakest->causes.front().source);
  return Unexpected(Error{ErrorCode::kNoPlan, why, {}, fmt::format("give {} wider limits, better that source in the shop file, or ask for less",
                                                                  weakest->name.text()), {}});
}

// Of those that may reach the odds on all builds, by expected minutes: each surer than the one before.
std::vector<Found> Promising(const std::vector<Found>& seen, double sure) {
  std::vector<Found> by_time = seen;
  std::stable_sort(by_time.begin(), by_time.end(), [](const Found& a, const Found& b) {
    return std::pair(a.second.expected_min, -a.second.odds) < std::pair(b.second.expected_min, -b.second.odds);
  });
  std::vector<Found> promising;
  for (const Found& found : by_time) {
    if (found.second.odds < sure - kWithinNoise) continue;
    if (promising.empty() || found.second.odds > promising.back().second.odds) promising.push_back(found);
  }
  return promising;
}

Result<Strategy> Sure(const Machine& machine, const Shop& shop, const Choices& choices, Search& search, PlannerOptions& options) {
  options.preference = Preference{1, 0, options.sure};
  ImprovedUnder(search, options.preference, LeastOf(search.seen(), options.preference)->first);
  const std::vector<Found> candidates = Promising(search.seen(), options.sure);
  std::size_t tried = 0;
  for (const Found& candidate : candidates) {
    if (++tried > kMostTried) break;
    const Result<Odds> odds = FullOdds(machine, shop, choices, search, candidate.first, options);
    if (!odds) return Unexpected(odds.error());
    if (odds->all.odds >= options.sure) return candidate.first;
  }
  const auto surest = std::max_element(search.seen().begin(), search.seen().end(),
                                       [](const Found& a, const Found& b) { return a.second.odds < b.second.odds; });
  const Result<Odds> odds = FullOdds(machine, shop, choices, search, surest->first, options);
  if (!odds) return Unexpected(odds.error());
  if (odds->all.odds >= options.sure) return surest->first;
  return NotReached(machine, options.sure, *odds, surest->second);
}

}  // namespace

std::vector<Found> UnbeatenOf(const std::vector<Found>& found) {
  std::vector<Found> unbeaten;
  for (std::size_t i = 0; i < found.size(); ++i) {
    const Standing own = StandingOf(found[i].second);
    const bool beaten = std::any_of(found.begin(), found.end(), [&](const Found& other) { return Beats(StandingOf(other.second), own); });
    const bool repeats = std::any_of(unbeaten.begin(), unbeaten.end(), [&](const Found& other) {
      const Standing have = StandingOf(other.second);
      return have.odds == own.odds && have.expected == own.expected && have.setups == own.setups;
    });
    if (!beaten && !repeats) unbeaten.push_back(found[i]);
  }
  return unbeaten;
}

bool Alike(const Standing& a, const Standing& b) {
  return std::abs(a.odds - b.odds) <= kAlikeOdds && std::abs(a.expected - b.expected) <= kAlikeTime * std::max(a.expected, b.expected);
}

std::vector<std::size_t> PlacesToOffer(const std::vector<Standing>& standings) {
  std::vector<std::size_t> order(standings.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  if (order.empty()) return order;
  std::stable_sort(order.begin() + 1, order.end(), [&](std::size_t a, std::size_t b) { return standings[a].expected < standings[b].expected; });
  std::vector<std::size_t> offered;
  for (const std::size_t i : order) {
    const bool beaten = std::any_of(standings.begin(), standings.end(), [&](const Standing& s) { return Beats(s, standings[i]); });
    const bool alike = std::any_of(offered.begin(), offered.end(), [&](std::size_t j) { return Alike(standings[i], standings[j]); });
    if (i == 0 || (!beaten && !alike)) offered.push_back(i);
  }
  return offered;
}

void LookAfield(Search& search, const Strategy& start) {
  for (const Preference& preference : kAfield) ImprovedUnder(search, preference, start);
}

Result<Strategy> FindWished(const Machine& machine, const Shop& shop, const Choices& choices, Search& search, const Strategy& base,
                            PlannerOptions& options) {
  if (options.wish == Wish::kLeastHours && !options.offers) return base;
  if (options.wish == Wish::kSure && !options.offers) {
    const Result<Odds> odds = FullOdds(machine, shop, choices, search, base, options);
    if (!odds) return Unexpected(odds.error());
    if (odds->all.odds >= options.sure) return base;
  }
  LookAfield(search, base);
  if (search.stopped()) return Unexpected(Error{ErrorCode::kStopped, "stopped before the plan was made", {}, {}, {}});
  switch (options.wish) {
    case Wish::kSure: return Sure(machine, shop, choices, search, options);
    case Wish::kQuickest: options.preference = Preference{0, 0, 0}; break;
    case Wish::kFewestSetups: options.preference = Preference{1, kManySetups_min, 0}; break;
    case Wish::kLeastHours: break;
  }
  return ImprovedUnder(search, options.preference, LeastOf(search.seen(), options.preference)->first);
}

}  // namespace fitwright::planner
