// A full disk and a folder that may not be written: said in words, and nothing is harmed.
#include <sys/wait.h>
#include <unistd.h>

#include "tests/store/faulty_disk.h"
#include "tests/store/samples.h"

namespace fitwright::store_test {
namespace {

TEST(FullDisk, IsSaidAndNothingIsHarmed) {
  int full = 0;
  for (std::int64_t room = 0; room <= 400000; room += 8000) {
    FaultyDisk disk("full_disk");
    disk.SetRoom(room);
    std::map<std::string, std::string> acknowledged;
    auto log = BuildLogStore::Open("build.db", {0, disk.name()});
    std::optional<Error> met;
    if (!log) met = log.error();
    for (int i = 0; i < 200 && !met; ++i) {
      const auto kept = log->Append({ReadingOf("s01.1", i, std::string(1500, 't'))}, PlanOf(std::to_string(i / 50)));
      if (kept) acknowledged[kept->front().id] = Spelt(kept->front());
      else met = kept.error();
    }
    if (met) {
      ++full;
      EXPECT_EQ(met->code, ErrorCode::kFileUnwritable) << room << Format(*met);
      EXPECT_NE(met->message.find("the disk is full"), std::string::npos) << room << Format(*met);
    }
    disk.SetRoom(-1);
    if (!log) log = BuildLogStore::Open("build.db", {0, disk.name()});
    ASSERT_TRUE(log) << room << Format(log.error());
    ASSERT_TRUE(log->Append({Note("there is room again")})) << room;
    const auto again = log->Read();
    ASSERT_TRUE(again) << room;
    ASSERT_EQ(again->events.size(), acknowledged.size() + 1) << room;
    for (std::size_t i = 0; i + 1 < again->events.size(); ++i) {
      EXPECT_EQ(Spelt(again->events[i]), acknowledged[again->events[i].id]) << room;
    }
  }
  EXPECT_GT(full, 20);
}

TEST(ReadOnly, DiskIsSaid) {
  FaultyDisk disk("read_only");
  { ASSERT_TRUE(BuildLogStore::Open("build.db", {0, disk.name()})); }
  const auto before = disk.Files();
  disk.SetReadOnly(true);
  const auto log = BuildLogStore::Open("build.db", {0, disk.name()});
  ASSERT_FALSE(log);
  EXPECT_EQ(log.error().code, ErrorCode::kFileUnwritable);
  EXPECT_NE(log.error().remedy.find("may be written"), std::string::npos);
  EXPECT_TRUE(disk.Files() == before);
}

// Runs `what` as somebody who may not write the folder; root may write any. Its exit status.
template <typename Do>
int AsNobody(Do what) {
  constexpr uid_t kNobody = 65534;
  const pid_t child = ::fork();
  if (child == 0) {
    if (::geteuid() == 0 && ::setuid(kNobody) != 0) ::_exit(99);
    ::_exit(what());
  }
  int status = 0;
  ::waitpid(child, &status, 0);
  return WIFEXITED(status) ? WEXITSTATUS(status) : 98;
}

class ReadOnlyFolder : public ::testing::Test {
 protected:
  void SetUp() override {
    {
      auto log = BuildLogStore::Open(folder_.Log());
      ASSERT_TRUE(log);
      ASSERT_TRUE(log->Append({Note("kept before")}));
    }
    before_ = BytesOf(folder_.Log());
    fs::permissions(folder_.Log(), fs::perms(0444));
    fs::permissions(folder_.path(), fs::perms(0555));
  }
  void TearDown() override {
    fs::permissions(folder_.path(), fs::perms(0755));
    EXPECT_TRUE(BytesOf(folder_.Log()) == before_);
    std::set<std::string> names;
    for (const auto& entry : fs::directory_iterator(folder_.path())) names.insert(entry.path().filename().string());
    EXPECT_EQ(names, (std::set<std::string>{"build.db"}));
  }
  TempFolder folder_;
  std::string before_;
};

TEST_F(ReadOnlyFolder, TheLogCanBeRead) {
  const int status = AsNobody([&] {
    const auto log = BuildLogStore::OpenToRead(folder_.Log());
    if (!log) return 1;
    const auto read = log->Read();
    return read && read->events.size() == 1 && read->events[0].text == "kept before" ? 0 : 2;
  });
  EXPECT_EQ(status, 0);
}

TEST_F(ReadOnlyFolder, RecordingIsRefusedInWords) {
  const int status = AsNobody([&] {
    auto log = BuildLogStore::Open(folder_.Log(), {100, ""});
    Error met;
    if (log) {
      const auto kept = log->Append({Note("not to be kept")});
      if (kept) return 1;
      met = kept.error();
    } else {
      met = log.error();
    }
    return met.code == ErrorCode::kFileUnwritable && met.remedy.find("may be written") != std::string::npos ? 0 : 2;
  });
  EXPECT_EQ(status, 0);
}

}  // namespace
}  // namespace fitwright::store_test
