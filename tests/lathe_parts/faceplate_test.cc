// Plates on the faceplate: where neither the mill nor the four-jaw bores them, and what the replay
// asks of it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "fitwright/replay/rules.h"
#include "tests/support/lathe_parts.h"

namespace fitwright {
namespace {

using namespace lathe_parts;  // NOLINT: test helpers

fitwright::Setup* OnFaceplate(Plan& plan) {
  for (fitwright::Setup& setup : plan.setups) {
    if (setup.holding == HoldingKind::kFaceplate) return &setup;
  }
  return nullptr;
}

std::string JudgedOnFaceplate(const Plan& plan) {
  const auto report = replay::Replay(MachineOf(MountPlate()), WithoutBoringHead(), plan);
  return report ? TextOf(*report) : Format(report.error());
}

TEST(Faceplate, TakesAThinPlateForALargeBore) {
  Made made = MakeAndReplay(MountPlate(), WithoutBoringHead());
  ASSERT_TRUE(made.ok) << made.text;
  fitwright::Setup* setup = OnFaceplate(made.plan);
  ASSERT_NE(setup, nullptr) << made.text;
  for (const Step& step : setup->steps)
    EXPECT_LE(step.rpm, replay::kMostUnbalanced_rpm) << step.words;
  EXPECT_THAT(setup->cautions, testing::Contains(testing::HasSubstr("counterweight")));
  EXPECT_GT(setup->parallels_mm, 0);  // the bore is wider than the plate's own
}

TEST(Faceplate, WithAFourJawThatTakesItTheChuckIsUsed) {
  Made made = MakeAndReplay(GuideBlock(), WithoutBoringHead());
  ASSERT_TRUE(made.ok) << made.text;
  EXPECT_EQ(OnFaceplate(made.plan), nullptr) << made.text;
}

TEST(Faceplate, SpoiledPlansAreCaught) {
  Made made = MakeAndReplay(MountPlate(), WithoutBoringHead());
  ASSERT_TRUE(made.ok) << made.text;
  const auto spoiled = [&](const auto& spoil) {
    Plan plan = made.plan;
    spoil(*OnFaceplate(plan));
    return JudgedOnFaceplate(plan);
  };
  const auto one_side = [](fitwright::Setup& s) {
    const auto first =
        std::find_if(s.fixtures.begin(), s.fixtures.end(),
                     [](const FixtureSolid& f) { return f.role == FixtureRole::kClamp; });
    s.fixtures.erase(first);
  };
  EXPECT_THAT(spoiled(one_side), testing::HasSubstr("grip_missing"));
  const auto unpacked = [](fitwright::Setup& s) {
    std::erase_if(s.fixtures,
                  [](const FixtureSolid& f) { return f.role == FixtureRole::kParallel; });
  };
  EXPECT_THAT(spoiled(unpacked), testing::HasSubstr("not_supported"));
  const auto flat_on_it = [](fitwright::Setup& s) {
    std::erase_if(s.fixtures,
                  [](const FixtureSolid& f) { return f.role == FixtureRole::kParallel; });
    for (FixtureSolid& f : s.fixtures) {
      if (f.role != FixtureRole::kFaceplate) continue;
      auto& plate = std::get<FixtureCylinder>(f.shape);
      plate.from_mm += s.parallels_mm;
      plate.to_mm += s.parallels_mm;
      f.supports = true;
    }
  };
  EXPECT_THAT(spoiled(flat_on_it), testing::HasSubstr("fixture_cut"));
  const auto fast = [](fitwright::Setup& s) {
    for (Step& step : s.steps) {
      if (!step.path.empty()) step.rpm = 760;
    }
  };
  EXPECT_THAT(spoiled(fast), testing::HasSubstr("speed_not_on_machine"));
  const auto strap_in = [](fitwright::Setup& s) {
    for (FixtureSolid& f : s.fixtures) {
      if (f.role != FixtureRole::kClamp) continue;
      auto& box = std::get<FixtureBox>(f.shape).box_F;
      box.min_mm.x() = std::min(box.min_mm.x(), 0.0);
      box.max_mm.x() = std::max(box.max_mm.x(), 0.0);
      box.min_mm.y() = std::min(box.min_mm.y(), 0.0);
      box.max_mm.y() = std::max(box.max_mm.y(), 0.0);
    }
  };
  EXPECT_THAT(spoiled(strap_in), testing::HasSubstr("fixture_cut"));
}

}  // namespace
}  // namespace fitwright
