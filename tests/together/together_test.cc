// Techniques that lean on the other part, from the sheets to the proof on solids.
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>

#include "fitwright/files/project.h"
#include "fitwright/planner/planner.h"
#include "fitwright/replay/replay.h"
#include "tests/support/corrupt.h"

namespace fitwright {
namespace {

files::Project Load(const std::string& name) {
  Diagnostics faults;
  auto loaded = files::LoadProject(
      std::filesystem::path(FITWRIGHT_SOURCE_DIR) / "tests/together/projects" / name, {}, faults);
  FW_CHECK(loaded.has_value(), name);
  return *std::move(loaded);
}

Result<Plan> PlanWith(const files::Project& project, const std::string& subject,
                      Technique technique) {
  Choices choices;
  choices.pins = {{PinKind::kTechnique, subject, std::string(WordOf(technique)), 0}};
  planner::PlannerOptions options;
  options.final_builds = 4000;
  options.advice_builds = 512;
  options.work.budget = 150;
  return planner::MakePlan(project.machine, project.shop, choices, options);
}

std::string Broken(const files::Project& project, const Plan& plan) {
  const auto report = replay::Replay(project.machine, project.shop, plan, {});
  if (!report) return Format(report.error());
  std::string broken;
  for (const ReplayPart& part : report->parts) {
    for (const ReplayViolation& v : part.violations)
      broken += v.rule + " at " + v.step.text() + ": " + v.say + "\n";
  }
  return broken;
}

struct Way {
  const char* project;
  const char* subject;
  Technique technique;
};

class Ways : public ::testing::TestWithParam<Way> {};

TEST_P(Ways, MakesThePartsToTheirDesign) {
  const auto [name, subject, technique] = GetParam();
  const files::Project project = Load(name);
  const auto plan = PlanWith(project, subject, technique);
  ASSERT_TRUE(plan) << Format(plan.error());
  const auto joint = std::find_if(plan->joints.begin(), plan->joints.end(),
                                  [&subject = subject](const JointPlan& j) { return j.name == subject; });
  ASSERT_NE(joint, plan->joints.end());
  EXPECT_EQ(joint->technique, technique);
  EXPECT_EQ(Broken(project, *plan), "");
}

INSTANTIATE_TEST_SUITE_P(
    All, Ways,
    ::testing::Values(Way{"dowelled_plate", "dowels", Technique::kByCoordinates},
                      Way{"dowelled_plate", "dowels", Technique::kReamDowels},
                      Way{"dowelled_plate", "screws", Technique::kSpotThrough},
                      Way{"dowelled_plate", "screws", Technique::kTransferPunch},
                      Way{"dowelled_plate", "screws", Technique::kTransferScrews},
                      Way{"pinned_crank", "cross_pin", Technique::kDrillTogether},
                      Way{"two_pedestals", "bores_in_line", Technique::kByCoordinates},
                      Way{"two_pedestals", "bores_in_line", Technique::kBoreInLine}),
    [](const auto& way) {
      return std::string(way.param.project) + "_" + std::string(WordOf(way.param.technique));
    });

bool CutsBoth(const Step& step) { return step.parts.size() == 2 && !step.path.empty(); }

TEST(Together, SpoiledPlansAreFound) {
  const files::Project project = Load("dowelled_plate");
  const auto plan = PlanWith(project, "dowels", Technique::kReamDowels);
  ASSERT_TRUE(plan) << Format(plan.error());
  const auto setup =
      std::find_if(plan->setups.begin(), plan->setups.end(), [](const fitwright::Setup& s) {
        return std::any_of(s.steps.begin(), s.steps.end(), CutsBoth);
      });
  ASSERT_NE(setup, plan->setups.end());
  const auto at = static_cast<std::size_t>(setup - plan->setups.begin());
  Plan alone = *plan;
  std::erase_if(alone.setups[at].steps,
                [](const Step& s) { return s.operation == Operation::kAssemble; });
  EXPECT_NE(Broken(project, alone).find("part_missing"), std::string::npos)
      << Broken(project, alone);
  constexpr double kTooHigh_mm = 35;  // the plate alone is drilled
  Plan shallow = *plan;
  for (Step& step : shallow.setups[at].steps) {
    if (!CutsBoth(step)) continue;
    step.depth_mm -= kTooHigh_mm;
    for (PathPiece& piece : step.path) {
      for (Vec3& p : piece.points_S_mm) p.z() += kTooHigh_mm;
    }
  }
  EXPECT_NE(Broken(project, shallow).find("part_not_cut"), std::string::npos)
      << Broken(project, shallow);
  Plan astray = *plan;
  astray.setups[at].parts[1].X_PS.translation().x() += 0.5;
  EXPECT_NE(Broken(project, astray).find("not_made"), std::string::npos) << Broken(project, astray);
}

// Spoiled at every step: each fault is caught and named, or shown harmless.
TEST(TogetherSpoiled, AtEveryStepOfASetup) {
  for (const auto& [name, subject, technique] :
       {Way{"dowelled_plate", "dowels", Technique::kReamDowels},
        Way{"pinned_crank", "cross_pin", Technique::kDrillTogether}}) {
    const files::Project project = Load(name);
    const auto plan = PlanWith(project, subject, technique);
    ASSERT_TRUE(plan) << Format(plan.error());
    corrupt::RunCorruptionsOptions options;
    options.shards = corrupt::ShardsHere(20);
    for (const char* only : {"", "mate_not_there", "ends_above_the_mate"}) {
      corrupt::RunCorruptionsOptions own = options;
      own.only = only;
      if (*only != 0) own.shards = 1;
      const auto found = corrupt::RunCorruptions(project.machine, project.shop, *plan, own);
      ASSERT_TRUE(found) << Format(found.error());
      EXPECT_FALSE(found->empty()) << only;
      for (const corrupt::CorruptionResult& r : *found)
        EXPECT_TRUE(r.sound()) << r.fault << " at " << r.where << ": " << r.say;
    }
  }
}

TEST(Together, HolesThatAreNotAlikeAreRefusedWithTheReason) {
  files::Project project = Load("dowelled_plate");
  for (Part& part : project.machine.parts) {
    for (Feature& f : part.features) {
      const bool plate_dowels = part.name == PartId("plate") && f.name == FeatureId("dowel_holes");
      if (plate_dowels) std::get<Hole>(f.shape).diameter.upper_mm += 0.2;
    }
  }
  const auto plan = PlanWith(project, "dowels", Technique::kReamDowels);
  ASSERT_FALSE(plan);
  EXPECT_EQ(plan.error().code, ErrorCode::kNoPlan);
  EXPECT_NE(plan.error().message.find("not as wide"), std::string::npos) << plan.error().message;
}

// The joint's odds by each technique, in the plan's own list.
double OddsBy(const Plan& plan, const std::string& subject, Technique technique) {
  for (const JointPlan& joint : plan.joints) {
    if (joint.name != subject) continue;
    if (joint.technique == technique) return plan.odds.all.odds;
    for (const TechniqueOption& option : joint.alternatives) {
      if (option.technique == technique) return option.odds;
    }
  }
  return -1;
}

TEST(Together, ProposedWhereItPaysAndWeighedAgainstTheOthers) {
  for (const auto& [name, subject, technique] :
       {Way{"dowelled_plate", "dowels", Technique::kReamDowels},
        Way{"pinned_crank", "cross_pin", Technique::kDrillTogether},
        Way{"two_pedestals", "bores_in_line", Technique::kBoreInLine}}) {
    const files::Project project = Load(name);
    planner::PlannerOptions options;
    options.final_builds = 4000;
    options.work.budget = 400;
    const auto plan = planner::MakePlan(project.machine, project.shop, {}, options);
    ASSERT_TRUE(plan) << Format(plan.error());
    const double together = OddsBy(*plan, subject, technique);
    EXPECT_GE(together, OddsBy(*plan, subject, Technique::kByCoordinates)) << name;
    const auto joint = std::find_if(plan->joints.begin(), plan->joints.end(),
                                    [&subject = subject](const JointPlan& j) { return j.name == subject; });
    EXPECT_EQ(joint->technique, technique) << name << " " << joint->reason;
  }
}

}  // namespace
}  // namespace fitwright
