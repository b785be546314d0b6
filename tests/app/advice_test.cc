// Each sentence of advice, tried out as a builder would: its pins put into choices.toml, planned again.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>

#include "fitwright/files/plan_json.h"
#include "tests/app/run_program.h"

namespace fitwright::app {
namespace {

std::string ChoicesToml(const std::vector<Pin>& pins) {
  std::string text = "format = \"fitwright-choices/1\"\n";
  for (const Pin& pin : pins) {
    text += fmt::format("[[pin]]\nkind = \"{}\"\nsubject = \"{}\"\nvalue = \"{}\"\n", WordOf(pin.kind), pin.subject, pin.value);
    if (pin.first > 0) text += fmt::format("first = {}\n", pin.first);
  }
  return text;
}

class AdviceTried {
 public:
  explicit AdviceTried(const std::string& example) : example_(example), dir_(folder_.Example(example)) {}

  std::optional<Plan> PlanWith(const std::vector<Pin>& pins) {
    fs::remove(dir_ / "choices.toml");
    if (!pins.empty()) WriteFile(dir_ / "choices.toml", ChoicesToml(pins));
    const Ran ran = folder_.Run("plan " + example_ + " --json");
    EXPECT_EQ(ran.status, 0) << ran.err;
    auto plan = files::PlanFromJson(ran.out, "plan.json");
    EXPECT_TRUE(plan);
    return plan ? std::optional(*plan) : std::nullopt;
  }

  // With its own pins the plan is the one that stands; with those of the other way, the other figures come.
  // Seed and builds are the same, so they are the same to the last digit written.
  void Try(const Plan& plan, const Advice& advice) {
    SCOPED_TRACE(advice.say);
    ASSERT_FALSE(advice.pins.empty());
    ASSERT_FALSE(advice.other.empty());
    const auto with = PlanWith(advice.pins);
    const auto without = PlanWith(advice.other);
    ASSERT_TRUE(with && without);
    EXPECT_NEAR(with->odds.all.odds, advice.odds_after, 1e-9);
    EXPECT_NEAR(with->hours_cutting, plan.hours_cutting, 1e-9);
    EXPECT_NEAR(without->odds.all.odds, advice.odds_before, 1e-9);
    EXPECT_NEAR(60 * (plan.hours_cutting - without->hours_cutting), advice.minutes_delta, 1e-6);
    const double gain = advice.odds_after - advice.odds_before;
    EXPECT_LE(advice.gain_low, gain);
    EXPECT_GE(advice.gain_high, gain);
    EXPECT_TRUE(advice.gain_low > 0 || advice.gain_high < 0 || std::abs(advice.minutes_delta) >= 5);
  }

 private:
  Folder folder_;
  std::string example_;
  fs::path dir_;
};

TEST(Advice, OfTheBushedBlockComesTrueWhenPinned) {
  AdviceTried tried("bushed-block");
  const auto plan = tried.PlanWith({});
  ASSERT_TRUE(plan);
  ASSERT_FALSE(plan->advice.empty());
  for (const Advice& advice : plan->advice) tried.Try(*plan, advice);
}

TEST(Advice, OfTheCompressorSaysFiveThings) {
  AdviceTried tried("airbrush-compressor");
  const auto plan = tried.PlanWith({});
  ASSERT_TRUE(plan);
  EXPECT_GE(plan->advice.size(), 5U);
  const char* deep = std::getenv("FITWRIGHT_DEEP");
  for (const Advice& advice : plan->advice) {
    if (deep != nullptr && std::string(deep) == "1") tried.Try(*plan, advice);
  }
}

}  // namespace
}  // namespace fitwright::app
