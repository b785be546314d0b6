// Best-first over the states of an order of operations: (what is finished, how the shop stands). Private to
// sequence_search.h, which says what a cost policy is.
//
// A state is left out when one with the same operations finished costs no more after changing over to it, or when what
// is paid and the bound on the rest reach the best order known. What costs its least work and no change where the shop
// stands is done at once: by the triangle inequality no order gains by putting it off.
#pragma once

#include <algorithm>
#include <bit>
#include <optional>
#include <queue>
#include <tuple>
#include <vector>

#include "fitwright/base/check.h"
#include "fitwright/base/progress.h"
#include "fitwright/planner/sequence_bound.h"

namespace fitwright::planner {

using SequencePlace = std::uint64_t;

struct SequenceStep {
  std::size_t operation = 0;
  std::size_t way = 0;
  friend bool operator==(const SequenceStep&, const SequenceStep&) = default;
};

template <typename Policy>
class SequenceExploration {
 public:
  // `before`: what each operation waits for. Only orders cheaper than `limit` are looked for.
  SequenceExploration(const Policy& policy, std::vector<OperationSet> before, SequenceCost limit, std::size_t most_states)
      : policy_(policy), before_(std::move(before)), bound_(MakeBound(policy, before_)), limit_(limit), most_states_(most_states),
        words_((policy.operations() + 63) / 64) {
    least_.resize(policy.operations());
    for (std::size_t o = 0; o < least_.size(); ++o) FindLeast(o);
    slots_.assign(1024, kNone);
    Begin();
  }

  // Follows the most promising child to the end, so that an order is at hand; none where they wait in a circle. From
  // then on now and again also from where the search is.
  void FindFirst() {
    dives_ = true;
    if (!open_.empty()) Dive(open_.top().node);
  }

  // Looks on until the best is proved, `budget` more states are expanded, no more can be kept, or it is cancelled.
  void Run(std::int64_t budget, const CancelFlag* cancel) {
    const std::int64_t end = expanded_ + budget;
    while (!open_.empty()) {
      const Open top = open_.top();
      if (nodes_[top.node].gone) {
        open_.pop();
        continue;
      }
      lower_ = std::max(lower_, top.least);
      if (lower_ >= limit_ || expanded_ >= end || nodes_.size() >= most_states_) return;
      if (cancel != nullptr && cancel->cancelled()) return;
      open_.pop();
      if (dives_ && ++popped_ >= kFirstDive && std::has_single_bit(static_cast<std::uint64_t>(popped_))) Dive(top.node);
      Expand(top.node);
    }
    lower_ = limit_;
  }

  // An order found elsewhere: only cheaper ones are of interest from now on.
  void Know(SequenceCost cost) { limit_ = std::min(limit_, cost); }

  bool proved() const { return lower_ >= limit_; }
  bool full() const { return nodes_.size() >= most_states_; }
  SequenceCost limit() const { return limit_; }
  SequenceCost lower() const { return std::min(lower_, limit_); }  // none that costs less exists
  const std::vector<SequenceStep>& best() const { return best_; }  // the one that costs limit(), if found here
  std::int64_t expanded() const { return expanded_; }

 private:
  static constexpr std::uint32_t kNone = std::numeric_limits<std::uint32_t>::max();
  struct State {
    OperationSet done;
    SequencePlace at = {};
    SequenceCost paid = 0;
    std::size_t count = 0;
  };
  struct Node {
    SequencePlace at = {};
    SequenceCost paid = 0;
    SequenceCost least = 0;    // of a whole order through here
    std::uint32_t parent = kNone;
    std::uint32_t step = 0;    // operation * kWays + way that led here
    std::uint32_t next = kNone;  // with the same operations finished
    std::uint16_t count = 0;
    bool gone = false;         // another does no worse
  };
  struct Open {
    SequenceCost least = 0;
    std::uint16_t count = 0;
    std::uint32_t node = 0;
    // The least first, then the furthest, then the first found.
    friend bool operator<(const Open& a, const Open& b) {
      return std::tuple(-a.least, a.count, b.node) < std::tuple(-b.least, b.count, a.node);
    }
  };
  struct Child {
    State state;
    SequenceStep step;
    SequenceCost least = 0;
  };
  static constexpr std::uint32_t kWays = 1U << 12U;
  static constexpr std::int64_t kFirstDive = 64;  // states looked at before the second

