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

// The requirements that the excerpt keeps fare there as they do in the whole, to the last build.
bool Search::JudgesAlike(const Excerpt& excerpt, const Judged& in_excerpt, const Judged& in_whole) const {
  const auto& kept = excerpt.machine.requirements;
  std::size_t k = 0;
  for (std::size_t r = 0; r < machine_.requirements.size(); ++r) {
    if (k == kept.size() || machine_.requirements[r].name != kept[k].name) continue;
    if (in_excerpt.per_requirement[k++] != in_whole.per_requirement[r]) return false;
  }
  return true;
}

Excerpt* Search::ExcerptFor(const Strategy& best, const Concerns& concerns, const Change& change) {
  if (options_.underway != nullptr) return nullptr;  // what was read concerns the whole
  // An excerpt knows nothing of pins that say how setups are ordered, held and cut.
  const bool pinned = std::any_of(choices_.pins.begin(), choices_.pins.end(), [](const Pin& p) {
    return p.kind == PinKind::kOrder || p.kind == PinKind::kMachine || p.kind == PinKind::kHolding || p.kind == PinKind::kTool || p.kind == PinKind::kSetup;
  });
  // Odds that are asked for are those of the whole.
  if (!change.routes_only || !change.same_devices || pinned || options_.preference.least_odds > 0) return nullptr;
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
  return known == excerpts_.end() ? &excerpts_.emplace(parts, ExcerptOf(machine_, parts, requirements)).first->second : &known->second;
}

void Search::JudgeInExcerpts(const std::vector<std::pair<Excerpt*, Strategy>>& strategies) {
  struct New {
    Excerpt* excerpt;
    const Strategy* strategy;
    std::string key;
    std::optional<Judged> judged = {};
  };
  std::vector<New> fresh;
  for (const auto& [in, strategy] : strategies) {
    Excerpt* excerpt = in;  // clang keeps names of a binding out of lambdas
    std::string key = KeyOf(strategy);
    const bool listed = std::any_of(fresh.begin(), fresh.end(), [&](const New& n) { return n.excerpt == excerpt && n.key == key; });
    if (!listed && !excerpt->judged.contains(key)) fresh.push_back({excerpt, &strategy, std::move(key)});
  }
  ParallelFor(fresh.size(), options_.threads, [&](std::size_t i) {
    fresh[i].judged = JudgeExcerpt(*fresh[i].excerpt, shop_, *fresh[i].strategy, options_);
  });
  judged_ += std::ssize(fresh);
  for (New& n : fresh) n.excerpt->judged[n.key] = std::move(n.judged);
}

// Of each option, where it concerns much less than the whole and what it concerns is judged there as in the whole; null
// otherwise.
std::vector<Excerpt*> Search::ExcerptsFor(const Strategy& best, const std::vector<Option>& options) {
  const Concerns& concerns = ConcernsOf(best);
  std::vector<Excerpt*> excerpts;
  std::vector<std::pair<Excerpt*, Strategy>> fresh;
  for (const Option& option : options) {
    excerpts.push_back(ExcerptFor(best, concerns, option.change));
    if (excerpts.back() != nullptr && !alike_.contains(excerpts.back())) fresh.emplace_back(excerpts.back(), StrategyIn(*excerpts.back(), best));
  }
  JudgeInExcerpts(fresh);
  for (const auto& [excerpt, in] : fresh) {
    const std::optional<Judged>& judged = excerpt->judged.at(KeyOf(in));
    alike_[excerpt] = judged && JudgesAlike(*excerpt, *judged, *Look(best));
  }
  for (Excerpt*& excerpt : excerpts) {
    if (excerpt != nullptr && !alike_.at(excerpt)) excerpt = nullptr;
  }
  return excerpts;
}

std::vector<double> Search::WeighInExcerpts(const Strategy& best, const std::vector<Option>& options) {
  const std::vector<Excerpt*> excerpts = ExcerptsFor(best, options);
  std::vector<std::pair<Excerpt*, Strategy>> asked;
  for (std::size_t i = 0; i < options.size(); ++i) {
    if (excerpts[i] != nullptr) asked.emplace_back(excerpts[i], StrategyIn(*excerpts[i], options[i].strategy));
  }
  JudgeInExcerpts(asked);
  std::map<Excerpt*, double> now_min;  // what `best` costs there
  std::vector<double> more_min(options.size(), -std::numeric_limits<double>::infinity());
  std::size_t next = 0;
  for (std::size_t i = 0; i < options.size(); ++i) {
    Excerpt* excerpt = excerpts[i];
    if (excerpt == nullptr) continue;
    const auto [now, is_new] = now_min.try_emplace(excerpt, 0);
    if (is_new) now->second = CostIn(*this, excerpt->judged.at(KeyOf(StrategyIn(*excerpt, best))));
    more_min[i] = CostIn(*this, excerpt->judged.at(KeyOf(asked[next++].second))) - now->second;
  }
  return more_min;
}

std::vector<Search::Option> Search::Weigh(const Strategy& best, double cost, const std::vector<Options>& decisions) {
  std::vector<double> remedies_min = Look(best)->remedies_min;
  for (double& minutes : remedies_min) minutes *= options_.preference.remedies;
  const Concerns& concerns = ConcernsOf(best);
  const bool sums_up = options_.preference.least_odds <= 0;  // else what lost may win by what another change does to the odds
  std::vector<Option> listed;
  for (std::size_t d = 0; d < decisions.size(); ++d) {
    for (const auto& option : decisions[d]) {
      if (!option || std::ssize(listed) >= budget_ - judged_) continue;
      Change change = ChangeOf(subjects_, best, *option);
      if (change.key.empty() || (sums_up && tried_.Knows(change) && tried_.LosesAgain(change, concerns, remedies_min))) continue;
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
