// What the search leaves out: changes that lose again, and judging a change on the parts it concerns.
#include <gtest/gtest.h>

#include <tuple>

#include "fitwright/files/project.h"
#include "fitwright/planner/excerpt.h"
#include "fitwright/planner/search.h"
#include "fitwright/planner/tried.h"
#include "fitwright/variation/odds.h"

namespace fitwright::planner {
namespace {

constexpr double kDeviceChange_min = 20;

Change ChangeOfPart(const std::string& part, bool same_devices = true) {
  Change change;
  change.key = part + " held otherwise";
  change.parts = {PartId(part)};
  change.same_devices = same_devices;
  return change;
}

TEST(Tried, LosesAgainUntilWhatItConcernsHasMovedByAsMuch) {
  const Concerns concerns = {{PartId("rod"), {0, 1}}};
  const Change change = ChangeOfPart("rod");
  Tried tried(kDeviceChange_min);
  EXPECT_FALSE(tried.LosesAgain(change, concerns, {10, 10, 10}));
  tried.Lost(change, 5, {10, 10, 10});
  EXPECT_TRUE(tried.LosesAgain(change, concerns, {10, 10, 10}));
  EXPECT_TRUE(tried.LosesAgain(change, concerns, {10, 10, 500}));
  EXPECT_TRUE(tried.LosesAgain(change, concerns, {12, 8, 10}));
  EXPECT_FALSE(tried.LosesAgain(change, concerns, {13, 7, 10}));
}

TEST(Tried, AnotherDeviceMayPayOnceDevicesHaveChanged) {
  const Concerns concerns;
  const Change same = ChangeOfPart("rod");
  Change other = ChangeOfPart("rod", false);
  other.key = "rod in another device";
  Change dearer = ChangeOfPart("rod", false);
  dearer.key = "rod in a much dearer device";
  Tried tried(kDeviceChange_min);
  tried.Lost(same, 1, {});
  tried.Lost(other, 2 * kDeviceChange_min - 1, {});
  tried.Lost(dearer, 2 * kDeviceChange_min + 1, {});
  tried.Took(ChangeOfPart("disc"));
  EXPECT_TRUE(tried.LosesAgain(other, concerns, {}));
  tried.Took(ChangeOfPart("disc", false));
  EXPECT_TRUE(tried.LosesAgain(same, concerns, {}));
  EXPECT_FALSE(tried.LosesAgain(other, concerns, {}));
  EXPECT_TRUE(tried.LosesAgain(dearer, concerns, {}));
}

TEST(Tried, WhatNothingReadsNeverWins) {
  Tried tried(kDeviceChange_min);
  tried.Lost(ChangeOfPart("rod"), 0, {10});
  EXPECT_TRUE(tried.LosesAgain(ChangeOfPart("rod"), {{PartId("rod"), {0}}}, {500}));
}

class Core : public ::testing::Test {
 protected:
  void SetUp() override {
    Diagnostics faults;
    auto loaded = files::LoadProject(std::string(FITWRIGHT_SOURCE_DIR) + "/examples/compressor-core", {}, faults);
    ASSERT_TRUE(loaded.has_value()) << Format(loaded.error());
    project_ = *std::move(loaded);
    options_.threads = 1;
    options_.setups = &setups_;
  }

  Judged Whole(const Strategy& strategy, const Subjects& subjects) {
    const auto plan = BuildPlan(project_.machine, project_.shop, subjects, strategy, {});
    EXPECT_TRUE(plan.has_value());
    return *Judge(project_.machine, project_.shop, *plan, options_);
  }

