// Several programs write at once, and are killed at any moment: what was acknowledged is there, once each.
#include <fcntl.h>
#include <signal.h>
#include <sqlite3.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <limits>
#include <random>
#include <thread>

#include "tests/store/samples.h"

namespace fitwright::store_test {
namespace {

struct Acknowledged {
  char id[32];
  double value_mm;
};

// Each goes through the pipe whole or not at all: it is far under PIPE_BUF.
[[noreturn]] void WriteUntilKilled(const fs::path& file, int writer, int round, int pipe_in) {
  for (int i = 0;; ++i) {
    auto log = BuildLogStore::Open(file);
    if (!log) ::_exit(2);
    for (int k = 0; k < 5; ++k) {
      const double value_mm = writer + 1e-3 * (i * 5 + k);
      const std::string plan = fmt::format("plan of round {}", round / 3);
      const auto kept = log->Append({ReadingOf("s01.1", value_mm, "typed"), Event(LogKind::kStepDone, "s01.1")},
                                    PlanOf(plan));
      if (!kept) ::_exit(3);
      Acknowledged said{};
      kept->front().id.copy(said.id, sizeof said.id);
      said.value_mm = value_mm;
      if (::write(pipe_in, &said, sizeof said) != sizeof said) ::_exit(4);
    }
  }
}

// Up to `most` of them; fewer when all writers are gone.
void ReadSome(int pipe_out, std::size_t most, std::map<std::string, double>& acknowledged) {
  Acknowledged said{};
  for (std::size_t i = 0; i < most; ++i) {
    if (::read(pipe_out, &said, sizeof said) != sizeof said) return;
    acknowledged[std::string(said.id, sizeof said.id)] = said.value_mm;
  }
}

void ExpectKept(const fs::path& file, const std::map<std::string, double>& acknowledged) {
  const auto log = BuildLogStore::Open(file);  // looks the whole file through
  ASSERT_TRUE(log) << Format(log.error());
  const auto read = log->Read();
  ASSERT_TRUE(read);
  std::map<std::string, double> there;
  std::size_t readings = 0;
  for (const LogEvent& event : read->events) {
    if (!event.reading) continue;
    ++readings;
    there[event.id] = event.reading->value_mm;
  }
  EXPECT_EQ(there.size(), readings) << "an id stands twice";
  EXPECT_EQ(read->events.size(), 2 * readings) << "half of what goes together";
  for (const auto& [id, value_mm] : acknowledged) {
    ASSERT_EQ(there.count(id), 1U) << id;
    EXPECT_EQ(there[id], value_mm) << id;
  }
}

TEST(ManyWriters, KilledAtAnyMoment) {
  constexpr int kWriters = 3;
  const int rounds = IsDeep() ? 300 : 20;
  const TempFolder folder;
  std::map<std::string, double> acknowledged;
  std::mt19937_64 chance(11);
  for (int round = 0; round < rounds; ++round) {
    int ends[2];
    ASSERT_EQ(::pipe2(ends, O_CLOEXEC), 0);
    std::vector<pid_t> children;
    for (int writer = 0; writer < kWriters; ++writer) {
      const pid_t child = ::fork();
      if (child == 0) WriteUntilKilled(folder.Log(), writer, round, ends[1]);
      children.push_back(child);
    }
    ::close(ends[1]);
    ReadSome(ends[0], 1 + chance() % 4, acknowledged);  // however slow the machine is
    for (const pid_t child : children) {
      std::this_thread::sleep_for(std::chrono::microseconds(chance() % 5000));
      ::kill(child, SIGKILL);
    }
    ReadSome(ends[0], std::numeric_limits<std::size_t>::max(), acknowledged);
    ::close(ends[0]);
    for (const pid_t child : children) {
      int status = 0;
      ::waitpid(child, &status, 0);
      EXPECT_TRUE(WIFSIGNALED(status)) << "a writer gave up with " << WEXITSTATUS(status);
    }
    ExpectKept(folder.Log(), acknowledged);
    if (HasFatalFailure() || HasNonfatalFailure()) return;
  }
  EXPECT_GE(acknowledged.size(), static_cast<std::size_t>(rounds));
}

TEST(ManyWriters, WaitForEachOther) {
  constexpr int kWriters = 4;
  constexpr int kEach = 25;
  const TempFolder folder;
  std::vector<pid_t> children;
  for (int writer = 0; writer < kWriters; ++writer) {
    const pid_t child = ::fork();
    if (child == 0) {
      for (int i = 0; i < kEach; ++i) {  // each opens for itself, the first begins the log
        auto log = BuildLogStore::Open(folder.Log());
        if (!log || !log->Append({ReadingOf("s01.1", writer * 100 + i, "typed")}, PlanOf("plan"))) ::_exit(1);
      }
      ::_exit(0);
    }
    children.push_back(child);
  }
  for (const pid_t child : children) {
    int status = 0;
    ::waitpid(child, &status, 0);
    EXPECT_TRUE(WIFEXITED(status) && WEXITSTATUS(status) == 0);
  }
  const auto read = BuildLogStore::Open(folder.Log())->Read();
  ASSERT_TRUE(read);
  std::set<double> values;
  for (const LogEvent& event : read->events) values.insert(event.reading->value_mm);
  EXPECT_EQ(read->events.size(), static_cast<std::size_t>(kWriters * kEach));
  EXPECT_EQ(values.size(), read->events.size());
  EXPECT_EQ(read->revisions.size(), 1U);
}

TEST(ManyWriters, WhoWaitsTooLongIsToldWhy) {
  const TempFolder folder;
  ASSERT_TRUE(BuildLogStore::Open(folder.Log()));
  sqlite3* handle = nullptr;
  ASSERT_EQ(sqlite3_open(folder.Log().c_str(), &handle), SQLITE_OK);
  ASSERT_EQ(sqlite3_exec(handle, "BEGIN IMMEDIATE", nullptr, nullptr, nullptr), SQLITE_OK);
  auto log = BuildLogStore::Open(folder.Log(), {50, ""});
  ASSERT_TRUE(log) << Format(log.error());
  const auto kept = log->Append({Note("too late")});
  ASSERT_FALSE(kept);
  EXPECT_EQ(kept.error().code, ErrorCode::kFileUnwritable);
  EXPECT_NE(kept.error().message.find("another program"), std::string::npos);
  ASSERT_EQ(sqlite3_exec(handle, "ROLLBACK", nullptr, nullptr, nullptr), SQLITE_OK);
  sqlite3_close(handle);
  EXPECT_TRUE(log->Append({Note("now")}));
  EXPECT_EQ(log->Read()->events.size(), 1U);
}

}  // namespace
}  // namespace fitwright::store_test
