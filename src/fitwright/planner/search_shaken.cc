// Begun again from a shaken plan: what a search that takes only what betters the plan cannot reach.
#include <algorithm>
#include <random>
#include <utility>

#include "fitwright/planner/search.h"

namespace fitwright::planner {
namespace {

constexpr int kLeastShaken = 1;
constexpr int kMostShaken = 4;         // decisions changed at once
constexpr int kDraws = 12;             // until one of them can be
constexpr std::int64_t kTryBudget = 400;  // plans judged in one try

std::size_t Draw(std::mt19937_64& random, std::size_t below) { return static_cast<std::size_t>(random() % below); }

std::optional<Strategy> OneOf(Search::Options options, std::mt19937_64& random) {
  std::erase(options, std::nullopt);
  if (options.empty()) return std::nullopt;
  return std::move(options[Draw(random, options.size())]);
}

}  // namespace

// One decision made otherwise, whatever it costs; the parts whose ways it touches.
std::optional<Search::Shaken> Search::Shake(const Strategy& best, std::mt19937_64& random) {
  const PartId& part = machine_.uses[Draw(random, machine_.uses.size())].part;
  const auto one = [](std::optional<Strategy> strategy, std::set<PartId> parts) -> std::optional<Shaken> {
    if (!strategy) return std::nullopt;
    return Shaken{*std::move(strategy), std::move(parts)};
  };
  switch (Draw(random, 6)) {
    case 0: return one(OneOf(RouteOptions(best, part), random), {part});
    case 1: {
      if (subjects_.patterns.empty()) return std::nullopt;
      const PatternJoint& p = subjects_.patterns[Draw(random, subjects_.patterns.size())];
      const std::vector<PatternChoice> ways = PatternOptions(p);
      if (ways.empty()) return std::nullopt;
      return one(WithPattern(best, p.joint, ways[Draw(random, ways.size())]), {p.tapped.part, p.clearance.part});
    }
    case 2: {
      if (subjects_.suits.empty()) return std::nullopt;
      const SuitPair& pair = subjects_.suits[Draw(random, subjects_.suits.size())];
      const Technique ways[] = {Technique::kByCoordinates, Technique::kBringToSize, Technique::kFitToMeasured};
      return one(WithSuit(best, pair.requirement, ways[Draw(random, 3)]), {pair.shaft.part});
    }
    case 3: {
      if (subjects_.shared.empty()) return std::nullopt;
      const SharedHoles& pair = subjects_.shared[Draw(random, subjects_.shared.size())];
      const std::vector<Technique> ways = SharedOptions(pair);
      if (ways.empty()) return std::nullopt;
      return one(WithShared(best, pair.subject, ways[Draw(random, ways.size())]), {pair.fixed.part, pair.moving.part});
    }
    default: {
      const std::size_t setups = best.routes.at(part).setups.size();
      if (setups == 0) return std::nullopt;
      return one(OneOf(SetupOptions(best, part, Draw(random, setups)), random), {part});
    }
  }
}

// Only the ways of these parts, until nothing helps.
void Search::ImproveAround(Strategy& strategy, double& cost, const std::set<PartId>& parts) {
  const std::vector<PartId> list(parts.begin(), parts.end());
  bool improved = true;
  while (improved && !SpentOrStopped()) {
    improved = ImproveRoutes(strategy, cost, list);
    improved |= ImproveSetups(strategy, cost, list);
  }
}

Strategy Search::TryAgain(Strategy best, int tries) {
  const auto start = Look(best);
  if (!start) return best;
  double least = Cost(*start);
  std::mt19937_64 random(options_.seed);
  for (int i = 0; i < tries && !options_.work.cancelled(); ++i) {
    budget_ = judged_ + kTryBudget;
    Strategy other = best;
    std::set<PartId> parts;
    const auto wanted = kLeastShaken + static_cast<int>(Draw(random, kMostShaken));
    for (int drawn = 0, shaken = 0; drawn < kDraws && shaken < wanted; ++drawn) {
      auto next = Shake(other, random);
      if (!next || !Look(next->strategy)) continue;
      other = std::move(next->strategy);
      parts.merge(next->parts);
      ++shaken;
    }
    options_.work.Report("trying again", static_cast<double>(i) / tries);
    const auto begun = parts.empty() ? std::nullopt : Look(other);
    if (!begun) continue;
    double cost = Cost(*begun);
    ImproveAround(other, cost, parts);
    if (cost > least - kWorthwhile_min) continue;
    best = Improve(std::move(other));
    least = Cost(*Look(best));
  }
  return best;
}

}  // namespace fitwright::planner