  files::Project project_;
  SetupMemo setups_;
  PlannerOptions options_;
};

// Setups recalled, read once and recalled as read, and without what people read, against every setup worked out: the same
// minutes and odds to the last bit.
TEST_F(Core, APlanToJudgeIsJudgedAsTheWholePlan) {
  Search search(project_.machine, project_.shop, project_.choices, options_);
  const auto plain = search.Plain();
  ASSERT_TRUE(plain.has_value());
  const Strategy chosen = search.Improve(*plain);
  options_.setups = &setups_;
  for (const Strategy& strategy : {*plain, chosen, *plain, chosen, *plain, chosen}) {
    const auto plan = BuildPlanToJudge(project_.machine, project_.shop, search.subjects(), strategy, {}, nullptr, setups_);
    ASSERT_TRUE(plan.has_value());
    const auto judged = Judge(project_.machine, project_.shop, *plan, options_);
    ASSERT_TRUE(judged.has_value());
    const Judged whole = Whole(strategy, search.subjects());
    EXPECT_EQ(judged->minutes, whole.minutes);
    EXPECT_EQ(judged->expected_min, whole.expected_min);
    EXPECT_EQ(judged->per_requirement, whole.per_requirement);
  }
}

// The same side of the same part: after each cut what holds it is looked for anew, and asked again it is the same list.
TEST_F(Core, WhatHoldsAPieceIsRecalledForThatPieceAlone) {
  Search search(project_.machine, project_.shop, project_.choices, options_);
  const auto plain = search.Plain();
  ASSERT_TRUE(plain.has_value());
  HoldingMemo memo;
  int lists = 0;
  for (const auto& [part, route] : plain->routes) {
    PieceState piece = RawPiece(*project_.machine.FindPart(part));
    const SetupSketch& last = route.setups.back();
    for (const SetupSketch& sketch : route.setups) {
      const std::vector<SetupSketch> afresh = Variants(last, piece, project_.shop);
      EXPECT_EQ(RecallVariants(memo, last, piece, project_.shop)->sketches, afresh) << part.text();
      EXPECT_EQ(RecallVariants(memo, last, piece, project_.shop)->sketches, afresh) << part.text();
      lists += afresh.empty() ? 0 : 1;
      ApplySketch(piece, sketch);
    }
  }
  EXPECT_GT(lists, 10);
}

// Several pieces in a device that need not be put up: no one of them pays by leaving it, all of them together do.
TEST(WholeCompressor, ADeviceThatDoesNotPayIsLeftOff) {
  Diagnostics faults;
  const auto project = files::LoadProject(std::string(FITWRIGHT_SOURCE_DIR) + "/examples/airbrush-compressor", {}, faults);
  ASSERT_TRUE(project.has_value());
  const PlannerOptions options;
  Search search(project->machine, project->shop, project->choices, options);
  const Strategy found = search.Improve(*search.Plain());
  const double cost = search.Cost(*search.Look(found));
  int left_off = 0;
  for (const HoldingDevice& device : project->shop.holding) {
    Strategy without = found;
    bool all = true;
    for (auto& [part, route] : without.routes) {
      PieceState piece = RawPiece(*project->machine.FindPart(part));
      for (SetupSketch& sketch : route.setups) {
        std::vector<SetupSketch> others = search.Others(sketch, piece);
        std::erase_if(others, [&](const SetupSketch& v) { return v.device == device.name; });
        std::stable_partition(others.begin(), others.end(), [](const SetupSketch& v) { return v.device.text() == "three_jaw"; });
        all &= sketch.device != device.name || !others.empty();
        if (sketch.device == device.name && !others.empty()) CopyHolding(others.front(), sketch);
        ApplySketch(piece, sketch);
      }
    }
    if (!all || without.routes == found.routes) continue;
    const auto judged = search.Look(without);
    if (!judged) continue;
    ++left_off;
    EXPECT_GE(search.Cost(*judged), cost - kWorthwhile_min) << device.name.text();
  }
  EXPECT_GE(left_off, 1);
}

// From the plain plan tries alone find what is better; from what the search found never what is worse; the same for the
// same seed, and none at all once it is stopped.
TEST_F(Core, TryingAgainKeepsOnlyWhatIsBetter) {
  constexpr int kTries = 6;
  const auto tried = [&](bool improved, std::uint64_t seed) {
    options_.seed = seed;
    Search search(project_.machine, project_.shop, project_.choices, options_);
    const Strategy start = improved ? search.Improve(*search.Plain()) : *search.Plain();
    const double before = search.Cost(*search.Look(start));
    const Strategy after = search.TryAgain(start, kTries);
    return std::tuple{before, search.Cost(*search.Look(after)), KeyOf(after)};
  };
  const auto [plain, found, key] = tried(false, 1);
  EXPECT_LT(found, plain - kWorthwhile_min);
  const auto [improved, kept, same] = tried(true, 1);
  EXPECT_LE(kept, improved);
  EXPECT_EQ(std::get<2>(tried(true, 1)), same);

  CancelFlag stop;
  stop.Cancel();
  options_.work.cancel = &stop;
  Search stopped(project_.machine, project_.shop, project_.choices, options_);
  const Strategy start = *stopped.Plain();
  EXPECT_EQ(KeyOf(stopped.TryAgain(start, kTries)), KeyOf(start));
}

TEST_F(Core, AChangeIsNamedByWhatIsHeldOtherwise) {
  Search search(project_.machine, project_.shop, project_.choices, options_);
  const auto plain = search.Plain();
  ASSERT_TRUE(plain.has_value());
  EXPECT_TRUE(ChangeOf(search.subjects(), *plain, *plain).key.empty());
  Strategy other = *plain;
  other.routes.at(PartId("liner")).setups.front().device = HoldingDeviceId("another");
  const Change change = ChangeOf(search.subjects(), *plain, other);
  EXPECT_FALSE(change.key.empty());
  EXPECT_EQ(change.parts, std::set<PartId>{PartId("liner")});
  EXPECT_FALSE(change.same_devices);
  EXPECT_TRUE(change.routes_only);
}

// A setup held otherwise costs in the excerpt what it costs in the whole machine, and its requirements have the
// same odds: the excerpt against the whole, worked out apart.
TEST_F(Core, AnExcerptJudgesAsTheWholeDoes) {
  Search search(project_.machine, project_.shop, project_.choices, options_);
  const auto plain = search.Plain();
  ASSERT_TRUE(plain.has_value());
  const auto plan = BuildPlan(project_.machine, project_.shop, search.subjects(), *plain, {});
  const auto concerns = variation::FindConcerns(project_.machine, project_.shop, *plan);
  ASSERT_TRUE(concerns.has_value());
  const PartId foot("foot_left");
  std::set<PartId> parts;
  for (const auto& [part, own] : *concerns) {
    const bool shares = std::any_of(own.begin(), own.end(), [&](std::size_t r) { return concerns->at(foot).contains(r); });
    if (shares) parts.insert(part);
  }
  EXPECT_EQ(parts, (std::set<PartId>{foot, PartId("body")}));
  const Excerpt excerpt = ExcerptOf(project_.machine, parts, concerns->at(foot));
  const auto in_excerpt = JudgeExcerpt(excerpt, project_.shop, StrategyIn(excerpt, *plain), options_);
  ASSERT_TRUE(in_excerpt.has_value());
  const Judged whole = Whole(*plain, search.subjects());
  int compared = 0;
  const auto& setups = plain->routes.at(foot).setups;
  PieceState piece = RawPiece(*project_.machine.FindPart(foot));
  for (std::size_t i = 0; i < setups.size(); ++i) {
    for (const SetupSketch& variant : search.Others(setups[i], piece)) {
      if (variant.device != setups[i].device) continue;
      Strategy other = *plain;
      CopyHolding(variant, other.routes.at(foot).setups[i]);
      if (!BuildPlan(project_.machine, project_.shop, search.subjects(), other, {})) continue;
      const Judged changed = Whole(other, search.subjects());
      const auto changed_in = JudgeExcerpt(excerpt, project_.shop, StrategyIn(excerpt, other), options_);
      ASSERT_TRUE(changed_in.has_value());
      EXPECT_NEAR(changed_in->expected_min - in_excerpt->expected_min, changed.expected_min - whole.expected_min, 1e-6);
      ++compared;
    }
    ApplySketch(piece, setups[i]);
  }
  EXPECT_GE(compared, 5);
}

}  // namespace
}  // namespace fitwright::planner
