// From one version of the file to the next, and never half way.
#include "fitwright/store/migrations.h"

#include <array>

#include "tests/store/samples.h"

namespace fitwright::store_test {
namespace {

using store::AskInteger;
using store::AskText;
using store::Database;
using store::FileState;
using store::Migration;

const std::array<Migration, 2> kNext = {store::Migrations()[0], Migration{2, "ALTER TABLE event ADD COLUMN heat TEXT"}};
const std::array<Migration, 2> kBroken = {
    store::Migrations()[0], Migration{2, "ALTER TABLE event ADD COLUMN heat TEXT; INSERT INTO nowhere VALUES (1)"}};

Database OpenDatabase(const fs::path& file) {
  auto database = Database::Open(file.string(), SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, "", file.string());
  EXPECT_TRUE(database);
  return *std::move(database);
}

Status MigrateIn(Database& database, std::span<const Migration> migrations) {
  EXPECT_TRUE(database.Run("BEGIN IMMEDIATE"));
  Status done = store::Migrate(database, migrations);
  EXPECT_TRUE(database.Run(done ? "COMMIT" : "ROLLBACK"));
  return done;
}

class Migrations : public ::testing::Test {
 protected:
  void SetUp() override {
    auto log = BuildLogStore::Open(folder_.Log());
    ASSERT_TRUE(log);
    ASSERT_TRUE(log->Append({ReadingOf("s01.1", 40.03, "40.03")}, PlanOf("plan")));
  }
  TempFolder folder_;
};

TEST_F(Migrations, AnOlderFileIsTakenOnWithAllItHas) {
  Database database = OpenDatabase(folder_.Log());
  EXPECT_EQ(*store::CalcFileState(database, store::Migrations()), FileState::kCurrent);
  EXPECT_EQ(*store::CalcFileState(database, kNext), FileState::kOlder);
  ASSERT_TRUE(MigrateIn(database, kNext));
  EXPECT_EQ(*store::CalcFileState(database, kNext), FileState::kCurrent);
  EXPECT_EQ(*AskInteger(database, "SELECT count(*) FROM migration"), 2);
  EXPECT_EQ(*AskInteger(database, "SELECT count(*) FROM event WHERE heat IS NULL AND value_mm = 40.03"), 1);
  ASSERT_TRUE(MigrateIn(database, kNext));  // once more changes nothing
  EXPECT_EQ(*AskInteger(database, "SELECT count(*) FROM migration"), 2);
  const auto refused = BuildLogStore::Open(folder_.Log());  // this program knows version 1 only
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().code, ErrorCode::kSchemaVersion);
}

TEST_F(Migrations, OneThatFailsLeavesTheFileAsItWas) {
  {
    Database database = OpenDatabase(folder_.Log());
    EXPECT_FALSE(MigrateIn(database, kBroken));
    EXPECT_EQ(*store::CalcFileState(database, store::Migrations()), FileState::kCurrent);
  }
  const auto log = BuildLogStore::Open(folder_.Log());
  ASSERT_TRUE(log) << Format(log.error());
  EXPECT_EQ(log->Read()->events.size(), 1U);
}

TEST(MigrationList, RunsFromOneUpToTheLast) {
  int version = 0;
  for (const Migration& migration : store::Migrations()) EXPECT_EQ(migration.version, ++version);
  const TempFolder folder;
  Database database = OpenDatabase(folder.Log());
  EXPECT_EQ(*store::CalcFileState(database, store::Migrations()), FileState::kEmpty);
  ASSERT_TRUE(MigrateIn(database, store::Migrations()));
  EXPECT_EQ(*AskInteger(database, "PRAGMA user_version"), version);
  EXPECT_EQ(*AskInteger(database, "PRAGMA application_id"), store::kApplicationId);
}

}  // namespace
}  // namespace fitwright::store_test
