// Parts made up from seeds: each is planned, and the plan proves on solids to make it; or it is refused
// for a reason that a second reckoning, which shares no code with the planner, confirms.
#include <gtest/gtest.h>

#include <cstdlib>

#include "fitwright/base/system.h"
#include "fitwright/files/project.h"
#include "fitwright/planner/planner.h"
#include "fitwright/replay/replay.h"
#include "tests/random_parts/known_gaps.h"
#include "tests/random_parts/shop_limits.h"
#include "tests/support/random_part.h"
#include "tests/files/sample_project.h"

namespace fitwright {
namespace {

using testing::MakeRandomPart;
using testing::RandomPart;

constexpr int kShards = 10;
// 200 parts, or 1,000.
int PartsInShard() { return std::getenv("FITWRIGHT_DEEP") == nullptr ? 20 : 100; }

planner::PlannerOptions Quick() {
  planner::PlannerOptions options;
  options.search_builds = 64;
  options.threads = 1;
  options.work.budget = 12;  // the search's quality is tested elsewhere; here it has to find a way
  return options;
}

std::optional<files::Project> Load(const RandomPart& part) {
  const files_test::ProjectFolder folder({{"machine.toml", MachineOfOne(part)}, {"parts/" + part.name + ".toml", part.sheet}});
  Diagnostics faults;
  auto project = files::LoadProject(folder.path(), {}, faults);
  for (const Error& fault : faults.errors()) ADD_FAILURE() << Format(fault) << "\n" << part.sheet;
  if (!project) return std::nullopt;
  return std::move(*project);
}

std::string Words(const ReplayReport& report) {
  std::string text;
  for (const ReplayPart& part : report.parts) {
    text += fmt::format("difference {} mm3\n", part.difference_mm3);
    for (const ReplayViolation& v : part.violations) text += fmt::format("  {} {}: {}\n", v.step.text(), v.rule, v.say);
  }
  return text;
}

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

TEST_P(RandomParts, ArePlannedAndProvedOrRefusedForAReason) {
  int made = 0;
  int refused = 0;
  int open = 0;
  for (int i = 0; i < PartsInShard(); ++i) {
    const auto seed = static_cast<std::uint64_t>(GetParam() + kShards * i);
    const RandomPart part = MakeRandomPart(seed);
    SCOPED_TRACE(part.name + "\n" + part.sheet);
    const auto project = Load(part);
    if (!project) continue;
    planner::Planner planner(project->machine, project->shop, project->choices, Quick());
    const auto plan = planner.Choose();
    if (!plan) {
      ++refused;
      const std::string why = Format(plan.error());
      const Part& sheet = project->machine.parts.front();
      const auto causes = random_parts::ShopLimits(sheet, project->shop).Find();
      if (Confirms(causes, why)) continue;
      const auto gap = std::find_if(random_parts::kGaps.begin(), random_parts::kGaps.end(), [&](const auto& g) { return g.has(sheet); });
      EXPECT_NE(gap, random_parts::kGaps.end()) << why << "\nthe second reckoning: " << Words(causes);
      if (gap != random_parts::kGaps.end()) std::printf("%s: %s (%s)\n", part.name.c_str(), std::string(gap->words).c_str(), why.c_str());
      ++open;
      continue;
    }
    ++made;
    const auto report = replay::Replay(project->machine, project->shop, *plan);
    ASSERT_TRUE(report) << Format(report.error());
    EXPECT_TRUE(report->ok) << Words(*report);
  }
  std::printf("%d made and proved, %d refused, of these %d that a better planner would make\n", made, refused, open);
  EXPECT_GT(made, PartsInShard() / 2);
}

INSTANTIATE_TEST_SUITE_P(Seeds, RandomParts, ::testing::Range(0, kShards));

}  // namespace
}  // namespace fitwright
