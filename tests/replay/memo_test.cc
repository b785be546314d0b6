// The report does not depend on threads nor on what is remembered; damaged files are not believed.
#include "fitwright/replay/memo.h"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include "fitwright/replay/in_process.h"
#include "fitwright/replay/replay.h"
#include "fitwright/solid/measure.h"
#include "tests/support/replay_samples.h"

namespace fitwright {
namespace {

namespace fs = std::filesystem;

class CacheFolder {
 public:
  explicit CacheFolder(const std::string& name)
      : path_(fs::path(testing::TempDir()) / ("fitwright_" + name)) {
    fs::remove_all(path_);
  }
  ~CacheFolder() { fs::remove_all(path_); }
  const fs::path& path() const { return path_; }
  std::vector<fs::path> Files() const {
    std::vector<fs::path> files;
    for (const auto& entry : fs::directory_iterator(path_)) files.push_back(entry.path());
    std::sort(files.begin(), files.end());
    return files;
  }

 private:
  fs::path path_;
};

std::string TextOf(const ReplayReport& report) {
  std::string text = report.ok ? "ok\n" : "not ok\n";
  for (const ReplayPart& p : report.parts) {
    text += fmt::format("{} {} {} {} {}\n", p.name.text(), p.steps, p.design_volume_mm3,
                        p.made_volume_mm3, p.difference_mm3);
    for (const ReplayViolation& v : p.violations)
      text += fmt::format(" {} {} {}\n", v.step.text(), v.rule, v.say);
  }
  return text;
}

// Sound, and one with findings in seating, steps and judgement.
std::vector<Plan> TwoPlans(const Shop& shop) {
  std::vector<Plan> plans = {samples::SamplePlan(shop), samples::SamplePlan(shop)};
  plans[1].setups[0].contacts[0].point_P_mm.z() -= 1;
  plans[1].setups[1].steps.erase(plans[1].setups[1].steps.begin() + 7);
  plans[1].setups[2].steps[1].path[0].points_S_mm[0].z() -= 1;
  return plans;
}

std::string ReportText(const Plan& plan, const replay::ReplayOptions& options) {
  const auto report =
      replay::Replay(samples::SampleMachine(), samples::SampleShop(), plan, options);
  EXPECT_TRUE(report) << Format(report.error());
  return report ? TextOf(*report) : std::string();
}

TEST(Memo, ThreadsAndCacheChangeNothing) {
  const Shop shop = samples::SampleShop();
  for (const Plan& plan : TwoPlans(shop)) {
    const CacheFolder folder("same");
    replay::ReplayOptions options;
    const std::string plain = ReportText(plan, options);
    options.threads = 2;
    EXPECT_EQ(ReportText(plan, options), plain);
    options.threads = 8;
    options.cache_dir = folder.path();
    EXPECT_EQ(ReportText(plan, options), plain) << "while the cache is filled";
    EXPECT_FALSE(folder.Files().empty());
    options.threads = 1;
    EXPECT_EQ(ReportText(plan, options), plain) << "from the cache";
  }
}

TEST(Memo, DamagedFilesAreComputedAgain) {
  const Shop shop = samples::SampleShop();
  const Plan plan = samples::SamplePlan(shop);
  const CacheFolder folder("damaged");
  replay::ReplayOptions options;
  options.cache_dir = folder.path();
  const std::string plain = ReportText(plan, options);
  std::size_t turn = 0;
  for (const fs::path& file : folder.Files()) {
    if (turn++ % 2 == 0) {
      fs::resize_file(file, fs::file_size(file) / 2);
    } else {
      std::fstream bytes(file, std::ios::in | std::ios::out | std::ios::binary);
      bytes.seekp(static_cast<std::streamoff>(fs::file_size(file) / 2));
      bytes.put('\x5a');
      bytes.put('\xa5');
    }
  }
  EXPECT_EQ(ReportText(plan, options), plain);
}

TEST(Memo, FolderStaysSmall) {
  const Shop shop = samples::SampleShop();
  const CacheFolder folder("small");
  replay::ReplayOptions options;
  options.cache_dir = folder.path();
  options.cache_bytes_most = 20'000;
  ReportText(samples::SamplePlan(shop), options);
  std::uintmax_t total = 0;
  for (const fs::path& file : folder.Files()) total += fs::file_size(file);
  EXPECT_GT(total, 0U);
  EXPECT_LE(total, 20'000U);
}

TEST(Memo, UnusableFolderIsNoError) {
  const Shop shop = samples::SampleShop();
  replay::ReplayOptions options;
  options.cache_dir = "/proc/no_such_place/cache";
  EXPECT_EQ(ReportText(samples::SamplePlan(shop), options).substr(0, 3), "ok\n");
}

TEST(Memo, ChangedToolIsNotRemembered) {
  Shop shop = samples::SampleShop();
  const Plan plan = samples::SamplePlan(shop);
  const CacheFolder folder("tool");
  replay::ReplayOptions options;
  options.cache_dir = folder.path();
  ASSERT_TRUE(replay::Replay(samples::SampleMachine(), shop, plan, options)->ok);
  for (Tool& t : shop.tools) {
    if (t.name.text() == "drill_6") t.point_deg = 135;
  }
  EXPECT_FALSE(replay::Replay(samples::SampleMachine(), shop, plan, options)->ok);
}

TEST(Replay, StopsWhenAsked) {
  const Shop shop = samples::SampleShop();
  CancelFlag flag;
  flag.Cancel();
  replay::ReplayOptions options;
  options.cancel = &flag;
  const auto report =
      replay::Replay(samples::SampleMachine(), shop, samples::SamplePlan(shop), options);
  ASSERT_FALSE(report);
  EXPECT_EQ(report.error().code, ErrorCode::kStopped);
}

TEST(InProcess, PiecesStandAsTheStepsLeaveThem) {
  const Shop shop = samples::SampleShop();
  const Machine machine = samples::SampleMachine();
  const Plan plan = samples::SamplePlan(shop);
  const auto all = replay::MakeSetupPieces(machine, shop, plan);
  ASSERT_TRUE(all) << Format(all.error());
  ASSERT_EQ(all->size(), plan.setups.size());
  // Volumes by hand: stock of the block 40 x 30 x 22, and two millimetres faced off it.
  constexpr double kByHand_mm3 = 1e-6;
  const auto& block = (*all)[1];
  EXPECT_NEAR(solid::CalcVolume_mm3(block.before[0].solid_P), 40.0 * 30 * 22, kByHand_mm3);
  EXPECT_FALSE(block.before[1].present);
  const auto faced = replay::MakePiecesAfter(machine, shop, plan, StepId("s02.1"));
  ASSERT_TRUE(faced) << Format(faced.error());
  EXPECT_NEAR(solid::CalcVolume_mm3(faced->front().solid_P), 40.0 * 30 * 20, kByHand_mm3);
  const auto on = replay::MakePiecesAfter(machine, shop, plan, StepId("s02.4"));
  ASSERT_TRUE(on);
  EXPECT_TRUE((*on)[1].present);
  EXPECT_FALSE(replay::MakePiecesAfter(machine, shop, plan, StepId("s99.1")));
}

}  // namespace
}  // namespace fitwright
