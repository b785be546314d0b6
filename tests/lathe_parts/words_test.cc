// What the sheets say of turned work, and the figures behind it, against closed forms.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "tests/support/lathe_parts.h"

namespace fitwright {
namespace {

using namespace lathe_parts;  // NOLINT: test helpers
using testing::HasSubstr;
using testing::Not;

constexpr double kExact_mm = 1e-9;  // drawn numbers, plain arithmetic

Shop Without(ToolKind kind) {
  Shop shop = files::DefaultShop();
  std::erase_if(shop.tools, [&](const Tool& t) { return t.kind == kind; });
  return shop;
}

const Step* StepOn(const Plan& plan, const std::string& feature, Operation operation) {
  for (const Setup& setup : plan.setups) {
    for (const Step& step : setup.steps) {
      const bool on = std::any_of(step.features.begin(), step.features.end(),
                                  [&](const FeatureRef& f) { return f.feature.text() == feature; });
      if (on && step.operation == operation) return &step;
    }
  }
  return nullptr;
}

TEST(LatheWords, ATaperNamesHalfItsAngleAndIsCutAlongIt) {
  const Made made = MakeAndReplay(TaperPlug(), files::DefaultShop());
  const Step* cone = StepOn(made.plan, "cone", Operation::kTurn);
  ASSERT_NE(cone, nullptr) << made.text;
  // 20 to 17.5 over 10: atan(1.25 / 10) = 7.125 degrees.
  EXPECT_THAT(cone->words, HasSubstr("7.13 degrees"));
  const auto& points = cone->path.front().points_S_mm;
  const double slope = (points[2].x() - points[1].x()) / (points[1].z() - points[2].z());
  EXPECT_NEAR(slope, 1.25 / 10, kExact_mm);
}

// Passes begin in the metal that stands: the nose of a plug whose head was turned to 28 before it starts from 28,
// not from the bar's 30.
TEST(LatheWords, AShoulderIsTurnedFromWhatTheStepBeforeLeft) {
  const Made made = MakeAndReplay(TaperPlug(), files::DefaultShop());
  const Step* head = StepOn(made.plan, "head", Operation::kTurn);
  const Step* nose = StepOn(made.plan, "nose", Operation::kTurn);
  ASSERT_TRUE(head != nullptr && nose != nullptr) << made.text;
  ASSERT_LT(head->id.text(), nose->id.text());
  EXPECT_NEAR(nose->depth_mm, (28.0 - 20.0) / 2, kExact_mm);
}

// A large drill is led by a centre drill's cone, a small one by its point's mark: 2.12 times 3.15 is 6.7.
TEST(LatheWords, ALargeDrillIsLedByTheCone) {
  const auto first = [](const Part& part) {
    const Made made = MakeAndReplay(part, files::DefaultShop());
    EXPECT_TRUE(made.ok) << made.text;
    const Step* spot = FindStep(made.plan, Operation::kSpot);
    return spot == nullptr ? Step{} : *spot;
  };
  const Step large = first(TaperPlug());
  const Step small = first(Washer());
  EXPECT_THAT(large.words, HasSubstr("led by the cone"));
  EXPECT_NEAR(large.depth_mm, 0.9 * 5.4, kExact_mm);  // of the shop's 3.15 mm centre drill
  EXPECT_THAT(small.words, Not(HasSubstr("cone")));
  EXPECT_LT(small.depth_mm, 1);
}

TEST(LatheWords, ADieRunsItsLeadPastTheThread) {
  const Made made = MakeAndReplay(Crankshaft(), files::DefaultShop());
  const Step* thread = FindStep(made.plan, Operation::kThread);
  ASSERT_NE(thread, nullptr) << made.text;
  EXPECT_EQ(thread->tool.text(), "die_m8");
  EXPECT_NEAR(thread->path.front().points_S_mm.front().z(), -(12 + 2 * 1.25), kExact_mm);
  EXPECT_EQ(thread->rpm, 0);  // by hand
  EXPECT_THAT(thread->words, HasSubstr("chuck turned by hand"));
}

TEST(LatheWords, WithoutADieTheThreadIsCutInTheLatheByItsPitch) {
  const Made made = MakeAndReplay(Crankshaft(), Without(ToolKind::kDie));
  EXPECT_TRUE(made.ok) << made.text;
  const Step* thread = FindStep(made.plan, Operation::kThread);
  ASSERT_NE(thread, nullptr) << made.text;
  EXPECT_THAT(thread->words, HasSubstr("change wheels for a pitch of 1.25 mm"));
  EXPECT_NEAR(thread->feed_mm_min / thread->rpm, 1.25, 0.01);
  EXPECT_NEAR(thread->depth_mm, 17.0 / 24 * std::sqrt(3) / 2 * 1.25, 1e-3);  // ISO 68-1, 17/24 H
}

TEST(LatheWords, WithoutATapTheThreadInsideIsCutByItsPitch) {
  const Made made = MakeAndReplay(RingNut(), Without(ToolKind::kTap));
  EXPECT_TRUE(made.ok) << made.text;
  const Step* thread = FindStep(made.plan, Operation::kThread);
  ASSERT_NE(thread, nullptr) << made.text;
  EXPECT_EQ(thread->tool.text(), "threading_inside");
  EXPECT_NEAR(thread->depth_mm, 5.0 / 8 * std::sqrt(3) / 2 * 2, 1e-3);  // ISO 68-1, 5/8 H
}

// A thread of 55 degrees, and a shop that has its change wheels and perhaps a tool of that angle.
Made ThreadedWhitworth(double point_deg) {
  Part part = Crankshaft();
  for (Feature& f : part.features) {
    auto* thread = std::get_if<ExternalThread>(&f.shape);
    if (thread == nullptr) continue;
    thread->designation = "5/16-18 BSW";
    thread->major_mm = 5 * 25.4 / 16;
    thread->pitch_mm = 25.4 / 18;
  }
  Shop shop = Without(ToolKind::kDie);
  for (MachineTool& machine : shop.machines) machine.pitches_mm.push_back(25.4 / 18);
  for (Tool& tool : shop.tools) {
    if (tool.kind == ToolKind::kThreadingTool) tool.point_deg = point_deg;
  }
  return MakeAndReplay(part, shop);
}

TEST(LatheWords, AThreadIsCutByAPointOfItsOwnAngleToItsOwnDepth) {
  const Made made = ThreadedWhitworth(55);
  EXPECT_TRUE(made.ok) << made.text;
  const Step* thread = FindStep(made.plan, Operation::kThread);
  ASSERT_NE(thread, nullptr) << made.text;
  EXPECT_NEAR(thread->depth_mm, 0.640327 * 25.4 / 18, 1e-3);  // BS 84: two thirds of the sharp height
  EXPECT_THAT(thread->words, HasSubstr("change wheels for 18 threads to the inch"));
}

TEST(LatheWords, AThreadWithoutAPointOfItsAngleIsNotPlanned) {
  const Made made = ThreadedWhitworth(60);
  EXPECT_FALSE(made.ok);
  EXPECT_THAT(made.text, HasSubstr("a threading tool of 55 degrees"));
}

TEST(LatheWords, WithoutDieAndChangeWheelsThereIsNoPlanAndItSaysWhatToBuy) {
  Shop shop = Without(ToolKind::kDie);
  for (MachineTool& machine : shop.machines) machine.pitches_mm.clear();
  const Made made = MakeAndReplay(Crankshaft(), shop);
  EXPECT_FALSE(made.ok);
  EXPECT_THAT(made.text, HasSubstr("no change wheels for a pitch of 1.25"));
}

TEST(LatheWords, ThinWorkStaysAsPartedAndCopiesComeOffOneBar) {
  const Made one = MakeAndReplay(Ring(), files::DefaultShop());
  const Made two = MakeAndReplay(Ring(), files::DefaultShop(), 2);
  ASSERT_TRUE(two.ok) << two.text;
  ASSERT_EQ(two.plan.setups.size(), 1U) << two.text;
  const Step* parted = StepOn(two.plan, "lower", Operation::kPartOff);
  ASSERT_NE(parted, nullptr);
  EXPECT_TRUE(parted->finishes);
  EXPECT_THAT(parted->caution, HasSubstr("A thin ring"));
  const double mount = files::DefaultShop().times.device_change;
  EXPECT_NEAR(two.plan.setups.front().time_min - mount, 2 * (one.plan.setups.front().time_min - mount), 1e-6);
  EXPECT_THAT(two.plan.setups.front().leave_it_in, testing::Contains(HasSubstr("2 alike")));
}

TEST(LatheWords, ShortBoredWorkIsFacedOnAMandrelTurnedInPlace) {
  const Made made = MakeAndReplay(Spacer(), files::DefaultShop());
  ASSERT_EQ(made.plan.setups.size(), 2U) << made.text;
  const fitwright::Setup& second = made.plan.setups.back();
  EXPECT_EQ(second.holding, HoldingKind::kStubMandrel);
  EXPECT_NEAR(second.opening_mm, 10.0075, kExact_mm);  // the bore in the middle of H7
  EXPECT_EQ(std::count_if(second.contacts.begin(), second.contacts.end(),
                          [](const Contact& c) { return c.kind == ContactKind::kMandrel; }),
            2);
}

TEST(LatheWords, GroundBarGoesInACollet) {
  const Made made = MakeAndReplay(Crankpin(), files::DefaultShop());
  EXPECT_EQ(made.plan.setups.front().holding, HoldingKind::kCollet) << made.text;
  Part odd = Crankpin();
  odd.stock.diameter_mm = 6.2;  // between two collets
  std::get<OuterDiameter>(odd.features.front().shape).diameter = Plain(6.2, 0.004);
  const Made other = MakeAndReplay(odd, files::DefaultShop());
  EXPECT_EQ(other.plan.setups.front().holding, HoldingKind::kThreeJaw) << other.text;
}

TEST(LatheWords, ASlimBarIsDrawnOutToBePartedAndSlimWorkIsRefused) {
  const Made made = MakeAndReplay(GudgeonPin(), files::DefaultShop());
  ASSERT_EQ(made.plan.setups.size(), 3U) << made.text;
  EXPECT_EQ(made.plan.setups[1].steps.front().operation, Operation::kPartOff);
  Part spindle = MakeTurned("spindle", 8, -40, 61);
  spindle.features = {Outer("outside", 0, 60, Plain(7)), Ends("near_end", 0, false), Ends("far_end", 60, true)};
  const Made slim = MakeAndReplay(spindle, files::DefaultShop());
  EXPECT_FALSE(slim.ok);
  EXPECT_THAT(slim.text, HasSubstr("without support"));
}

TEST(LatheWords, GroovesTakeTheirToolsOwnShape) {
  const Made pulley = MakeAndReplay(DrivenPulley(), files::DefaultShop());
  const Step* groove = StepOn(pulley.plan, "belt_groove", Operation::kGroove);
  ASSERT_NE(groove, nullptr) << pulley.text;
  EXPECT_EQ(groove->tool.text(), "round_nose_2_5");
  EXPECT_NEAR(groove->path.front().points_S_mm.back().x(), 20, kExact_mm);  // half of the floor's 40
  EXPECT_NEAR(groove->depth_mm, 4, kExact_mm);
  const Made knob = MakeAndReplay(Knob(), files::DefaultShop());
  const Step* vee = StepOn(knob.plan, "vee", Operation::kGroove);
  ASSERT_NE(vee, nullptr) << knob.text;
  EXPECT_THAT(vee->words, HasSubstr("45 degrees off square"));
  const Step* round = StepOn(knob.plan, "back_round", Operation::kChamfer);
  ASSERT_NE(round, nullptr);
  EXPECT_EQ(round->tool.text(), "file_flat");  // no hollow tool of 1.3
  EXPECT_THAT(round->words, HasSubstr("radius gauge"));
  const Step* knurl = FindStep(knob.plan, Operation::kKnurl);
  ASSERT_NE(knurl, nullptr);
  EXPECT_THAT(knurl->caution, HasSubstr("presses hard"));
}

TEST(LatheWords, TheFirstCutGoesUnderTheSkin) {
  Part part = CrankDisc();
  part.stock.skin_mm = 0.6;
  const Made made = MakeAndReplay(part, files::DefaultShop());
  EXPECT_TRUE(made.ok) << made.text;
  const Step* rim = StepOn(made.plan, "rim", Operation::kTurn);
  ASSERT_NE(rim, nullptr) << made.text;
  EXPECT_NEAR(rim->levels_mm.front(), 0.9, kExact_mm);
  EXPECT_NEAR(rim->levels_mm.back(), rim->depth_mm, kExact_mm);
  EXPECT_THAT(rim->words, HasSubstr("under the skin"));
}

TEST(LatheWords, WithoutAFormToolItSaysWhatIsMissing) {
  const Made made = MakeAndReplay(DrivenPulley(), Without(ToolKind::kFormTool));
  EXPECT_FALSE(made.ok);
  EXPECT_THAT(made.text, HasSubstr("no round-nose tool of 2.5 mm radius"));
}

}  // namespace
}  // namespace fitwright
