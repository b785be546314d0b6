#include "fitwright/planner/betterment.h"

#include <fmt/format.h>

#include <algorithm>

#include "fitwright/planner/process_common.h"
#include "fitwright/variation/odds.h"

namespace fitwright::planner {
namespace {

constexpr double kLeastShare = 0.1;   // of a requirement's spread, to be worth a look
constexpr double kLeastGain = 0.005;
constexpr std::size_t kMostWeak = 5;  // requirements whose limits are tried
constexpr double kWider = 0.5;        // of the width of the limits

struct Trial {
  Betterment betterment;
  Machine machine;
  Shop shop;
};

void AddSpreads(const Machine& machine, const Shop& shop, const Plan& plan, std::vector<Trial>& trials) {
  for (const RequirementOdds& requirement : plan.odds.requirements) {
    for (const CauseShare& cause : requirement.causes) {
      const auto spread = shop.spreads.find(cause.group);
      const bool known = std::any_of(trials.begin(), trials.end(), [&](const Trial& t) { return t.betterment.where == cause.group; });
      if (spread == shop.spreads.end() || known || cause.share < kLeastShare || shop.spread_scale <= 0) continue;
      const double now = FigureOf(shop, spread->second).spread;
      const double careful = spread->second.careful.spread * shop.spread_scale;
      const bool can_care = spread->second.origin == SpreadOrigin::kDefault && careful < 0.99 * now;
      Trial trial{{BettermentKind::kShop, cause.group, "", 0, 0}, machine, shop};
      Spread& better = trial.shop.spreads.at(cause.group);
      const double factor = can_care ? careful / now : 0.5;
      SpreadFigure held = FigureOf(shop, spread->second);
      held.spread *= factor / shop.spread_scale;
      held.mean *= factor / shop.spread_scale;
      better.careful = better.usual = better.worn = held;
      trial.betterment.say = fmt::format("{}: {} {} instead of {} ({}).", spread->second.words, Num(factor * now), spread->second.unit, Num(now),
                                         can_care ? "as a careful shop holds it: a better tool or instrument, or more time taken" : "half of what it is");
      trials.push_back(std::move(trial));
    }
  }
}

void AddLimits(const Machine& machine, const Shop& shop, const Plan& plan, std::vector<Trial>& trials) {
  std::vector<const RequirementOdds*> weak;
  for (const RequirementOdds& odds : plan.odds.requirements) weak.push_back(&odds);
  std::stable_sort(weak.begin(), weak.end(), [](const auto* a, const auto* b) { return a->chance.odds < b->chance.odds; });
  weak.resize(std::min(weak.size(), kMostWeak));
  for (const RequirementOdds* odds : weak) {
    Trial trial{{BettermentKind::kLimit, odds->name.text(), "", 0, 0}, machine, shop};
    const auto at = std::find_if(trial.machine.requirements.begin(), trial.machine.requirements.end(), [&](const Requirement& r) { return r.name == odds->name; });
    if (at == trial.machine.requirements.end() || !at->upper || odds->chance.odds >= 1 - kLeastGain) continue;
    const double width = at->lower ? *at->upper - *at->lower : *at->upper;
    const double more = at->lower ? 0.5 * kWider * width : kWider * width;
    if (at->lower) *at->lower -= more;
    *at->upper += more;
    trial.betterment.say = fmt::format("{}: limits half as wide again, if the design allows it.", odds->name.text());
    trials.push_back(std::move(trial));
  }
}

}  // namespace

Result<std::vector<Betterment>> FindBetterments(const Machine& machine, const Shop& shop, const Plan& plan, const PlannerOptions& options) {
  variation::OddsOptions wanted;
  wanted.builds = options.final_builds;
  wanted.seed = options.seed;
  wanted.threads = options.threads;
  wanted.cancel = options.work.cancel;
  wanted.shop_band = wanted.causes = false;
  std::vector<Trial> trials;
  AddSpreads(machine, shop, plan, trials);
  AddLimits(machine, shop, plan, trials);
  std::vector<Betterment> found;
  for (Trial& trial : trials) {
    const Result<Odds> odds = variation::CalcOdds(trial.machine, trial.shop, plan, wanted);
    if (!odds) return Unexpected(odds.error());
    trial.betterment.odds_before = plan.odds.all.odds;
    trial.betterment.odds_after = odds->all.odds;
    if (odds->all.odds - plan.odds.all.odds >= kLeastGain) found.push_back(trial.betterment);
  }
  std::stable_sort(found.begin(), found.end(), [](const Betterment& a, const Betterment& b) { return a.odds_after > b.odds_after; });
  return found;
}

}  // namespace fitwright::planner
