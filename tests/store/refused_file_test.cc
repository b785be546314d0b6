// A file that is newer, damaged or something else is refused in words and left to the byte.
#include <sqlite3.h>

#include <random>

#include "tests/store/samples.h"

namespace fitwright::store_test {
namespace {

void Execute(const fs::path& file, const std::string& sql) {
  sqlite3* handle = nullptr;
  ASSERT_EQ(sqlite3_open(file.c_str(), &handle), SQLITE_OK);
  EXPECT_EQ(sqlite3_exec(handle, sql.c_str(), nullptr, nullptr, nullptr), SQLITE_OK) << sqlite3_errmsg(handle);
  sqlite3_close(handle);
}

void MakeLog(const fs::path& file, int events = 30) {
  auto log = BuildLogStore::Open(file);
  ASSERT_TRUE(log) << Format(log.error());
  std::vector<LogEvent> all;
  for (int i = 0; i < events; ++i) {
    all.push_back(i % 3 == 0 ? ReadingOf("s01.1", 40 + 0.001 * i, fmt::format("40.{:03}", i))
                             : Event(LogKind::kNote, "s01.1", "a note of some length, no. " + std::to_string(i)));
  }
  ASSERT_TRUE(log->Append(all, PlanOf(std::string(9000, 'p'))));
}

void ExpectRefused(const fs::path& file, ErrorCode code) {
  const std::string before = BytesOf(file);
  for (const bool to_read : {false, true}) {
    const auto log = to_read ? BuildLogStore::OpenToRead(file) : BuildLogStore::Open(file);
    ASSERT_FALSE(log) << to_read;
    EXPECT_EQ(log.error().code, code) << Format(log.error());
    EXPECT_EQ(log.error().where.file, file.string());
    EXPECT_FALSE(log.error().remedy.empty());
  }
  EXPECT_TRUE(BytesOf(file) == before);
}

TEST(RefusedFile, OfANewerVersion) {
  const TempFolder folder;
  MakeLog(folder.Log());
  Execute(folder.Log(), "PRAGMA user_version = 2");
  ExpectRefused(folder.Log(), ErrorCode::kSchemaVersion);
}

TEST(RefusedFile, OfANewerVersionNotYetMovedIntoTheFile) {
  const TempFolder folder;
  MakeLog(folder.Log());
  sqlite3* handle = nullptr;
  ASSERT_EQ(sqlite3_open(folder.Log().c_str(), &handle), SQLITE_OK);
  ASSERT_EQ(sqlite3_exec(handle, "PRAGMA user_version = 2", nullptr, nullptr, nullptr), SQLITE_OK);
  const TempFolder copy;  // as a crash of the newer program leaves it
  for (const char* ending : {"", "-wal"}) {
    fs::copy_file(folder.Log().string() + ending, copy.Log().string() + ending);
  }
  sqlite3_close(handle);
  const std::string before = BytesOf(copy.Log().string() + "-wal");
  ExpectRefused(copy.Log(), ErrorCode::kSchemaVersion);
  EXPECT_TRUE(BytesOf(copy.Log().string() + "-wal") == before);
}

TEST(RefusedFile, AnotherProgramsDatabase) {
  const TempFolder folder;
  Execute(folder.Log(), "CREATE TABLE letters (text TEXT); INSERT INTO letters VALUES ('dear')");
  ExpectRefused(folder.Log(), ErrorCode::kFileUnreadable);
}

TEST(RefusedFile, NoDatabase) {
  const TempFolder folder;
  WriteBytes(folder.Log(), std::string(5000, 'x'));
  ExpectRefused(folder.Log(), ErrorCode::kFileUnreadable);
  WriteBytes(folder.Log(), "a few words");
  ExpectRefused(folder.Log(), ErrorCode::kFileUnreadable);
}

TEST(RefusedFile, CutShort) {
  const TempFolder folder;
  MakeLog(folder.Log());
  const std::string whole = BytesOf(folder.Log());
  for (const std::size_t share : {1U, 2U, 3U}) {
    WriteBytes(folder.Log(), whole.substr(0, whole.size() * share / 4));
    ExpectRefused(folder.Log(), ErrorCode::kFileUnreadable);
  }
}

TEST(RefusedFile, EmptyWithItsLastWritesBesideIt) {
  const TempFolder folder;
  auto log = BuildLogStore::Open(folder.Log());
  ASSERT_TRUE(log);
  ASSERT_TRUE(log->Append({Note("kept")}));
  const TempFolder copy;
  const fs::path last = copy.Log().string() + "-wal";
  fs::copy_file(folder.Log().string() + "-wal", last);
  const std::string before = BytesOf(last);
  for (const bool there : {false, true}) {
    if (there) WriteBytes(copy.Log(), "");
    const auto opened = BuildLogStore::Open(copy.Log());
    ASSERT_FALSE(opened);
    EXPECT_EQ(opened.error().code, ErrorCode::kFileUnreadable);
    EXPECT_TRUE(BytesOf(last) == before);
  }
}

// Whatever byte is changed: the log reads as it was written, or it is refused. Never another log.
TEST(RefusedFile, ABytesChangeIsFoundOrHarmless) {
  const TempFolder folder;
  MakeLog(folder.Log());
  const std::string whole = BytesOf(folder.Log());
  const auto read = BuildLogStore::Open(folder.Log())->Read();
  ASSERT_TRUE(read);
  std::mt19937_64 chance(7);
  const int rounds = IsDeep() ? 5000 : 400;
  int refused = 0;
  for (int i = 0; i < rounds; ++i) {
    std::string changed = whole;
    const std::size_t at = chance() % whole.size();
    changed[at] = static_cast<char>(changed[at] ^ static_cast<char>(1 + chance() % 255));
    const TempFolder other;
    WriteBytes(other.Log(), changed);
    const auto log = BuildLogStore::Open(other.Log());
    if (!log) {
      ++refused;
      EXPECT_TRUE(BytesOf(other.Log()) == changed) << "byte " << at;
      continue;
    }
    const auto seen = log->Read();
    ASSERT_TRUE(seen) << "byte " << at;
    ASSERT_EQ(seen->events.size(), read->events.size()) << "byte " << at;
    for (std::size_t k = 0; k < read->events.size(); ++k) {
      EXPECT_EQ(Spelt(seen->events[k]), Spelt(read->events[k])) << "byte " << at;
    }
    EXPECT_EQ(seen->revisions[0].plan_json, read->revisions[0].plan_json) << "byte " << at;
  }
  EXPECT_GT(refused, rounds / 3);
}

}  // namespace
}  // namespace fitwright::store_test
