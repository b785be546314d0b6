// The log keeps what it is given, as it was given, and nothing else.
#include <sqlite3.h>

#include <limits>

#include "tests/store/samples.h"

namespace fitwright::store_test {
namespace {

// One value from the file by SQLite itself, as another program would read it.
std::string Ask(const fs::path& file, const char* sql) {
  sqlite3* handle = nullptr;
  std::string answer;
  EXPECT_EQ(sqlite3_open(file.c_str(), &handle), SQLITE_OK);
  char* message = nullptr;
  sqlite3_exec(
      handle, sql,
      [](void* to, int, char** values, char**) {
        *static_cast<std::string*>(to) += values[0] == nullptr ? "NULL" : values[0];
        return 0;
      },
      &answer, &message);
  if (message != nullptr) answer = message;
  sqlite3_free(message);
  sqlite3_close(handle);
  return answer;
}

TEST(BuildLog, KeepsEveryKindAsGiven) {
  const TempFolder folder;
  std::vector<LogEvent> given = {
      Event(LogKind::kStepDone, "s03.2"),
      ReadingOf("s03.2", 40.0304, "1.576in"),
      Event(LogKind::kStepUndone, "s03.2", "chatter, once more"),
      Note("tasse \xC3\xA0 caf\xC3\xA9\nsecond line \"quoted\" 'and' -- more;"),
      Event(LogKind::kPhoto, "s03.2", "bore.jpg"),
      Event(LogKind::kPartRemade, "", "dropped"),
      Event(LogKind::kShopChange, "", "new micrometer")};
  given[1].reading->value_mm = 0.1 + 0.2;
  given[4].part = PartId("ring#2");
  given[5].build = 2;
  std::vector<LogEvent> kept;
  {
    auto log = BuildLogStore::Open(folder.Log());
    ASSERT_TRUE(log) << Format(log.error());
    const auto appended = log->Append(given, PlanOf("{\"plan\": 1}"));
    ASSERT_TRUE(appended) << Format(appended.error());
    kept = *appended;
  }
  const auto again = BuildLogStore::OpenToRead(folder.Log());
  ASSERT_TRUE(again) << Format(again.error());
  const auto read = again->Read();
  ASSERT_TRUE(read) << Format(read.error());
  ASSERT_EQ(read->events.size(), given.size());
  for (std::size_t i = 0; i < given.size(); ++i) {
    given[i].id = kept[i].id;
    given[i].revision = 1;
    EXPECT_EQ(read->events[i].number, static_cast<std::int64_t>(i) + 1);
    EXPECT_EQ(Spelt(read->events[i]), Spelt(given[i]));
    EXPECT_EQ(Spelt(kept[i]), Spelt(given[i]));
  }
  ASSERT_EQ(read->revisions.size(), 1U);
  EXPECT_EQ(read->revisions[0].plan_json, "{\"plan\": 1}");
  EXPECT_EQ(read->revisions[0].inputs_hash, "0123456789abcdef");
}

TEST(BuildLog, IsAWriteAheadLogOfItsOwnKindAndVersion) {
  const TempFolder folder;
  ASSERT_TRUE(BuildLogStore::Open(folder.Log()));
  EXPECT_EQ(Ask(folder.Log(), "PRAGMA journal_mode"), "wal");
  EXPECT_EQ(Ask(folder.Log(), "PRAGMA user_version"), "1");
  EXPECT_EQ(Ask(folder.Log(), "SELECT version FROM migration"), "1");
  EXPECT_NE(Ask(folder.Log(), "PRAGMA application_id"), "0");
}

TEST(BuildLog, NothingIsChangedOrTakenAway) {
  const TempFolder folder;
  {
    auto log = BuildLogStore::Open(folder.Log());
    ASSERT_TRUE(log);
    ASSERT_TRUE(log->Append({Event(LogKind::kStepDone, "s01.1")}, PlanOf("{}")));
  }
  for (const char* sql : {"UPDATE event SET step = 's01.2'", "DELETE FROM event",
                          "UPDATE revision SET plan_json = ''", "DELETE FROM revision"}) {
    EXPECT_NE(Ask(folder.Log(), sql).find("stays"), std::string::npos) << sql;
  }
  const auto read = BuildLogStore::Open(folder.Log())->Read();
  ASSERT_TRUE(read);
  EXPECT_EQ(read->events.size(), 1U);
}

TEST(BuildLog, APlanIsKeptOnceAndEachEventKnowsItsOwn) {
  const TempFolder folder;
  auto log = BuildLogStore::Open(folder.Log());
  ASSERT_TRUE(log);
  std::vector<int> revisions;
  for (const char* plan : {"first", "first", "second", "first", "third"}) {
    const auto kept = log->Append({Event(LogKind::kStepDone, "s01.1")}, PlanOf(plan));
    ASSERT_TRUE(kept);
    revisions.push_back(kept->front().revision);
  }
  EXPECT_EQ(revisions, (std::vector<int>{1, 1, 2, 1, 3}));
  const auto read = log->Read();
  ASSERT_TRUE(read);
  ASSERT_EQ(read->revisions.size(), 3U);
  EXPECT_EQ(read->revisions[1].plan_json, "second");
}

TEST(BuildLog, AnIdIsKeptOnce) {
  const TempFolder folder;
  auto log = BuildLogStore::Open(folder.Log());
  ASSERT_TRUE(log);
  LogEvent note = Note("said once");
  note.id = std::string(32, 'a');
  const auto first = log->Append({note});
  const auto second = log->Append({note, Note("more")});
  ASSERT_TRUE(first && second);
  EXPECT_EQ(first->front().number, second->front().number);
  EXPECT_EQ(log->Read()->events.size(), 2U);
}

TEST(BuildLog, AllOrNone) {
  const TempFolder folder;
  auto log = BuildLogStore::Open(folder.Log());
  ASSERT_TRUE(log);
  const auto refused = log->Append({Note("good"), Note("\xFF")}, PlanOf("plan"));
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().code, ErrorCode::kBadText);
  const auto read = log->Read();
  ASSERT_TRUE(read);
  EXPECT_TRUE(read->events.empty());
  EXPECT_TRUE(read->revisions.empty());
}

TEST(BuildLog, WhatIsNoEventIsRefused) {
  const TempFolder folder;
  auto log = BuildLogStore::Open(folder.Log());
  ASSERT_TRUE(log);
  LogEvent no_number = ReadingOf("s01.1", std::numeric_limits<double>::quiet_NaN(), "x");
  LogEvent no_reading = Event(LogKind::kReading, "s01.1");
  LogEvent reading_of_note = Note("words");
  reading_of_note.reading = Reading{1, "1", {}, {}};
  LogEvent build = Note("words");
  build.build = 0;
  LogEvent id = Note("words");
  id.id = "not hex";
  const std::vector<std::pair<LogEvent, ErrorCode>> cases = {
      {no_number, ErrorCode::kNotFinite},       {no_reading, ErrorCode::kMissingKey},
      {reading_of_note, ErrorCode::kMissingKey}, {build, ErrorCode::kOutOfRange},
      {id, ErrorCode::kBadName},                 {Event(LogKind::kStepDone, ""), ErrorCode::kMissingKey},
      {Note(""), ErrorCode::kMissingKey}};
  for (const auto& [event, code] : cases) {
    const auto kept = log->Append({event}, PlanOf("plan"));
    ASSERT_FALSE(kept) << Spelt(event);
    EXPECT_EQ(kept.error().code, code) << Spelt(event);
  }
  LogEvent of_no_plan = Event(LogKind::kStepDone, "s01.1");
  EXPECT_EQ(log->Append({of_no_plan}).error().code, ErrorCode::kOutOfRange);
  of_no_plan.revision = 7;
  EXPECT_EQ(log->Append({of_no_plan}).error().code, ErrorCode::kOutOfRange);
  EXPECT_TRUE(log->Read()->events.empty());
}

TEST(BuildLog, MergesAnotherLogOnce) {
  const TempFolder one;
  const TempFolder two;
  auto a = BuildLogStore::Open(one.Log());
  auto b = BuildLogStore::Open(two.Log());
  ASSERT_TRUE(a && b);
  ASSERT_TRUE(a->Append({Event(LogKind::kStepDone, "s01.1")}, PlanOf("first")));
  ASSERT_TRUE(a->Append({ReadingOf("s01.2", 3, "3")}, PlanOf("second")));
  ASSERT_TRUE(b->Append({Event(LogKind::kStepDone, "s09.1")}, PlanOf("second")));
  const auto merged = b->Merge(*a->Read());
  ASSERT_TRUE(merged) << Format(merged.error());
  EXPECT_EQ(merged->added, 2U);
  const auto again = b->Merge(*a->Read());
  ASSERT_TRUE(again);
  EXPECT_EQ(again->added, 0U);
  EXPECT_EQ(again->known, 2U);
  const auto read = b->Read();
  ASSERT_TRUE(read);
  ASSERT_EQ(read->events.size(), 3U);
  EXPECT_EQ(read->events[1].revision, 2);  // "first", which b had not
  EXPECT_EQ(read->events[2].revision, 1);
  EXPECT_EQ(read->revisions[1].plan_json, "first");
}

TEST(BuildLog, NoLogYetIsSaidAndNoneBegunByReading) {
  const TempFolder folder;
  const auto log = BuildLogStore::OpenToRead(folder.Log());
  ASSERT_FALSE(log);
  EXPECT_EQ(log.error().code, ErrorCode::kFileMissing);
  EXPECT_TRUE(fs::is_empty(folder.path()));
}

}  // namespace
}  // namespace fitwright::store_test
