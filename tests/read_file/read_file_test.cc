// A project out, as STEP, and in again.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "fitwright/service/solid/read_file.h"
#include "fitwright/service/solid/use_cases.h"

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

  fs::path Exported(const std::string& example) const {
    Diagnostics faults;
    const auto opened = service::Open({fs::path(FITWRIGHT_SOURCE_DIR) / "examples" / example, {}, {}}, faults);
    EXPECT_TRUE(opened.has_value());
    const fs::path file = folder_ / (example + ".step");
    const Status written = service::ExportStep(*opened, {file, {}, {}}, {});
    EXPECT_TRUE(written.has_value());
    return file;
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
  EXPECT_TRUE(fs::exists(folder_ / "project/parts/bush.step"));
  EXPECT_THAT(service::ReadReport(*read, {}), HasSubstr("Every face of every part is explained."));
  EXPECT_THAT(service::ReadToJson(*read), HasSubstr("\"all_read\": true"));
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
