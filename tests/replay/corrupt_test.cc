#include "tests/support/corrupt.h"

#include <gtest/gtest.h>

#include <set>

#include "tests/support/replay_samples.h"

namespace fitwright {
namespace {

TEST(Corrupt, EveryFaultInTheSamplePlanIsCaughtOrHarmless) {
  const Shop shop = samples::SampleShop();
  const auto results =
      corrupt::RunCorruptions(samples::SampleMachine(), shop, samples::SamplePlan(shop));
  ASSERT_TRUE(results) << Format(results.error());
  std::set<std::string> faults;
  int caught = 0;
  for (const corrupt::CorruptionResult& r : *results) {
    faults.insert(r.fault);
    caught += r.caught ? 1 : 0;
    EXPECT_TRUE(r.sound()) << r.fault << " at " << r.where << ": " << r.say;
    EXPECT_TRUE(!r.caught || !r.rule.empty());
  }
  std::cout << corrupt::Summary(*results, true);
  if (corrupt::AllFaultsRun()) {
    EXPECT_GE(faults.size(), 20U);
  }
  EXPECT_GT(caught, static_cast<int>(results->size() * 2 / 3));
}

}  // namespace
}  // namespace fitwright
