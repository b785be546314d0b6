// Threads that end hard by a shoulder: the die turned round for the last turns, and what the replay
// asks of it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/lathe_parts.h"

namespace fitwright {
namespace {

using namespace lathe_parts;  // NOLINT: test helpers

Part Stud(double full_thread_mm) {
  Part part = ShoulderStud();
  for (Feature& f : part.features) {
    if (auto* thread = std::get_if<ExternalThread>(&f.shape)) thread->length_mm = full_thread_mm;
  }
  return part;
}

Step* Threading(Plan& plan) {
  for (fitwright::Setup& setup : plan.setups) {
    for (Step& step : setup.steps) {
      if (step.operation == Operation::kThread) return &step;
    }
  }
  return nullptr;
}

std::string JudgedAtShoulder(const Part& part, const Plan& plan) {
  const auto report = replay::Replay(MachineOf(part), files::DefaultShop(), plan);
  return report ? TextOf(*report) : Format(report.error());
}

// The M6 die of the default shop begins with 2 mm of lead; 14 mm of blank to the shoulder.
TEST(Shoulder, TheDieIsTurnedRoundOnlyWhereItMustBe) {
  for (const auto& [full, pieces] : {std::pair(11.0, 1U), std::pair(13.0, 2U)}) {
    Made made = MakeAndReplay(Stud(full), files::DefaultShop());
    ASSERT_TRUE(made.ok) << made.text;
    const Step* step = Threading(made.plan);
    ASSERT_NE(step, nullptr);
    EXPECT_EQ(step->path.size(), pieces) << step->words;
    EXPECT_EQ(step->words.find("turn it round") != std::string::npos, pieces == 2) << step->words;
  }
}

TEST(Shoulder, FullThreadToTheShoulderItselfIsRefused) {
  const Made made = MakeAndReplay(Stud(14), files::DefaultShop());
  EXPECT_FALSE(made.ok);
  EXPECT_THAT(made.text, testing::HasSubstr("a die turned round wants"));
}

TEST(Shoulder, ADieThatIsNotTurnedOrHasNothingToFollowIsCaught) {
  const Part part = Stud(13);
  const Made made = MakeAndReplay(part, files::DefaultShop());
  ASSERT_TRUE(made.ok) << made.text;
  Plan not_turned = made.plan;
  Step* step = Threading(not_turned);
  step->path.erase(step->path.begin());
  step->coordinates.erase(step->coordinates.begin());
  EXPECT_THAT(JudgedAtShoulder(part, not_turned), testing::HasSubstr("not_threaded"));
  Plan unstarted = made.plan;
  step = Threading(unstarted);
  step->path.front().points_S_mm.front().z() += 12;
  step->coordinates.front().z_mm += 12;
  EXPECT_THAT(JudgedAtShoulder(part, unstarted), testing::HasSubstr("path_impossible"));
  Plan too_deep = made.plan;
  step = Threading(too_deep);
  step->path.back().points_S_mm.front().z() -= 1;
  step->coordinates.back().z_mm -= 1;
  EXPECT_THAT(JudgedAtShoulder(part, too_deep), testing::HasSubstr("holder_collision"));
}

}  // namespace
}  // namespace fitwright
