// The search over orders against brute force, a textbook dynamic programme and published instances.
#include "fitwright/planner/sequence_search.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <bit>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "bench/sequence_table.h"
#include "bench/sequencing.h"
#include "tests/sequence/random_sequence.h"

namespace fitwright::planner {
namespace {

// Every order in every way, with nothing left out.
template <typename Policy>
void TryAll(const Policy& policy, std::uint64_t done, SequencePlace at, SequenceCost paid, std::optional<SequenceCost>& best) {
  bool any = false;
  for (std::size_t o = 0; o < policy.operations(); ++o) {
    const auto& before = policy.before(o);
    if ((done >> o & 1U) != 0) continue;
    any = true;
    if (!std::all_of(before.begin(), before.end(), [&](std::size_t b) { return (done >> b & 1U) != 0; })) continue;
    for (std::size_t w = 0; w < policy.ways(o); ++w) {
      const SequencePlace to = policy.After(at, o, w);
      TryAll(policy, done | std::uint64_t{1} << o, to, paid + policy.Change(at, to) + policy.Work(o, w), best);
    }
  }
  if (!any) best = std::min(best.value_or(paid), paid);
}

template <typename Policy>
std::optional<SequenceCost> LeastByTryingAll(const Policy& policy, std::uint64_t done, SequencePlace at) {
  std::optional<SequenceCost> best;
  TryAll(policy, done, at, 0, best);
  return best;
}

// What an order costs; nothing when it leaves one out or does it too early.
template <typename Policy>
std::optional<SequenceCost> CostOf(const Policy& policy, const std::vector<SequenceStep>& steps) {
  OperationSet done((policy.operations() + 63) / 64, 0);
  SequencePlace at = policy.start();
  SequenceCost cost = 0;
  for (const SequenceStep& step : steps) {
    for (const std::size_t b : policy.before(step.operation)) {
      if (!Contains(done, b)) return std::nullopt;
    }
    if (Contains(done, step.operation)) return std::nullopt;
    Insert(done, step.operation);
    const SequencePlace to = policy.After(at, step.operation, step.way);
    cost += policy.Change(at, to) + policy.Work(step.operation, step.way);
    at = to;
  }
  if (steps.size() != policy.operations()) return std::nullopt;
  return cost;
}

SequenceBound BoundOf(const RandomSequence& policy) {
  std::vector<SequenceCost> fees;
  for (std::uint32_t r = 0; r < policy.resources(); ++r) fees.push_back(policy.Fee(r));
  std::vector<std::vector<SequenceBound::Way>> ways(policy.operations());
  std::vector<OperationSet> before(policy.operations(), OperationSet(1, 0));
  for (std::size_t o = 0; o < ways.size(); ++o) {
    for (const std::size_t b : policy.before(o)) Insert(before[o], b);
    for (std::size_t w = 0; w < policy.ways(o); ++w) ways[o].push_back({policy.Work(o, w), 2, {policy.Uses(o, w)[0], policy.Uses(o, w)[1]}});
  }
  std::vector<OperationSet> takers(policy.resources(), OperationSet(1, 0));
  for (std::uint32_t r = 0; r < takers.size(); ++r) {
    for (std::size_t o = 0; o < ways.size(); ++o) {
      bool keeps = false;
      for (std::size_t w = 0; w < policy.ways(o); ++w) keeps = keeps || policy.Keeps(o, w, r);
      if (!keeps) Insert(takers[r], o);
    }
  }
  return {std::move(ways), before, std::move(fees), std::move(takers)};
}

std::vector<bench::SequencingInstance> AllInstances() {
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator(FITWRIGHT_SOURCE_DIR "/bench/instances")) files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  std::vector<bench::SequencingInstance> instances;
  for (const auto& file : files) instances.push_back(bench::ReadInstance(file));
  return instances;
}

TEST(SequenceSearch, FindsAndProvesWhatTryingAllFinds) {
  for (std::uint64_t seed = 0; seed < 150; ++seed) {
    const RandomSequence policy(seed, 3 + seed % 4);
    const SequenceResult result = SequenceSearch(policy, {}).Run();
    EXPECT_EQ(result.cost, LeastByTryingAll(policy, 0, policy.start())) << seed;
    EXPECT_TRUE(result.proved()) << seed;
    EXPECT_EQ(CostOf(policy, result.steps), result.cost) << seed;
  }
}

TEST(SequenceSearch, AgreesWithTheDynamicProgramme) {
  for (std::uint64_t seed = 1000; seed < 1040; ++seed) {
    const RandomSequence policy(seed, 11);
    const SequenceResult result = SequenceSearch(policy, {}).Run();
    EXPECT_EQ(result.cost, bench::SequenceByTable(policy, 1'000'000).cost) << seed;
    EXPECT_TRUE(result.proved()) << seed;
  }
}

// From every place and with everything finished that can be by then.
TEST(SequenceBound, IsNeverAboveTheCheapestOrderOfWhatIsLeft) {
  double tightness = 0;
  int compared = 0;
  for (std::uint64_t seed = 0; seed < 60; ++seed) {
    const RandomSequence policy(seed, 6);
    SequenceBound bound = BoundOf(policy);
    for (std::uint64_t done = 0; done < 63; ++done) {
      bool closed = true;
      for (std::size_t o = 0; o < 6; ++o) {
        for (const std::size_t b : policy.before(o)) closed = closed && ((done >> o & 1U) == 0 || (done >> b & 1U) != 0);
      }
      if (!closed || std::popcount(done) < 2) continue;
      for (SequencePlace at = 1; at <= 6; ++at) {
        const SequenceCost least = *LeastByTryingAll(policy, done, at);
        const SequenceCost found = bound.Calc(std::span(&done, 1), policy.Held(at));
        EXPECT_LE(found, least) << seed << " " << done << " " << at;
        tightness += static_cast<double>(found) / static_cast<double>(least);
        ++compared;
      }
    }
  }
  EXPECT_GT(tightness / compared, 0.9);
}

// a with one tool, b with another, c with the first again: it is put in twice, unless b leaves it where it is.
TEST(SequenceBound, CountsAgainWhatMustComeBack) {
  const SequenceBound::Way by_first{10, 1, {0}};
  const SequenceBound::Way by_second{10, 1, {1}};
  const OperationSet none(1, 0);
  const std::vector<std::vector<SequenceBound::Way>> ways = {{by_first}, {by_second}, {by_first}};
  const std::vector<OperationSet> chain = {none, {1}, {2}};
  const std::vector<OperationSet> others = {{2}, {5}};
  SequenceBound chained(ways, chain, {100, 50}, others);
  SequenceBound loose(ways, {none, none, none}, {100, 50}, others);
  SequenceBound left_alone(ways, chain, {100, 50}, {none, none});
  const std::vector<std::uint32_t> first = {0};
  EXPECT_EQ(chained.Calc(none, {}), 30 + 100 + 50 + 100);
  EXPECT_EQ(chained.Calc(none, first), 30 + 50 + 100);
  EXPECT_EQ(loose.Calc(none, {}), 30 + 100 + 50);
  EXPECT_EQ(left_alone.Calc(none, {}), 30 + 100 + 50);
}

TEST(SequenceSearch, WhatWaitsInACircleHasNoOrder) {
  RandomSequence policy(1, 5);
  policy.WaitFor(0, 4);
  policy.WaitFor(4, 0);
  const SequenceResult result = SequenceSearch(policy, {}).Run();
  EXPECT_TRUE(result.steps.empty());
}

// Whatever the budget: an order of the cost that is said, a bound below it, and no worse with more work.
TEST(SequenceSearch, IsSoundHoweverEarlyItIsStopped) {
  const RandomSequence policy(7, 40);
  SequenceCost last = std::numeric_limits<SequenceCost>::max();
  SequenceCost last_bound = 0;
  for (const std::int64_t budget : {60, 300, 6000, 30000}) {
    SequenceOptions options;
    options.work.budget = budget;
    const SequenceResult result = SequenceSearch(policy, options).Run();
    EXPECT_EQ(CostOf(policy, result.steps), result.cost);
    EXPECT_LE(result.bound, result.cost);
    EXPECT_LE(result.cost, last);
    EXPECT_GE(result.bound, last_bound);
    EXPECT_LE(result.expanded, budget + 50);  // and one dive to the end
    EXPECT_EQ(SequenceSearch(policy, options).Run().steps, result.steps);
    last = result.cost;
    last_bound = result.bound;
  }
}

TEST(SequenceSearch, KeepsNoMoreStatesThanItMay) {
  const RandomSequence policy(7, 40);
  SequenceOptions options;
  options.most_states = 500;
  options.work.budget = 6000;
  const SequenceResult result = SequenceSearch(policy, options).Run();
  EXPECT_EQ(CostOf(policy, result.steps), result.cost);
  EXPECT_LE(result.bound, result.cost);
}

TEST(SequenceSearch, StopsWhenCancelled) {
  const RandomSequence policy(7, 40);
  CancelFlag cancel;
  cancel.Cancel();
  SequenceOptions options;
  options.work.cancel = &cancel;
  const SequenceResult result = SequenceSearch(policy, options).Run();
  EXPECT_LT(result.expanded, 100);
  EXPECT_EQ(CostOf(policy, result.steps), result.cost);
}

TEST(SequencingInstances, PrintedPlansCostWhatIsPrinted) {
  int plans = 0;
  for (const bench::SequencingInstance& instance : AllInstances()) {
    for (const bench::SequencingCase& run : instance.cases) {
      if (run.plan.empty()) continue;
      EXPECT_EQ(bench::SequencingPolicy(instance, run).CostOf(run.plan), run.optimum) << run.name;
      ++plans;
    }
  }
  EXPECT_EQ(plans, 8);
}

TEST(SequencingInstances, ThirtyOperationsAndFewerAreProvedOptimal) {
  int proved = 0;
  for (const bench::SequencingInstance& instance : AllInstances()) {
    if (instance.operations.size() > 30) continue;
    for (const bench::SequencingCase& run : instance.cases) {
      const bench::SequencingPolicy policy(instance, run);
      const SequenceResult result = SequenceSearch(policy, {}).Run();
      EXPECT_TRUE(result.proved()) << run.name;
      EXPECT_LT(result.expanded, 3000) << run.name;
      EXPECT_EQ(CostOf(policy, result.steps), result.cost) << run.name;
      if (run.optimum) { EXPECT_EQ(result.cost, *run.optimum) << run.name; }
      ++proved;
    }
  }
  EXPECT_EQ(proved, 11);
}

TEST(SequencingInstances, FortySixOperationsWithinFivePercentOfTheBound) {
  const bench::SequencingInstance instance = bench::ReadInstance(FITWRIGHT_SOURCE_DIR "/bench/instances/huang2017_46op.txt");
  const bench::SequencingPolicy policy(instance, instance.cases.front());
  SequenceOptions options;
  options.work.budget = 6000;
  const SequenceResult result = SequenceSearch(policy, options).Run();
  EXPECT_EQ(CostOf(policy, result.steps), result.cost);
  EXPECT_LE(static_cast<double>(result.cost), 1.05 * static_cast<double>(result.bound));
}

// The expansions are counted alike: one for each state whose successors are made.
TEST(SequencingInstances, FiveTimesFewerExpansionsThanTheDynamicProgramme) {
  for (const bench::SequencingInstance& instance : AllInstances()) {
    if (instance.operations.size() > 17) continue;
    const bench::SequencingPolicy policy(instance, instance.cases.front());
    const SequenceResult result = SequenceSearch(policy, {}).Run();
    const std::int64_t enough = 5 * result.expanded;
    EXPECT_GT(bench::SequenceByTable(policy, enough).expanded, enough) << instance.name;
  }
}

}  // namespace
}  // namespace fitwright::planner
