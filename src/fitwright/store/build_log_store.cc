#include "fitwright/store/build_log_store.h"

#include <fmt/format.h>

#include <chrono>
#include <map>
#include <random>
#include <system_error>
#include <thread>

#include "fitwright/store/migrations.h"
#include "fitwright/store/rows.h"
#include "fitwright/store/sqlite.h"

namespace fitwright::store {
namespace {

namespace fs = std::filesystem;
using Clock = std::chrono::steady_clock;

constexpr std::chrono::milliseconds kBetweenTries{5};

// SQLite waits by itself for most of what another program can hold; what it gives up at once (the
// log being begun, a crashed writer's leavings being taken up) is tried again.
template <typename Do>
auto Patiently(const Database& database, int wait_ms, Do what) {
  const auto deadline = Clock::now() + std::chrono::milliseconds(wait_ms);
  while (true) {
    database.ForgetHold();
    auto result = what();
    if (result || !database.was_held() || Clock::now() >= deadline) return result;
    std::this_thread::sleep_for(kBetweenTries);
  }
}

// Undone at its end unless committed.
class Transaction {
 public:
  explicit Transaction(Database& database) : database_(&database) {}
  ~Transaction() {
    if (begun_ && sqlite3_get_autocommit(database_->get()) == 0) (void)database_->Run("ROLLBACK");
  }
  Transaction(const Transaction&) = delete;
  Transaction& operator=(const Transaction&) = delete;
  Status BeginToWrite() { return Begin("BEGIN IMMEDIATE"); }
  Status BeginToRead() { return Begin("BEGIN"); }
  Status Commit() { return database_->Run("COMMIT"); }

