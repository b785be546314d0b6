// What the options of a decision cost: those that have lost before are left out, those that concern few
// parts are judged on these alone first.
#include <algorithm>
#include <limits>

#include "fitwright/base/parallel.h"
#include "fitwright/planner/search.h"

namespace fitwright::planner {
namespace {

constexpr double kWorthACut = 0.7;  // share of all setups; of more the whole is judged at once

std::size_t SetupsOf(const Strategy& strategy) {
  std::size_t count = 0;
  for (const auto& [part, route] : strategy.routes) count += route.setups.size();
  return count;
}

double CostIn(const Search& search, const std::optional<Judged>& judged) {
  return judged ? search.Cost(*judged) : std::numeric_limits<double>::infinity();
}

}  // namespace

// The requirements that the excerpt keeps fare there as they do in the whole.
bool Search::JudgesAlike(Excerpt& excerpt, const Strategy& best) {
  const Strategy in = StrategyIn(excerpt, best);
  auto [kept, is_new] = excerpt.judged.try_emplace(KeyOf(in));
  if (is_new) {
    ++judged_;
    kept->second = JudgeExcerpt(excerpt, shop_, in, options_);
  }
  if (!kept->second) return false;
  const std::vector<double> whole = Look(best)->per_requirement;
  std::size_t in_excerpt = 0;
  for (std::size_t r = 0; r < whole.size(); ++r) {
    const auto& list = excerpt.machine.requirements;
    if (in_excerpt == list.size() || machine_.requirements[r].name != list[in_excerpt].name) continue;
    if (kept->second->per_requirement[in_excerpt++] != whole[r]) return false;
  }
  return true;
}

Excerpt* Search::ExcerptFor(const Strategy& best, const Change& change) {
  const bool ordered = std::any_of(choices_.pins.begin(), choices_.pins.end(), [](const Pin& p) { return p.kind == PinKind::kOrder; });
  // Odds that are asked for are those of the whole.
  if (!change.routes_only || !change.same_devices || ordered || options_.preference.least_odds > 0) return nullptr;
  const Concerns& concerns = ConcernsOf(best);
  std::set<std::size_t> requirements;
  for (const PartId& part : change.parts) {
    if (const auto found = concerns.find(part); found != concerns.end()) requirements.insert(found->second.begin(), found->second.end());
  }
  std::set<PartId> parts = change.parts;
  std::set<std::size_t> outside;  // requirements that read of other parts too
  for (const auto& [part, own] : concerns) {
    const bool concerned = std::any_of(own.begin(), own.end(), [&](std::size_t r) { return requirements.contains(r); });
    if (concerned && machine_.FindBought(part) == nullptr) parts.insert(part);
  }
  for (const auto& [part, own] : concerns) {
    if (!parts.contains(part) && machine_.FindBought(part) == nullptr) outside.insert(own.begin(), own.end());
  }
  std::size_t setups = 0;
  for (const PartId& part : parts) setups += best.routes.at(part).setups.size();
  if (static_cast<double>(setups) > kWorthACut * static_cast<double>(SetupsOf(best))) return nullptr;
  for (std::size_t r = 0; r < machine_.requirements.size(); ++r) {
    if (!outside.contains(r)) requirements.insert(r);
  }
  const auto known = excerpts_.find(parts);
  Excerpt& excerpt = known == excerpts_.end() ? excerpts_.emplace(parts, ExcerptOf(machine_, parts, requirements)).first->second : known->second;
  const auto [alike, is_new] = alike_.try_emplace(parts, false);
  if (is_new) alike->second = JudgesAlike(excerpt, best);
  return alike->second ? &excerpt : nullptr;
}

std::vector<double> Search::WeighInExcerpts(const Strategy& best, const std::vector<Option>& options) {
  struct New {
    Excerpt* excerpt;
    Strategy strategy;
    std::string key;
    std::optional<Judged> judged = {};
  };
  std::vector<New> fresh;
  std::vector<std::pair<Excerpt*, std::string>> places;
  for (const Option& option : options) {
    Excerpt* excerpt = ExcerptFor(best, option.change);
    places.emplace_back(excerpt, "");
    if (excerpt == nullptr) continue;
    Strategy in = StrategyIn(*excerpt, option.strategy);
    places.back().second = KeyOf(in);
    const std::string& key = places.back().second;
    const bool listed = std::any_of(fresh.begin(), fresh.end(), [&](const New& n) { return n.excerpt == excerpt && n.key == key; });
    if (!listed && !excerpt->judged.contains(key)) fresh.push_back({excerpt, std::move(in), key});
  }
  ParallelFor(fresh.size(), options_.threads, [&](std::size_t i) {
    fresh[i].judged = JudgeExcerpt(*fresh[i].excerpt, shop_, fresh[i].strategy, options_);
  });
  judged_ += std::ssize(fresh);
  for (New& n : fresh) n.excerpt->judged[n.key] = n.judged;
  std::vector<double> more_min;
  for (const auto& [excerpt, key] : places) {
    more_min.push_back(excerpt == nullptr ? -std::numeric_limits<double>::infinity()
                                          : CostIn(*this, excerpt->judged.at(key)) -
                                                              CostIn(*this, excerpt->judged.at(KeyOf(StrategyIn(*excerpt, best)))));
  }
  return more_min;
}

std::vector<Search::Option> Search::Weigh(const Strategy& best, double cost, const std::vector<Options>& decisions) {
  std::vector<double> remedies_min = Look(best)->remedies_min;
  for (double& minutes : remedies_min) minutes *= options_.preference.remedies;
  const bool sums_up = options_.preference.least_odds <= 0;  // else what lost may win by what another change does to the odds
  std::vector<Option> listed;
  for (std::size_t d = 0; d < decisions.size(); ++d) {
    for (const auto& option : decisions[d]) {
      if (!option || std::ssize(listed) >= budget_ - judged_) continue;
      Change change = ChangeOf(subjects_, best, *option);
      if (change.key.empty() || (sums_up && tried_.Knows(change) && tried_.LosesAgain(change, ConcernsOf(best), remedies_min))) continue;
      listed.push_back({d, std::move(change), 0, *option});
    }
  }
  if (SpentOrStopped()) return {};
  const std::vector<double> more_min = WeighInExcerpts(best, listed);
  std::vector<Option> weighed;
  std::vector<Strategy> strategies;
  for (std::size_t i = 0; i < listed.size(); ++i) {
    if (more_min[i] > -kWorthwhile_min) {
      tried_.Lost(listed[i].change, more_min[i], remedies_min);
    } else {
      strategies.push_back(listed[i].strategy);
      weighed.push_back(std::move(listed[i]));
    }
  }
  const auto judged = LookAtAll(strategies);
  for (std::size_t i = 0; i < weighed.size(); ++i) {
    weighed[i].cost = CostIn(*this, judged[i]);
    if (const double by_min = weighed[i].cost - cost; by_min > -kWorthwhile_min) tried_.Lost(weighed[i].change, by_min, remedies_min);
  }
  return weighed;
}

}  // namespace fitwright::planner