  static SequenceBound MakeBound(const Policy& policy, const std::vector<OperationSet>& before) {
    std::vector<SequenceCost> fees;
    for (std::uint32_t r = 0; r < policy.resources(); ++r) fees.push_back(policy.Fee(r));
    std::vector<std::vector<SequenceBound::Way>> ways(policy.operations());
    for (std::size_t o = 0; o < ways.size(); ++o) {
      for (std::size_t w = 0; w < policy.ways(o); ++w) {
        const std::span<const std::uint32_t> uses = policy.Uses(o, w);
        FW_CHECK(uses.size() <= SequenceBound::kMostUsed, uses.size());
        ways[o].push_back({policy.Work(o, w), uses.size(), {}});
        std::copy(uses.begin(), uses.end(), ways[o].back().resource.begin());
      }
    }
    return {std::move(ways), before, std::move(fees), FindTakers(policy)};
  }

  static std::vector<OperationSet> FindTakers(const Policy& policy) {
    std::vector<OperationSet> takers(policy.resources(), OperationSet((policy.operations() + 63) / 64, 0));
    for (std::uint32_t r = 0; r < takers.size(); ++r) {
      for (std::size_t o = 0; o < policy.operations(); ++o) {
        bool keeps = false;
        for (std::size_t w = 0; w < policy.ways(o) && !keeps; ++w) keeps = policy.Keeps(o, w, r);
        if (!keeps) Insert(takers[r], o);
      }
    }
    return takers;
  }

  void FindLeast(std::size_t operation) {
    Least& least = least_[operation];
    least.work = std::numeric_limits<SequenceCost>::max();
    for (std::size_t w = 0; w < policy_.ways(operation); ++w) {
      const SequenceCost work = policy_.Work(operation, w);
      if (work < least.work) least = {work, {}};
      if (work == least.work) least.ways.push_back(w);
    }
  }

  void Begin() {
    State start;
    start.done.assign(words_, 0);
    start.at = policy_.start();
    Close(start, nullptr);
    if (start.count == least_.size()) {
      Finish(start, {});
      return;
    }
    Keep(start, kNone, 0, CalcLeast(start));
  }

  bool IsReady(const State& state, std::size_t operation) const {
    const OperationSet& before = before_[operation];
    for (std::size_t i = 0; i < words_; ++i) {
      if ((before[i] & ~state.done[i]) != 0) return false;
    }
    return !Contains(state.done, operation);
  }

  void Do(State& state, SequenceStep step, std::vector<SequenceStep>* taken) const {
    const SequencePlace to = policy_.After(state.at, step.operation, step.way);
    state.paid += policy_.Change(state.at, to) + policy_.Work(step.operation, step.way);
    state.at = to;
    Insert(state.done, step.operation);
    ++state.count;
    if (taken != nullptr) taken->push_back(step);
  }

  std::optional<std::size_t> FreeWay(const State& state, std::size_t operation) const {
    for (const std::size_t w : least_[operation].ways) {
      if (policy_.After(state.at, operation, w) == state.at) return w;
    }
    return std::nullopt;
  }

  // Does all that costs nothing to do now.
  void Close(State& state, std::vector<SequenceStep>* taken) const {
    for (bool more = true; more;) {
      more = false;
      for (std::size_t o = 0; o < least_.size(); ++o) {
        if (Contains(state.done, o) || !IsReady(state, o)) continue;
        const auto way = FreeWay(state, o);
        if (!way) continue;
        Do(state, {o, *way}, taken);
        more = true;
      }
    }
  }

  SequenceCost CalcLeast(const State& state) {
    return state.paid + std::max<SequenceCost>(0, bound_.Calc(state.done, policy_.Held(state.at)) - policy_.Forgiven(state.at));
  }

  template <typename Use>
  void ForEachChild(const State& from, const Use& use) {
    ++expanded_;
    for (std::size_t o = 0; o < least_.size(); ++o) {
      if (!IsReady(from, o)) continue;
      for (std::size_t w = 0; w < policy_.ways(o); ++w) {
        scratch_ = from;
        Do(scratch_, {o, w}, nullptr);
        if (scratch_.paid >= limit_) continue;
        Close(scratch_, nullptr);
        use(scratch_, SequenceStep{o, w});
      }
    }
  }

  State StateOf(std::uint32_t node) const {
    State state;
    state.done.assign(sets_.begin() + static_cast<std::ptrdiff_t>(node * words_), sets_.begin() + static_cast<std::ptrdiff_t>((node + 1) * words_));
    state.at = nodes_[node].at;
    state.paid = nodes_[node].paid;
    state.count = nodes_[node].count;
    return state;
  }

  void Expand(std::uint32_t node) {
    const SequenceCost least = nodes_[node].least;
    ForEachChild(StateOf(node), [&](const State& state, SequenceStep step) {
      if (state.count == least_.size()) {
        std::vector<SequenceStep> steps = StepsTo(node);
        steps.push_back(step);
        Finish(state, steps);
        return;
      }
      if (IsDominated(state)) return;
      const SequenceCost through = std::max(least, CalcLeast(state));
      if (through < limit_) Keep(state, node, static_cast<std::uint32_t>(step.operation) * kWays + static_cast<std::uint32_t>(step.way), through);
    });
  }