 private:
  Status Begin(const char* sql) {
    Status status = database_->Run(sql);
    begun_ = status.has_value();
    return status;
  }
  Database* database_;
  bool begun_ = false;
};

Unexpected FileError(ErrorCode code, const fs::path& file, std::string message,
                     std::string remedy) {
  return Unexpected(
      Error{code, std::move(message), "", std::move(remedy), {file.string(), 0, 0, ""}});
}

bool HasBytes(const fs::path& file) {
  std::error_code failed;
  const std::uintmax_t size = fs::file_size(file, failed);
  return !failed && size > 0;
}

// SQLite would take what was written last for leavings of nothing, and delete it. The order of the
// two looks matters: a log being begun has its own bytes first.
Status CheckWhole(const fs::path& file) {
  fs::path last = file;
  last += "-wal";
  if (HasBytes(last) && !HasBytes(file)) {
    return FileError(
        ErrorCode::kFileUnreadable, file,
        "the build log is gone or empty, but what was written to it last stands beside it",
        fmt::format("put back a copy of it, or move {} away to begin anew",
                    last.filename().string()));
  }
  return Ok{};
}

// What each connection is told before it looks at the file. EXTRA is FULL, and also makes sure that
// a rollback journal is gone for good before what comes after it is written.
Status Prepare(Database& database, int wait_ms) {
  sqlite3_busy_timeout(database.get(), wait_ms);
  sqlite3_db_config(database.get(), SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, nullptr);
  sqlite3_db_config(database.get(), SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
  return database.Run("PRAGMA synchronous = EXTRA; PRAGMA trusted_schema = OFF");
}

Status BringUpToDate(Database& database) {
  Transaction transaction(database);
  if (Status begun = transaction.BeginToWrite(); !begun) return begun;
  if (Status migrated = Migrate(database, Migrations()); !migrated) return migrated;
  return transaction.Commit();
}

Status UseWriteAheadLog(Database& database) {
  const auto mode = AskText(database, "PRAGMA journal_mode");
  if (!mode) return Unexpected(mode.error());
  if (*mode == "wal") return Ok{};
  const auto now = AskText(database, "PRAGMA journal_mode = WAL");
  if (!now) return Unexpected(now.error());
  if (*now == "wal") return Ok{};
  return FileError(ErrorCode::kFileUnwritable, database.file(),
                   "this disk does not take a build log that several programs write",
                   "keep the project on a disk of this machine");
}

Result<BuildLog> ReadAll(Database& database) {
  Transaction transaction(database);
  if (const Status begun = transaction.BeginToRead(); !begun) return Unexpected(begun.error());
  auto revisions = ReadRevisions(database);
  if (!revisions) return Unexpected(revisions.error());
  auto events = ReadEvents(database);
  if (!events) return Unexpected(events.error());
  return BuildLog{*std::move(revisions), *std::move(events)};
}

Status LookThrough(Database& database) {
  const auto found = AskText(database, "PRAGMA integrity_check(1)");
  if (!found) return Unexpected(found.error());
  if (*found != "ok") return Unexpected(ErrorOf(SQLITE_CORRUPT, database.file()));
  const auto log = ReadAll(database);
  if (!log) return Unexpected(log.error());
  return Ok{};
}

enum class Purpose { kWrite, kRead };

Status Settle(Database& database, Purpose purpose, int wait_ms) {
  if (Status prepared = Prepare(database, wait_ms); !prepared) return prepared;
  const auto state =
      Patiently(database, wait_ms, [&] { return CalcFileState(database, Migrations()); });
  if (!state) return Unexpected(state.error());
  if (*state == FileState::kEmpty && purpose == Purpose::kRead) {
    return FileError(ErrorCode::kFileMissing, database.file(), "there is no build log yet",
                     "it begins with the first thing recorded");
  }
  if (*state != FileState::kCurrent) {
    Status done = Patiently(database, wait_ms, [&] { return BringUpToDate(database); });
    if (!done) return done;
  }
  if (sqlite3_db_readonly(database.get(), "main") == 0) {
    Status done = Patiently(database, wait_ms, [&] { return UseWriteAheadLog(database); });
    if (!done) return done;
  }
  if (Status good = Patiently(database, wait_ms, [&] { return LookThrough(database); }); !good)
    return good;
  sqlite3_db_config(database.get(), SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 0, nullptr);
  return Ok{};
}

Result<std::unique_ptr<Database>> OpenWith(const fs::path& file, const std::string& name, int flags,
                                           Purpose purpose, const StoreOptions& options) {
  auto opened = Database::Open(name, flags, options.vfs, file.string());
  if (!opened) return Unexpected(opened.error());
  auto database = std::make_unique<Database>(*std::move(opened));
  if (const Status settled = Settle(*database, purpose, options.wait_ms); !settled) {
    return Unexpected(settled.error());
  }
  return database;
}

// The file's address for SQLite, which reads ? # and % in it. It then takes the file as one that
// nobody changes, and needs nothing beside it.
std::string UnchangingAddress(const fs::path& file) {
  std::string address = "file:";
  for (const char c : fs::absolute(file).string()) {
    if (c == '?' || c == '#' || c == '%') {
      address += fmt::format("%{:02X}", static_cast<unsigned char>(c));
    } else {
      address += c;
    }
  }
  return address + "?immutable=1";
}

void GiveIds(std::vector<LogEvent>& events) {
  std::random_device random;
  for (LogEvent& event : events) {
    if (!event.id.empty()) continue;
    for (int i = 0; i < 4; ++i) event.id += fmt::format("{:08x}", random());
  }
}

Result<int> KeepPlan(Database& database, const FollowedPlan& plan) {
  const auto known = FindRevision(database, plan.plan_json);
  if (!known || *known > 0) return known;
  return AddRevision(database, {0, plan.time_ms, plan.inputs_hash, plan.plan_json});
}

struct Kept {
  LogEvent event;
  bool was_known = false;
};

Result<Kept> KeepEvent(Database& database, LogEvent event, std::int64_t revisions) {
  if (auto fault = FindFault(event)) return Unexpected(*std::move(fault));
  if (event.revision < 0 || event.revision > revisions) {
    return Unexpected(Error{ErrorCode::kOutOfRange,
                            "the log has no such revision of the plan",
                            fmt::format("{}", event.revision),
                            fmt::format("it has {}", revisions),
                            {"", 0, 0, "revision"}});
  }
  auto known = FindEvent(database, event.id);
  if (!known) return Unexpected(known.error());
  if (*known) return Kept{**std::move(known), true};
  if (event.reading && event.reading->value_mm == 0)
    event.reading->value_mm = 0;  // SQLite knows no -0
  const auto number = AddEvent(database, event);
  if (!number) return Unexpected(number.error());
  event.number = *number;
  return Kept{std::move(event), false};
}

Result<std::vector<LogEvent>> TryAppend(Database& database, std::vector<LogEvent> events,
                                        const std::optional<FollowedPlan>& plan) {
  Transaction transaction(database);
  if (const Status begun = transaction.BeginToWrite(); !begun) return Unexpected(begun.error());
  int revision = 0;
  if (plan) {
    const auto kept = KeepPlan(database, *plan);
    if (!kept) return Unexpected(kept.error());
    revision = *kept;
  }
  const auto revisions = AskInteger(database, "SELECT count(*) FROM revision");
  if (!revisions) return Unexpected(revisions.error());
  for (LogEvent& event : events) {
    if (plan) event.revision = revision;
    auto kept = KeepEvent(database, event, *revisions);
    if (!kept) return Unexpected(kept.error());
    event = std::move(kept->event);
  }
  if (const Status committed = transaction.Commit(); !committed)
    return Unexpected(committed.error());
  return events;
}

Result<Merged> TryMerge(Database& database, const BuildLog& other) {
  Transaction transaction(database);
  if (const Status begun = transaction.BeginToWrite(); !begun) return Unexpected(begun.error());
  std::map<int, int> own_number = {{0, 0}};
  for (const PlanRevision& revision : other.revisions) {
    const auto kept =
        KeepPlan(database, {revision.plan_json, revision.inputs_hash, revision.time_ms});
    if (!kept) return Unexpected(kept.error());
    own_number[revision.number] = *kept;
  }
  const auto revisions = AskInteger(database, "SELECT count(*) FROM revision");
  if (!revisions) return Unexpected(revisions.error());
  Merged merged;
  for (LogEvent event : other.events) {
    const auto own = own_number.find(event.revision);
    event.revision = own == own_number.end() ? -1 : own->second;
    auto kept = KeepEvent(database, std::move(event), *revisions);
    if (!kept) return Unexpected(kept.error());
    ++(kept->was_known ? merged.known : merged.added);
  }
  if (const Status committed = transaction.Commit(); !committed)
    return Unexpected(committed.error());
  return merged;
}

}  // namespace

BuildLogStore::BuildLogStore(std::unique_ptr<Database> database, StoreOptions options)
    : database_(std::move(database)), options_(std::move(options)) {}
BuildLogStore::BuildLogStore(BuildLogStore&&) noexcept = default;
BuildLogStore& BuildLogStore::operator=(BuildLogStore&&) noexcept = default;
BuildLogStore::~BuildLogStore() = default;

Result<BuildLogStore> BuildLogStore::Open(const fs::path& file, const StoreOptions& options) {
  if (options.vfs.empty()) {
    if (const Status whole = CheckWhole(file); !whole) return Unexpected(whole.error());
  }
  auto database = OpenWith(file, file.string(), SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE,
                           Purpose::kWrite, options);
  if (!database) return Unexpected(database.error());
  return BuildLogStore(*std::move(database), options);
}

Result<BuildLogStore> BuildLogStore::OpenToRead(const fs::path& file, const StoreOptions& options) {
  std::error_code failed;
  if (options.vfs.empty()) {
    if (const Status whole = CheckWhole(file); !whole) return Unexpected(whole.error());
    if (!fs::exists(file, failed) && !failed) {
      return FileError(ErrorCode::kFileMissing, file, "there is no build log yet",
                       "it begins with the first thing recorded");
    }
  }
  auto database = OpenWith(file, file.string(), SQLITE_OPEN_READWRITE, Purpose::kRead, options);
  fs::path last = file;
  last += "-wal";
  if (!database && database.error().code == ErrorCode::kFileUnwritable && options.vfs.empty() &&
      !HasBytes(last)) {
    database = OpenWith(file, UnchangingAddress(file), SQLITE_OPEN_READONLY | SQLITE_OPEN_URI,
                        Purpose::kRead, options);
  }
  if (!database) return Unexpected(database.error());
  return BuildLogStore(*std::move(database), options);
}

Result<BuildLog> BuildLogStore::Read() const {
  return Patiently(*database_, options_.wait_ms, [&] { return ReadAll(*database_); });
}

Result<std::int64_t> BuildLogStore::CountForeign() const {
  return Patiently(*database_, options_.wait_ms,
                   [&] { return AskInteger(*database_, "PRAGMA data_version"); });
}

Result<std::vector<LogEvent>> BuildLogStore::Append(std::vector<LogEvent> events,
                                                    const std::optional<FollowedPlan>& plan) {
  GiveIds(events);
  return Patiently(*database_, options_.wait_ms,
                   [&] { return TryAppend(*database_, events, plan); });
}

Result<Merged> BuildLogStore::Merge(const BuildLog& other) {
  return Patiently(*database_, options_.wait_ms, [&] { return TryMerge(*database_, other); });
}

}  // namespace fitwright::store
