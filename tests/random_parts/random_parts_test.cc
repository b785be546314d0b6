// Parts made up from seeds: each is planned, and the plan proves on solids to make it; or it is refused
// for a reason that a second reckoning, which shares no code with the planner, confirms.
#include <gtest/gtest.h>

#include <cstdlib>

#include "fitwright/planner/build_plan.h"
#include "fitwright/planner/search.h"
#include "fitwright/variation/analysis.h"
#include "tests/random_parts/found_holdings.h"
#include "tests/random_parts/found_parts.h"
#include "tests/random_parts/known_gaps.h"
#include "tests/random_parts/plan_one.h"
#include "tests/random_parts/shop_limits.h"

namespace fitwright {
namespace {

using random_parts::Load;
using random_parts::Quick;
using random_parts::Words;
using testing::MakeRandomPart;
using testing::RandomPart;

constexpr int kShards = 10;
// 200 parts, or 1,000.
// FITWRIGHT_SEEDS_FROM in the environment: others, from that seed on; FITWRIGHT_SEEDS: so many in a shard.
int Stated(const char* name, int otherwise) {
  const char* text = std::getenv(name);
  return text == nullptr ? otherwise : std::atoi(text);
}
int FirstSeed() { return Stated("FITWRIGHT_SEEDS_FROM", 0); }
int PartsInShard() { return Stated("FITWRIGHT_SEEDS", std::getenv("FITWRIGHT_DEEP") == nullptr ? 20 : 100); }

std::string Words(const std::vector<random_parts::Cause>& causes) {
  std::string text;
  for (const auto& cause : causes) text += fmt::format("\n  {}: {}", cause.feature.empty() ? "held" : cause.feature.text(), cause.words);
  return text.empty() ? "nothing against it" : text;
}

// One of the causes is about what the refusal names: a feature, or how the part is held.
bool Confirms(const std::vector<random_parts::Cause>& causes, const std::string& why) {
  return std::any_of(causes.begin(), causes.end(), [&](const random_parts::Cause& cause) {
    const bool held = why.find("nothing in the shop holds") != std::string::npos || why.find("as the bar is held") != std::string::npos;
    return cause.feature.empty() ? held : why.find(cause.feature.text()) != std::string::npos;
  });
}

class RandomParts : public ::testing::TestWithParam<int> {};

struct Tally {
  int made = 0;
  int refused = 0;
  int open = 0;  // of the refused: what a better planner would make
};

// Planned and proved, or refused for a confirmed reason; the plan where there is one.
std::optional<Plan> MakeOne(const RandomPart& part, Tally& tally) {
  SCOPED_TRACE(part.name + "\n" + part.sheet);
  const auto project = Load(part);
  if (!project) return std::nullopt;
  planner::Planner planner(project->machine, project->shop, project->choices, Quick());
  auto plan = planner.Choose();
  if (!plan) {
    ++tally.refused;
    const std::string why = Format(plan.error());
    const Part& sheet = project->machine.parts.front();
    const auto causes = random_parts::ShopLimits(sheet, project->shop).Find();
    if (Confirms(causes, why)) return std::nullopt;
    const auto gap = std::find_if(random_parts::kGaps.begin(), random_parts::kGaps.end(), [&](const auto& g) { return g.has(sheet); });
    EXPECT_NE(gap, random_parts::kGaps.end()) << why << "\nthe second reckoning: " << Words(causes);
    if (gap != random_parts::kGaps.end()) std::printf("%s: %s (%s)\n", part.name.c_str(), std::string(gap->words).c_str(), why.c_str());
    ++tally.open;
    return std::nullopt;
  }
  ++tally.made;
  const auto report = replay::Replay(project->machine, project->shop, *plan);
  EXPECT_TRUE(report) << (report ? "" : Format(report.error()));
  EXPECT_TRUE(report && report->ok) << (report ? Words(*report) : "");
  return std::move(*plan);
}

TEST_P(RandomParts, ArePlannedAndProvedOrRefusedForAReason) {
  Tally tally;
  for (int i = 0; i < PartsInShard(); ++i) {
    MakeOne(MakeRandomPart(static_cast<std::uint64_t>(FirstSeed() + GetParam() + kShards * i)), tally);
  }
  std::printf("%d made and proved, %d refused, of these %d that a better planner would make\n", tally.made, tally.refused, tally.open);
  EXPECT_GE(tally.made, PartsInShard() >= 20 ? PartsInShard() / 2 : 0);
}

INSTANTIATE_TEST_SUITE_P(Seeds, RandomParts, ::testing::Range(0, kShards));

// What the part was made up to be held by.
bool IsHeldBy(const fitwright::Setup& setup, const std::string& word) {
  const auto has = [&](FixtureRole role) {
    return std::any_of(setup.fixtures.begin(), setup.fixtures.end(), [&](const FixtureSolid& f) { return f.role == role; });
  };
  return (word == "steady" && has(FixtureRole::kSteady)) || (word == "faceplate" && setup.holding == HoldingKind::kFaceplate) ||
         (word == "set over" && setup.tailstock_over_mm != 0) || (word == "expanding mandrel" && setup.device.text() == "expanding_mandrel");
}

// The kinds of MakeHeldPart, by the seed's rest by five.
class HeldParts : public ::testing::TestWithParam<int> {};

TEST_P(HeldParts, ArePlannedAsTheyWantToBeHeldOrRefusedForAReason) {
  const int parts = Stated("FITWRIGHT_SEEDS", std::getenv("FITWRIGHT_DEEP") == nullptr ? 4 : 40);
  Tally tally;
  int so_held = 0;
  std::string word;
  for (int i = 0; i < parts; ++i) {
    const RandomPart part = testing::MakeHeldPart(static_cast<std::uint64_t>(FirstSeed() + GetParam() + 5 * i));
    const auto plan = MakeOne(part, tally);
    for (const char* one : {"steady", "faceplate", "set over", "expanding mandrel"}) {
      if (part.words.contains(one)) word = one;
    }
    so_held += plan && std::any_of(plan->setups.begin(), plan->setups.end(), [&](const auto& setup) { return IsHeldBy(setup, word); }) ? 1 : 0;
  }
  std::printf("%s: %d made and proved, %d of them so held, %d refused, of these %d that a better planner would make\n", word.c_str(), tally.made, so_held,
              tally.refused, tally.open);
  EXPECT_GT(so_held, 0);
}

INSTANTIATE_TEST_SUITE_P(Kinds, HeldParts, ::testing::Range(0, 5));

// Of made-up sigmas, one for each source: alike for forms over the same sources by the same factors.
double Fingerprint(const variation::Analysis& analysis, const variation::Form& form) {
  double sum = form.constant;
  for (const variation::Term& term : form.terms) sum += term.factor * (1 + static_cast<double>(analysis.sources[term.source].key % 1000));
  return sum;
}

// A centre and a steady make bars tapered: what the odds read of fixtures and paths stays in a plan that is only judged.
TEST(HeldPartsToJudge, AreJudgedAsTheWholePlan) {
  int tapered = 0;
  for (std::uint64_t seed = 0; seed < 10; ++seed) {
    const auto project = Load(testing::MakeHeldPart(seed));
    ASSERT_TRUE(project.has_value());
    planner::Search search(project->machine, project->shop, project->choices, Quick());
    const auto plain = search.Plain();
    if (!plain) continue;
    planner::SetupMemo setups;
    const auto whole = planner::BuildPlan(project->machine, project->shop, search.subjects(), *plain, {});
    const auto judged = planner::BuildPlanToJudge(project->machine, project->shop, search.subjects(), *plain, {}, nullptr, setups);
    ASSERT_TRUE(whole.has_value() && judged.has_value());
    const auto a = variation::Analyse(project->machine, project->shop, *whole);
    const auto b = variation::Analyse(project->machine, project->shop, planner::WholePlan(*judged));
    ASSERT_TRUE(a.has_value() && b.has_value());
    for (const auto& [ref, forms] : a->features) {
      EXPECT_EQ(Fingerprint(*a, forms.taper), Fingerprint(*b, b->features.at(ref).taper)) << seed << " " << ref.text();
      EXPECT_EQ(Fingerprint(*a, forms.size), Fingerprint(*b, b->features.at(ref).size)) << seed << " " << ref.text();
      tapered += forms.taper.terms.size() > 1 ? 1 : 0;
    }
  }
  EXPECT_GT(tapered, 0);
}

// One of 1,000 parts, or of 200 that want a holding of their own, still runs into the gap, and the second reckoning knows no reason.
class KnownGaps : public ::testing::TestWithParam<std::size_t> {};

bool RunsInto(const random_parts::Gap& gap, const RandomPart& part) {
  const auto project = Load(part);
  if (!project || !gap.has(project->machine.parts.front())) return false;
  planner::Planner planner(project->machine, project->shop, project->choices, Quick());
  const auto plan = planner.Choose();
  return !plan && !Confirms(random_parts::ShopLimits(project->machine.parts.front(), project->shop).Find(), Format(plan.error()));
}

TEST_P(KnownGaps, StillRefuseSomething) {
  const random_parts::Gap& gap = random_parts::kGaps[GetParam()];
  for (std::uint64_t seed = 0; seed < 1000; ++seed) {
    if (seed < 200 && RunsInto(gap, testing::MakeHeldPart(seed))) return;
    if (RunsInto(gap, MakeRandomPart(seed))) return;
  }
  FAIL() << gap.words << ": nothing is refused for it any more; strike it out of the list";
}

INSTANTIATE_TEST_SUITE_P(Each, KnownGaps, ::testing::Range<std::size_t>(0, random_parts::kGaps.size()));

class FoundParts : public ::testing::TestWithParam<random_parts::FoundPart> {};

TEST_P(FoundParts, ArePlannedAndProved) {
  const RandomPart part{std::string(GetParam().name), std::string(GetParam().sheet), {}, std::string(GetParam().shop)};
  const auto project = Load(part);
  ASSERT_TRUE(project);
  planner::Planner planner(project->machine, project->shop, project->choices, Quick());
  const auto plan = planner.Choose();
  ASSERT_EQ(plan.has_value(), GetParam().made) << (plan ? "" : Format(plan.error()));
  if (!plan) return;
  const auto report = replay::Replay(project->machine, project->shop, *plan);
  ASSERT_TRUE(report) << Format(report.error());
  EXPECT_TRUE(report->ok) << Words(*report);
}

INSTANTIATE_TEST_SUITE_P(Each, FoundParts, ::testing::ValuesIn(random_parts::kFoundParts),
                         [](const auto& tested) { return std::string(tested.param.name); });

INSTANTIATE_TEST_SUITE_P(Holdings, FoundParts, ::testing::ValuesIn(random_parts::kFoundHoldings),
                         [](const auto& tested) { return std::string(tested.param.name); });

}  // namespace
}  // namespace fitwright