  void Dive(std::uint32_t node) {
    std::vector<SequenceStep> steps = StepsTo(node);
    State state = StateOf(node);
    for (std::optional<Child> best; state.count < least_.size(); best.reset()) {
      ForEachChild(state, [&](const State& child, SequenceStep step) {
        const SequenceCost through = child.count == least_.size() ? child.paid : CalcLeast(child);
        if (!best || std::tuple(through, best->state.count) < std::tuple(best->least, child.count)) best = Child{child, step, through};
      });
      if (!best || best->least >= limit_) return;
      state = best->state;
      steps.push_back(best->step);
    }
    Finish(state, steps);
  }

  // The choices that led to a node; what was done at once after each is done again by Whole().
  std::vector<SequenceStep> StepsTo(std::uint32_t node) const {
    std::vector<SequenceStep> steps;
    for (; nodes_[node].parent != kNone; node = nodes_[node].parent) steps.push_back({nodes_[node].step / kWays, nodes_[node].step % kWays});
    std::reverse(steps.begin(), steps.end());
    return steps;
  }

  void Finish(const State& end, const std::vector<SequenceStep>& choices) {
    if (end.paid >= limit_) return;
    limit_ = end.paid;
    State state;
    state.done.assign(words_, 0);
    state.at = policy_.start();
    best_.clear();
    Close(state, &best_);
    for (const SequenceStep& step : choices) {
      Do(state, step, &best_);
      Close(state, &best_);
    }
  }

  std::uint64_t HashOf(const std::uint64_t* set) const {
    std::uint64_t hash = 0x9e3779b97f4a7c15ULL;
    for (std::size_t i = 0; i < words_; ++i) {
      hash = (hash ^ set[i]) * 0xff51afd7ed558ccdULL;
      hash ^= hash >> 32U;
    }
    return hash;
  }

  // Where nodes with these operations finished begin.
  std::size_t SlotOf(const std::uint64_t* set) const {
    std::size_t slot = HashOf(set) & (slots_.size() - 1);
    while (slots_[slot] != kNone && !std::equal(set, set + words_, sets_.begin() + static_cast<std::ptrdiff_t>(slots_[slot] * words_))) {
      slot = (slot + 1) & (slots_.size() - 1);
    }
    return slot;
  }

  void Grow() {
    std::vector<std::uint32_t> heads;
    for (const std::uint32_t head : slots_) {
      if (head != kNone) heads.push_back(head);
    }
    slots_.assign(slots_.size() * 2, kNone);
    for (const std::uint32_t head : heads) slots_[SlotOf(&sets_[head * words_])] = head;
  }

  bool IsDominated(const State& state) {
    for (std::uint32_t n = slots_[SlotOf(state.done.data())]; n != kNone; n = nodes_[n].next) {
      Node& node = nodes_[n];
      if (!node.gone && node.paid + policy_.Change(node.at, state.at) <= state.paid) return true;
    }
    return false;
  }

  void Keep(const State& state, std::uint32_t parent, std::uint32_t step, SequenceCost least) {
    const std::size_t slot = SlotOf(state.done.data());
    const std::uint32_t head = slots_[slot];
    for (std::uint32_t n = head; n != kNone; n = nodes_[n].next) {
      Node& node = nodes_[n];
      if (!node.gone && state.paid + policy_.Change(state.at, node.at) <= node.paid) node.gone = true;
    }
    const auto index = static_cast<std::uint32_t>(nodes_.size());
    nodes_.push_back({state.at, state.paid, least, parent, step, head, static_cast<std::uint16_t>(state.count), false});
    sets_.insert(sets_.end(), state.done.begin(), state.done.end());
    slots_[slot] = index;
    if (head == kNone && ++heads_ * 2 > slots_.size()) Grow();
    open_.push({least, static_cast<std::uint16_t>(state.count), index});
  }

  struct Least {
    SequenceCost work = 0;
    std::vector<std::size_t> ways;  // that cost it
  };

  const Policy& policy_;
  std::vector<OperationSet> before_;
  SequenceBound bound_;
  SequenceCost limit_;
  SequenceCost lower_ = std::numeric_limits<SequenceCost>::min();
  std::size_t most_states_;
  std::size_t words_;
  std::vector<Least> least_;
  std::vector<Node> nodes_;
  std::vector<std::uint64_t> sets_;   // of the nodes, words_ each
  std::vector<std::uint32_t> slots_;  // the last node of each set
  std::size_t heads_ = 0;
  std::priority_queue<Open> open_;
  std::vector<SequenceStep> best_;
  std::int64_t expanded_ = 0;
  std::int64_t popped_ = 0;
  bool dives_ = false;
  State scratch_;
};

}  // namespace fitwright::planner
