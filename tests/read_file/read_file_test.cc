// A project out, as STEP, and in again.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "fitwright/service/solid/read_file.h"
#include "fitwright/service/solid/use_cases.h"
#include "fitwright/solid/primitives.h"
#include "fitwright/solid/step_io.h"

namespace fitwright {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;

class ReadsAFile : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::temp_directory_path() / ("fitwright_read_" + std::to_string(::getpid()));
    fs::create_directories(folder_);
  }
  void TearDown() override { fs::remove_all(folder_); }

  static fs::path Example(const std::string& example) { return fs::path(FITWRIGHT_SOURCE_DIR) / "examples" / example; }
  static service::Opened Opened(const fs::path& dir) {
    Diagnostics faults;
    auto opened = service::Open({dir, {}, {}}, faults);
    EXPECT_TRUE(opened.has_value()) << dir << (opened ? "" : Format(opened.error()));
    return opened ? *std::move(opened) : service::Opened{};
  }
  fs::path Export(const service::Opened& opened, const std::string& name) const {
    const fs::path file = folder_ / (name + ".step");
    const Status written = service::ExportStep(opened, {file, {}, {}}, {});
    EXPECT_TRUE(written.has_value());
    return file;
  }
  fs::path Exported(const std::string& example) const { return Export(Opened(Example(example)), example); }
  static std::string TextOf(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
  }
  service::ReadUse Use(const fs::path& file) const { return {file, folder_ / "project", "aluminium", {}}; }
  // What lies in the folder besides the files that the test put there.
  bool NothingLeft() const { return !fs::exists(folder_ / "project") && std::distance(fs::directory_iterator(folder_), {}) <= 1; }

  fs::path folder_;
};

TEST_F(ReadsAFile, OfTheBushedBlockWithPartsJointsAndNothingUnread) {
  const auto read = service::ReadFile(Use(Exported("bushed-block")));
  ASSERT_TRUE(read) << Format(read.error());
  EXPECT_EQ(read->parts.size(), 3U);
  EXPECT_TRUE(read->unread.empty());
  const auto screwed = std::count_if(read->machine.joints.begin(), read->machine.joints.end(),
                                     [](const Joint& j) { return j.kind == JointKind::kScrewedPattern; });
  EXPECT_EQ(screwed, 2);
  Diagnostics faults;
  const auto opened = service::Open({folder_ / "project", {}, {}}, faults);
  ASSERT_TRUE(opened) << faults.errors().size();
  EXPECT_EQ(opened->project.machine.parts.size(), 3U);
  for (const Part& part : opened->project.machine.parts) EXPECT_EQ(part.material, "aluminium");
  // Something stands over every face: the next size sold, not the part's own.
  const Stock& stock = opened->project.machine.FindPart(PartId("block"))->stock;
  EXPECT_TRUE(stock.proposed);
  EXPECT_GT(stock.box_P.size_mm().minCoeff(), 40.5);
  EXPECT_TRUE(fs::exists(folder_ / "project/parts/bush.step"));
  EXPECT_THAT(service::ReadReport(*read, {}), HasSubstr("Every face of every part is explained."));
  EXPECT_THAT(service::ReadToJson(*read), HasSubstr("\"all_read\": true"));
}

std::string Said(const std::vector<service::Doubt>& doubts) {
  std::string text;
  for (const auto& one : doubts) text += one.where + ": " + one.words + "\n";
  return text;
}

// Equal bytes of all that a plan is made from: the same plan follows.
TEST_F(ReadsAFile, AndWhatWasTypedIsFoundAgainToTheByte) {
  const fs::path typed = Example("bushed-block");
  service::ReadUse use = Use(Exported("bushed-block"));
  use.confirm_from = typed;
  const auto read = service::ReadFile(use);
  ASSERT_TRUE(read) << Format(read.error());
  EXPECT_EQ(Said(read->changes), "");
  EXPECT_EQ(Said(read->proposed), "");
  for (const char* file : {"machine.toml", "parts/block.toml", "parts/bush.toml", "parts/foot.toml"}) {
    EXPECT_EQ(TextOf(folder_ / "project" / file), TextOf(typed / file)) << file;
  }
  EXPECT_EQ(Opened(folder_ / "project").project.inputs_hash, Opened(typed).project.inputs_hash);
}

