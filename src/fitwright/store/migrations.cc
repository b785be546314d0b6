#include "fitwright/store/migrations.h"

#include <fmt/format.h>

#include <array>

namespace fitwright::store {
namespace {

// digest: 16 hex digits over the row before and this one, see build_log_store.cc.
constexpr const char* kFirst = R"sql(
CREATE TABLE migration (
  version INTEGER PRIMARY KEY,
  applied_s INTEGER NOT NULL DEFAULT (unixepoch())
) STRICT;
CREATE TABLE revision (
  number INTEGER PRIMARY KEY,
  time_ms INTEGER NOT NULL,
  inputs_hash TEXT NOT NULL,
  plan_json TEXT NOT NULL,
  digest TEXT NOT NULL
) STRICT;
CREATE TABLE event (
  number INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE,
  time_ms INTEGER NOT NULL,
  build INTEGER NOT NULL CHECK (build >= 1),
  revision INTEGER NOT NULL CHECK (revision >= 0),
  kind TEXT NOT NULL,
  part TEXT NOT NULL,
  step TEXT NOT NULL,
  value_mm REAL CHECK ((value_mm IS NOT NULL) = (kind = 'reading')),
  typed TEXT NOT NULL,
  instrument TEXT NOT NULL,
  measured_part TEXT NOT NULL,
  measured_feature TEXT NOT NULL,
  text TEXT NOT NULL,
  digest TEXT NOT NULL
) STRICT;
CREATE TRIGGER revision_stays BEFORE UPDATE ON revision
  BEGIN SELECT RAISE(ABORT, 'a revision stays'); END;
CREATE TRIGGER revision_is_kept BEFORE DELETE ON revision
  BEGIN SELECT RAISE(ABORT, 'a revision stays'); END;
CREATE TRIGGER event_stays BEFORE UPDATE ON event
  BEGIN SELECT RAISE(ABORT, 'an event stays'); END;
CREATE TRIGGER event_is_kept BEFORE DELETE ON event
  BEGIN SELECT RAISE(ABORT, 'an event stays'); END;
)sql";

constexpr std::array kMigrations = {Migration{1, kFirst}};

Error NotOurs(const Database& database) {
  return {ErrorCode::kFileUnreadable,
          "this is a database, but no build log; it was left as it is",
          "",
          "move it away to begin a log here",
          {database.file(), 0, 0, ""}};
}

Error Newer(const Database& database, std::int64_t version, int known) {
  return {ErrorCode::kSchemaVersion,
          fmt::format(
              "a newer fitwright wrote this build log: it is of version {}, and this program knows "
              "up to {}; it was left as it is",
              version, known),
          "",
          "use the newer program",
          {database.file(), 0, 0, "version"}};
}

Result<std::int64_t> VersionOf(const Database& database) {
  return AskInteger(database, "PRAGMA user_version");
}

}  // namespace

std::span<const Migration> Migrations() { return kMigrations; }

Result<FileState> CalcFileState(const Database& database, std::span<const Migration> migrations) {
  const auto application = AskInteger(database, "PRAGMA application_id");
  if (!application) return Unexpected(application.error());
  const auto version = VersionOf(database);
  if (!version) return Unexpected(version.error());
  const auto tables = AskInteger(database, "SELECT count(*) FROM sqlite_schema");
  if (!tables) return Unexpected(tables.error());
  if (*application == 0 && *version == 0 && *tables == 0) return FileState::kEmpty;
  if (*application != kApplicationId || *version < 1) return Unexpected(NotOurs(database));
  const int known = migrations.back().version;
  if (*version > known) return Unexpected(Newer(database, *version, known));
  return *version < known ? FileState::kOlder : FileState::kCurrent;
}

Status Migrate(Database& database, std::span<const Migration> migrations) {
  const auto state = CalcFileState(database, migrations);
  if (!state) return Unexpected(state.error());
  const auto version = VersionOf(database);
  if (!version) return Unexpected(version.error());
  for (const Migration& migration : migrations) {
    if (migration.version <= *version) continue;
    const std::string line = fmt::format(
        "INSERT INTO migration (version) VALUES ({0}); PRAGMA user_version = {0}; "
        "PRAGMA application_id = {1}",
        migration.version, kApplicationId);
    if (const Status done = database.Run(migration.sql); !done) return done;
    if (const Status done = database.Run(line.c_str()); !done) return done;
  }
  return Ok{};
}

}  // namespace fitwright::store
