// Planning again what has not changed: recalled only under all that it was worked out from, and
// proved as ever.
#include <gtest/gtest.h>

#include <cstdlib>
#include <set>

#include "fitwright/files/plan_json.h"
#include "fitwright/service/solid/kept_plan.h"
#include "fitwright/service/solid/use_cases.h"
#include "tests/app/run_program.h"
#include "tests/support/plan_builders.h"

namespace fitwright {
namespace {

using app::ReadFile;
using app::WriteFile;
using service::KeptPlan;
using service::PlanUse;
namespace fs = std::filesystem;

class PlanAgain : public ::testing::Test {
 protected:
  PlanAgain() { TakeCache("cache"); }
  void TakeCache(const std::string& name) {
    ::setenv("XDG_CACHE_HOME", (folder_.path() / name).c_str(), 1);
  }
  std::vector<fs::path> Kept() const {
    std::vector<fs::path> files;
    for (const auto& entry : fs::recursive_directory_iterator(folder_.path())) {
      if (entry.path().extension() == ".plan") files.push_back(entry.path());
    }
    return files;
  }

  app::Folder folder_;
};

files::Project ProjectOf(const std::string& inputs_hash) {
  files::Project project;
  project.inputs_hash = inputs_hash;
  return project;
}

Plan SmallPlan() {
  testing::PlanBuilder builder;
  builder.AddSetup("block", "mill", HoldingKind::kViseBedFirst, "vise", Pose::Identity());
  builder.Cut(Operation::kFace, "top").time_min = 0.1 + 0.2;
  builder.plan.hours_cutting = 1.0 / 3;
  return builder.plan;
}

TEST_F(PlanAgain, AnyOtherInputIsAnotherKey) {
  std::vector<PlanUse> uses(7);
  uses[1].seed = 2;
  uses[2].builds = 20001;
  uses[3].work.budget = 7;
  uses[4].wish = planner::Wish::kQuickest;
  uses[5].sure = 0.9;
  uses[6].version = "another";
  std::set<std::string> keys = {KeptPlan(ProjectOf("another"), PlanUse{}).key()};
  for (const PlanUse& use : uses) keys.insert(KeptPlan(ProjectOf("one"), use).key());
  EXPECT_EQ(keys.size(), uses.size() + 1);
  PlanUse threads;
  threads.threads = 1;
  EXPECT_TRUE(keys.contains(KeptPlan(ProjectOf("one"), threads).key())) << "threads change nothing";
}

TEST_F(PlanAgain, OnlyWhatWasKeptUnderTheSameKeyIsRecalled) {
  const KeptPlan kept(ProjectOf("one"), {});
  EXPECT_FALSE(kept.Find());
  kept.Save(SmallPlan());
  const auto found = kept.Find();
  ASSERT_TRUE(found);
  EXPECT_EQ(files::PlanToJson(*found), files::PlanToJson(SmallPlan()));
  const KeptPlan other(ProjectOf("other"), {});
  EXPECT_FALSE(other.Find());
  // Laid in the other's place it is still not the other's.
  const fs::path own = Kept().front();
  other.Save(SmallPlan());
  for (const fs::path& file : Kept()) {
    if (file != own) fs::copy_file(own, file, fs::copy_options::overwrite_existing);
  }
  EXPECT_FALSE(other.Find());
  PlanUse offers;
  offers.offers = true;
  const KeptPlan more(ProjectOf("one"), offers);
  more.Save(SmallPlan());
  EXPECT_FALSE(more.Find()) << "offers are not kept";
}

TEST_F(PlanAgain, WhatIsDamagedIsNotRecalled) {
  const KeptPlan kept(ProjectOf("one"), {});
  kept.Save(SmallPlan());
  const fs::path file = Kept().front();
  const std::string whole = ReadFile(file);
  for (std::size_t i = 0; i < whole.size(); i += 5) {
    std::string spoiled = whole;
    spoiled[i] = static_cast<char>(spoiled[i] ^ 1);
    WriteFile(file, spoiled);
    EXPECT_FALSE(kept.Find()) << "byte " << i;
    WriteFile(file, whole.substr(0, i));
    EXPECT_FALSE(kept.Find()) << "cut off at " << i;
  }
  WriteFile(file, whole);
  EXPECT_TRUE(kept.Find());
}

class BushedBlockAgain : public PlanAgain {
 protected:
  BushedBlockAgain() : dir_(folder_.Example("bushed-block")) {}

  service::Opened Open() const {
    Diagnostics faults;
    auto opened = service::Open({dir_, {}, {}}, faults);
    EXPECT_TRUE(opened);
    return *opened;
  }
  // The bytes of plan.json.
  std::string Planned() {
    const auto proved = service::MakeProvedPlan(Open(), use_);
    EXPECT_TRUE(proved && proved->replay.ok);
    return ReadFile(dir_ / "plan.json");
  }

  fs::path dir_;
  PlanUse use_ = [] {
    PlanUse use;
    use.builds = 2000;
    return use;
  }();
};

TEST_F(BushedBlockAgain, ComesToTheSameBytesWithAndWithoutWhatIsKept) {
  const std::string before = Planned();
  EXPECT_EQ(Planned(), before);
  const fs::path foot = dir_ / "parts/foot.toml";
  app::Replace(foot, "[[-12, 12], [12, 12]]", "[[-11, 12], [11, 12]]");
  app::Replace(dir_ / "parts/block.toml", "[[-12, 12], [12, 12]]", "[[-11, 12], [11, 12]]");
  const std::string changed = Planned();
  EXPECT_NE(changed, before);
  TakeCache("empty");
  EXPECT_EQ(Planned(), changed);
  TakeCache("cache");
  app::Replace(foot, "[[-11, 12], [11, 12]]", "[[-12, 12], [12, 12]]");
  app::Replace(dir_ / "parts/block.toml", "[[-11, 12], [11, 12]]", "[[-12, 12], [12, 12]]");
  EXPECT_EQ(Planned(), before);
}

// A plan whose first cut is gone, kept as if it were the plan: it comes back as kept, and the proof
// finds the fault.
TEST_F(BushedBlockAgain, WhatIsRecalledIsProvedAgain) {
  const auto first = service::MakeProvedPlan(Open(), use_);
  ASSERT_TRUE(first && first->replay.ok);
  const KeptPlan kept(Open().project, use_);
  Plan spoiled = *kept.Find();
  for (fitwright::Setup& setup : spoiled.setups) {
    std::erase_if(setup.steps, [](const Step& step) { return step.operation == Operation::kBore; });
  }
  kept.Save(spoiled);
  const auto again = service::MakeProvedPlan(Open(), use_);
  ASSERT_TRUE(again);
  EXPECT_FALSE(again->replay.ok);
  EXPECT_NE(again->plan.warnings.front().find("Do not cut to this plan"), std::string::npos);
}

}  // namespace
}  // namespace fitwright