TEST_F(ReadsAFile, AgainAndWhatWasConfirmedStays) {
  service::Opened opened = Opened(Example("bushed-block"));
  service::ReadUse use = Use(Exported("bushed-block"));
  use.confirm_from = Example("bushed-block");
  ASSERT_TRUE(service::ReadFile(use));
  std::ofstream(folder_ / "project/notes.txt") << "mine";
  // The designer moves a bore, leaves the lead out and drills a hole more.
  Part& block = *std::find_if(opened.project.machine.parts.begin(), opened.project.machine.parts.end(),
                              [](const Part& p) { return p.name == PartId("block"); });
  std::erase_if(block.features, [](const Feature& f) { return f.name == FeatureId("bore_lead"); });
  for (Feature& feature : block.features) {
    if (feature.name != FeatureId("side_holes")) continue;
    for (Vec3& entry : std::get<Hole>(feature.shape).entries_P_mm) entry.z() += 2;
  }
  Feature more;
  more.name = FeatureId("drain");
  Hole hole;
  hole.into_P = -Vec3::UnitX();
  hole.entries_P_mm = {{30, 15, 6}};
  hole.diameter = {5, 5, 5, LimitsOrigin::kGeneralTolerance, ""};
  hole.depth_mm = 8;
  more.shape = hole;
  block.features.push_back(more);
  use.file = Export(opened, "changed");
  use.confirm_from.clear();
  const auto read = service::ReadFile(use);
  ASSERT_TRUE(read) << Format(read.error());
  const std::string said = Said(read->changes);
  EXPECT_THAT(said, HasSubstr("block.side_holes: it stands elsewhere"));
  EXPECT_THAT(said, HasSubstr("block.bore_lead: gone"));
  EXPECT_THAT(said, HasSubstr("new, 5 mm"));
  EXPECT_EQ(TextOf(folder_ / "project/notes.txt"), "mine");
  EXPECT_EQ(TextOf(folder_ / "project/parts/bush.toml"), TextOf(Example("bushed-block") / "parts/bush.toml"));
  const service::Opened again = Opened(folder_ / "project");
  const Part* kept = again.project.machine.FindPart(PartId("block"));
  ASSERT_NE(kept, nullptr);
  EXPECT_EQ(kept->material, "aluminium");
  const Feature* bore = kept->Find(FeatureId("bore"));
  ASSERT_NE(bore, nullptr);
  EXPECT_EQ(std::get<Hole>(bore->shape).diameter.fit, "H7");
  const Feature* side = kept->Find(FeatureId("side_holes"));
  ASSERT_NE(side, nullptr);
  EXPECT_TRUE(std::get<Hole>(side->shape).thread.has_value());
  EXPECT_EQ(kept->Find(FeatureId("bore_lead")), nullptr);
  EXPECT_THAT(TextOf(folder_ / "project/parts/block.toml"), HasSubstr("[gone]\nfeatures = [\"bore_lead\"]"));
  EXPECT_EQ(again.project.machine.joints.size(), opened.project.machine.joints.size());
}

// A diameter under 0.5 mm needs limits, which the file does not say: no sheet of turned work is left.
TEST_F(ReadsAFile, APinThatNoSheetCanSayIsABlockShapedByHand) {
  const auto pin = solid::MakeCylinder({Vec3::Zero(), Vec3::UnitZ()}, 0, 6, 0.4);
  ASSERT_TRUE(pin);
  const fs::path file = folder_ / "pin.step";
  ASSERT_TRUE(solid::WriteStep({{"pin", *pin, Pose::Identity()}}, file.string(),
                               {"pin", LengthUnit::kMillimetre, "2000-01-01T00:00:00"}));
  const auto read = service::ReadFile(Use(file));
  ASSERT_TRUE(read) << Format(read.error());
  ASSERT_EQ(read->machine.parts.size(), 1U);
  const Part& part = read->machine.parts[0];
  EXPECT_EQ(part.envelope, EnvelopeKind::kBlock);
  ASSERT_EQ(part.unread.size(), 1U);
  EXPECT_EQ(part.unread[0].faces.size(), 3U);
  EXPECT_NEAR(part.unread[0].volume_mm3, 6 * 0.16 * (1 - kPi / 4), 1e-3);
  EXPECT_NEAR(part.unread[0].area_mm2, kPi * (0.4 * 6 + 0.5 * 0.16), 1e-3);
  Diagnostics faults;
  EXPECT_TRUE(service::Open({folder_ / "project", {}, {}}, faults));
}

TEST_F(ReadsAFile, OnlyIntoAnEmptyPlace) {
  const fs::path file = Exported("bushed-block");
  fs::create_directories(folder_ / "project");
  std::ofstream(folder_ / "project/mine.txt") << "keep";
  const auto read = service::ReadFile(Use(file));
  ASSERT_FALSE(read);
  EXPECT_EQ(read.error().code, ErrorCode::kFileUnwritable);
  EXPECT_TRUE(fs::exists(folder_ / "project/mine.txt"));
}

TEST_F(ReadsAFile, WhatIsNoStepIsRefusedAndNothingIsLeft) {
  const fs::path file = folder_ / "letter.step";
  std::ofstream(file) << "Dear builder,\n";
  const auto read = service::ReadFile(Use(file));
  ASSERT_FALSE(read);
  EXPECT_EQ(read.error().code, ErrorCode::kFileUnreadable);
  EXPECT_TRUE(NothingLeft());
  EXPECT_EQ(service::ReadFile(Use(folder_ / "nothing.step")).error().code, ErrorCode::kFileMissing);
}

}  // namespace
}  // namespace fitwright
