// The textbook dynamic programme over (finished set, last configuration), layer by layer, every state expanded once:
// what the planner's search is compared with. Of at most 64 operations.
#pragma once

#include <optional>
#include <unordered_map>

#include "fitwright/planner/sequence_search.h"

namespace fitwright::bench {

struct TableResult {
  std::optional<planner::SequenceCost> cost;  // nothing: given up
  std::int64_t expanded = 0;
};

template <planner::SequencePolicy Policy>
TableResult SequenceByTable(const Policy& policy, std::int64_t most_expanded) {
  using State = std::pair<std::uint64_t, planner::SequencePlace>;
  struct Hash {
    std::size_t operator()(const State& s) const { return (s.first ^ s.second * 0x9e3779b97f4a7c15ULL) * 0xff51afd7ed558ccdULL >> 13U; }
  };
  std::vector<std::uint64_t> before(policy.operations());
  for (std::size_t o = 0; o < before.size(); ++o) {
    for (const std::size_t b : policy.before(o)) before[o] |= std::uint64_t{1} << b;
  }
  TableResult result;
  std::unordered_map<State, planner::SequenceCost, Hash> layer = {{{0, policy.start()}, 0}};
  for (std::size_t count = 0; count < before.size(); ++count) {
    std::unordered_map<State, planner::SequenceCost, Hash> next;
    for (const auto& [state, paid] : layer) {
      if (++result.expanded > most_expanded) return result;
      for (std::size_t o = 0; o < before.size(); ++o) {
        if ((state.first >> o & 1U) != 0 || (before[o] & ~state.first) != 0) continue;
        for (std::size_t w = 0; w < policy.ways(o); ++w) {
          const planner::SequencePlace to = policy.After(state.second, o, w);
          const planner::SequenceCost cost = paid + policy.Change(state.second, to) + policy.Work(o, w);
          const auto [it, is_new] = next.try_emplace({state.first | std::uint64_t{1} << o, to}, cost);
          if (!is_new) it->second = std::min(it->second, cost);
        }
      }
    }
    layer = std::move(next);
  }
  for (const auto& [state, paid] : layer) result.cost = std::min(result.cost.value_or(paid), paid);
  return result;
}

}  // namespace fitwright::bench
