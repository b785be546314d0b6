#include "fitwright/replay/replay.h"

#include <gtest/gtest.h>

#include "tests/support/replay_samples.h"

namespace fitwright {
namespace {

using replay::Replay;

std::string AllOf(const ReplayReport& report) {
  std::string text;
  for (const ReplayPart& part : report.parts) {
    text +=
        fmt::format("{}: steps {} design {} made {} difference {}\n", part.name.text(), part.steps,
                    part.design_volume_mm3, part.made_volume_mm3, part.difference_mm3);
    for (const ReplayViolation& v : part.violations) {
      text += fmt::format("  {} {}: {}\n", v.step.text(), v.rule, v.say);
    }
  }
  return text;
}

TEST(Replay, SampleIsMadeWithoutABrokenRule) {
  const Shop shop = samples::SampleShop();
  const auto report = Replay(samples::SampleMachine(), shop, samples::SamplePlan(shop));
  ASSERT_TRUE(report) << Format(report.error());
  EXPECT_TRUE(report->ok) << AllOf(*report);
}

}  // namespace
}  // namespace fitwright
