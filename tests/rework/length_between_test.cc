// Which length a measuring line means, and that it is no size.
#include "fitwright/rework/length_between.h"

#include <gtest/gtest.h>

#include "fitwright/rework/observation.h"
#include "tests/support/slow_seats.h"

namespace fitwright::rework {
namespace {

using namespace fitwright::testing;

// The block of the cover, its faces and bore as they came; the spigot made to suit the bore.
struct BoredBlock {
  Machine machine = CoverMachine();
  Shop shop = ShopWithOnly({{"turned_diameter", 0.012}, {"micrometer", 0.003}, {"caliper", 0.02}});
  Plan plan;
  FeatureRef bore{PartId("block"), FeatureId("bore")};

  BoredBlock() {
    for (Part& part : machine.parts) {
      for (Feature& feature : part.features) feature.finish = Finish::kAsSupplied;
    }
    machine.joints.clear();
    machine.requirements = {machine.requirements[1]};
    PlanBuilder b;
    b.AddSetup("block", "bench", HoldingKind::kBench, "", Pose::Identity());
    Measure(b.Cut(Operation::kMeasure, ""), 39.96, 40.06, "front down, up to the far wall of bore");
    Measure(b.Cut(Operation::kMeasure, ""), 30.000, 30.021, "the bore at two depths");
    Measure(b.Cut(Operation::kMeasure, ""), 11.9, 12.1, "what no two features are apart");
    FirstSeat(b, "cover", "lathe", HoldingKind::kThreeJaw, "chuck", Upright(20));
    machine.parts[1].features[0].finish = Finish::kAsMachined;
    Aim aim;
    aim.kind = AimKind::kFitToMeasured;
    aim.mate = bore;
    b.Cut(Operation::kTurn, "spigot").aim = aim;
    plan = b.plan;
  }
  void Measure(Step& step, double lower, double upper, const char* words) const {
    MeasureLine line;
    line.feature = bore;
    line.instrument = InstrumentId("caliper");
    line.words = words;
    line.lower_mm = lower;
    line.upper_mm = upper;
    step.measure = line;
  }
  Observed Read(std::size_t step, double value, variation::Analysis& analysis) const {
    const ReadingTaken taken{bore, &plan.setups[0],        &plan.setups[0].steps[step], value,
                             0,    InstrumentId("caliper")};
    return Observe(machine, shop, plan, {taken}, analysis);
  }
};

TEST(LengthBetween, FromAFaceToTheFarWallOfABore) {
  const BoredBlock block;
  const auto length =
      FindLength(block.machine, block.bore, 40.01, "front down, up to the far wall of bore");
  ASSERT_TRUE(length);
  EXPECT_EQ(length->other.feature, FeatureId("front"));
  EXPECT_NEAR(length->drawn_mm, 25 + 0.5 * 30.0105, 1e-9);
  EXPECT_DOUBLE_EQ(length->of_own_size, 0.5);
  EXPECT_FALSE(FindLength(block.machine, block.bore, 40.01, "up to the far wall"))
      << "four sides are as far";
  EXPECT_FALSE(FindLength(block.machine, block.bore, 12, "front"));
}

TEST(LengthBetween, IsNoSizeOfWhatSomethingIsMadeToSuit) {
  const BoredBlock block;
  auto analysis = variation::Analyse(block.machine, block.shop, block.plan);
  ASSERT_TRUE(analysis) << analysis.error().message;
  const Observed length = block.Read(0, 40.03, *analysis);
  ASSERT_EQ(length.observations.size(), 1U);
  EXPECT_FALSE(length.observations[0].is_size);
  EXPECT_TRUE(length.settled.empty());
  const Observed size = block.Read(1, 30.01, *analysis);
  ASSERT_EQ(size.observations.size(), 1U);
  EXPECT_TRUE(size.observations[0].is_size);
  EXPECT_EQ(size.settled.size(), 1U) << "the spigot is aimed from this reading";
  EXPECT_EQ(block.Read(2, 12, *analysis).unread.size(), 1U);
}

}  // namespace
}  // namespace fitwright::rework
