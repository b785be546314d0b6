// The search over orders of operations: the cheapest order, or the best found and a bound that none is below.
//
// One class for every kind of order; what it costs is a policy's business. A policy says
//   operations(), before(o)      how many there are, and which others operation o waits for
//   ways(o), Work(o, w)          the ways to do one, and the least-cost part of each that no order changes
//   start(), After(at, o, w)     how the shop stands at first and once way w is set up; places are plain numbers
//   Change(from, to)             cost of changing over; nothing for the same place, and never more than by way of a third
//   resources(), Fee(r), Uses(o, w), Held(at)   what a way needs at hand, what the place has at hand; a place that lacks
//                                it is changed to at its fee or more (at most four a way)
//   Keeps(o, w, r)               whether what was at hand still is when way w is done
//   Forgiven(at)                 so much of the fees is not charged from here on (what is first up costs nothing)
// Costs are whole numbers in the policy's own unit.
//
// Exact best-first with dominance while its states can be kept (sequence_exploration.h); then a neighbourhood at a
// time: most operations stay in the order of the best known, the rest are placed anew, exactly. Deterministic for a
// given seed; work is counted in states expanded.
#pragma once

#include <concepts>

#include "fitwright/planner/sequence_exploration.h"
#include "fitwright/stats/random.h"

namespace fitwright::planner {

template <typename P>
concept SequencePolicy = requires(const P& p, std::size_t o, std::size_t w, SequencePlace at, std::uint32_t r) {
  { p.operations() } -> std::convertible_to<std::size_t>;
  { p.before(o) } -> std::convertible_to<std::span<const std::size_t>>;
  { p.ways(o) } -> std::convertible_to<std::size_t>;
  { p.Work(o, w) } -> std::convertible_to<SequenceCost>;
  { p.start() } -> std::convertible_to<SequencePlace>;
  { p.After(at, o, w) } -> std::convertible_to<SequencePlace>;
  { p.Change(at, at) } -> std::convertible_to<SequenceCost>;
  { p.resources() } -> std::convertible_to<std::size_t>;
  { p.Fee(r) } -> std::convertible_to<SequenceCost>;
  { p.Uses(o, w) } -> std::convertible_to<std::span<const std::uint32_t>>;
  { p.Held(at) } -> std::convertible_to<std::span<const std::uint32_t>>;
  { p.Keeps(o, w, r) } -> std::convertible_to<bool>;
  { p.Forgiven(at) } -> std::convertible_to<SequenceCost>;
};

struct SequenceOptions {
  WorkOptions work;                       // budget counts states expanded; 0 = 200000
  std::size_t most_states = 4'000'000;    // kept at once, about 60 bytes each
  std::uint64_t seed = 1;
};

struct SequenceResult {
  std::vector<SequenceStep> steps;  // empty: they wait for each other in a circle
  SequenceCost cost = 0;
  SequenceCost bound = 0;           // no order costs less
  std::int64_t expanded = 0;        // states, in all
  bool proved() const { return bound >= cost; }
};

template <SequencePolicy Policy>
class SequenceSearch {
 public:
  // The policy must outlive it.
  SequenceSearch(const Policy& policy, const SequenceOptions& options) : policy_(policy), options_(options) {
    if (options_.work.budget == 0) options_.work.budget = kBudget;
    words_ = (policy.operations() + 63) / 64;
    for (std::size_t o = 0; o < policy_.operations(); ++o) {
      before_.emplace_back(words_, 0);
      for (const std::size_t b : policy_.before(o)) Insert(before_.back(), b);
    }
  }

  SequenceResult Run() {
    SequenceResult result;
    if (policy_.operations() == 0) return result;
    result.cost = std::numeric_limits<SequenceCost>::max();
    SequenceExploration<Policy> whole(policy_, before_, result.cost, options_.most_states);
    whole.FindFirst();
    TakeBest(whole, result);
    for (std::int64_t slice = kSlice; !whole.proved() && !whole.full() && LeftOf(result, whole) > 0; slice *= 2) {
      whole.Run(std::min(slice, LeftOf(result, whole)), options_.work.cancel);
      TakeBest(whole, result);
      if (result.steps.empty() || whole.proved() || Cancelled()) break;
      Improve(result, whole, std::min(slice, LeftOf(result, whole)));
    }
    if (!whole.proved() && !result.steps.empty()) Improve(result, whole, LeftOf(result, whole));
    result.bound = result.steps.empty() ? 0 : std::min(whole.lower(), result.cost);
    if (result.steps.empty()) result.cost = 0;
    result.expanded += whole.expanded();
    return result;
  }

 private:
  static constexpr std::int64_t kBudget = 200'000;
  static constexpr std::int64_t kSlice = 2048;        // expanded before the first neighbourhood
  static constexpr std::int64_t kNeighbourhood = 512;  // and at most in each

  bool Cancelled() const { return options_.work.cancelled(); }

  // result.expanded counts the neighbourhoods' until the end.
  std::int64_t LeftOf(const SequenceResult& result, const SequenceExploration<Policy>& whole) const {
    return options_.work.budget - result.expanded - whole.expanded();
  }

  static void TakeBest(const SequenceExploration<Policy>& from, SequenceResult& result) {
    if (from.best().empty() || from.limit() >= result.cost) return;
    result.cost = from.limit();
    result.steps = from.best();
  }

  // Neighbourhoods of the best order known, one after the other, of growing size while none helps.
  void Improve(SequenceResult& result, SequenceExploration<Policy>& whole, std::int64_t budget) {
    const std::int64_t end = result.expanded + budget;
    while (result.expanded < end && !Cancelled()) {
      const OperationSet free = ChooseFree(result.steps);
      SequenceExploration<Policy> near(policy_, Chained(result.steps, free), result.cost, options_.most_states);
      near.Run(std::min(kNeighbourhood, end - result.expanded), options_.work.cancel);
      result.expanded += std::max<std::int64_t>(1, near.expanded());
      const SequenceCost before = result.cost;
      TakeBest(near, result);
      failures_ = result.cost < before ? 0 : failures_ + 1;
      whole.Know(result.cost);
      if (whole.proved()) return;
    }
  }

  double Draw() { return stats::Uniform(stats::StreamKey(options_.seed, 0), draws_++); }
  std::size_t DrawBelow(std::size_t count) { return std::min(count - 1, static_cast<std::size_t>(Draw() * static_cast<double>(count))); }

  // A stretch of the order, or operations here and there.
  OperationSet ChooseFree(const std::vector<SequenceStep>& steps) {
    OperationSet free(words_, 0);
    const std::size_t n = steps.size();
    const std::size_t count = std::min(n, 5 + std::min<std::size_t>(failures_ / 16, 15));
    const std::size_t first = DrawBelow(n);
    const bool stretch = draws_ % 2 == 0;
    for (std::size_t i = 0; i < count; ++i) Insert(free, steps[stretch ? (first + i) % n : DrawBelow(n)].operation);
    return free;
  }

  // What waits for what where all but the free ones keep their order.
  std::vector<OperationSet> Chained(const std::vector<SequenceStep>& steps, const OperationSet& free) const {
    std::vector<OperationSet> before = before_;
    std::optional<std::size_t> last;
    for (const SequenceStep& step : steps) {
      if (Contains(free, step.operation)) continue;
      if (last) Insert(before[step.operation], *last);
      last = step.operation;
    }
    return before;
  }

  const Policy& policy_;
  SequenceOptions options_;
  std::size_t words_ = 0;
  std::vector<OperationSet> before_;
  std::size_t failures_ = 0;
  std::uint64_t draws_ = 0;
};

}  // namespace fitwright::planner
