// The examples' own plans, spoiled at every step: each fault is caught and named, or shown
// harmless.
#include <gtest/gtest.h>

#include <cstdlib>
#include <iostream>
#include <memory>

#include "fitwright/files/project.h"
#include "fitwright/planner/planner.h"
#include "tests/support/corrupt.h"

namespace fitwright {
namespace {

// The plan that `plan` chooses, its odds from fewer virtual builds: they do not matter here.
Result<Plan> PlanOf(const files::Project& project) {
  planner::PlannerOptions options;
  options.final_builds = 1000;
  return planner::MakePlan(project.machine, project.shop, project.choices, options);
}

void ExpectSound(const std::string& example, std::size_t shard, std::size_t shards) {
  Diagnostics faults;
  const auto project =
      files::LoadProject(std::string(FITWRIGHT_SOURCE_DIR) + "/examples/" + example, {}, faults);
  ASSERT_TRUE(project) << Format(project.error());
  const auto plan = PlanOf(*project);
  ASSERT_TRUE(plan) << Format(plan.error());
  corrupt::RunCorruptionsOptions options;
  options.shard = shard;
  options.shards = shards;
  const auto results = corrupt::RunCorruptions(project->machine, project->shop, *plan, options);
  ASSERT_TRUE(results) << Format(results.error());
  EXPECT_GT(results->size(), 5U);
  std::size_t caught = 0;
  for (const corrupt::CorruptionResult& r : *results) {
    EXPECT_TRUE(r.sound()) << r.fault << " at " << r.where << ": " << r.say;
    caught += r.caught ? 1 : 0;
  }
  EXPECT_GT(2 * caught, results->size());
  std::cout << corrupt::Summary(*results, false);
}

// FITWRIGHT_DEEP=1 in the environment: all of them, else every third.
bool Deep() { return std::getenv("FITWRIGHT_DEEP") != nullptr; }

constexpr std::size_t kBushedShards = 4;
class BushedBlock : public testing::TestWithParam<std::size_t> {};
TEST_P(BushedBlock, FaultsAreCaughtOrHarmless) {
  ExpectSound("bushed-block", GetParam(), (Deep() ? 1 : 3) * kBushedShards);
}
INSTANTIATE_TEST_SUITE_P(Share, BushedBlock, testing::Range(std::size_t{0}, kBushedShards));

constexpr std::size_t kCompressorShards = 24;
class Compressor : public testing::TestWithParam<std::size_t> {};
TEST_P(Compressor, FaultsAreCaughtOrHarmless) {
  if (!Deep()) GTEST_SKIP() << "long; FITWRIGHT_DEEP=1 runs it";
  ExpectSound("compressor-core", GetParam(), kCompressorShards);
}
INSTANTIATE_TEST_SUITE_P(Share, Compressor, testing::Range(std::size_t{0}, kCompressorShards));

}  // namespace
}  // namespace fitwright
