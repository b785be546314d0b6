// The build log on disk: build.db, an SQLite file. What was acknowledged is on the disk and stays;
// nothing is ever changed or taken away. Several programs may read and write it at once: writers
// wait.
#pragma once

#include <cstddef>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/build_log.h"

namespace fitwright::store {

class Database;

inline constexpr std::string_view kBuildLogFileName = "build.db";

struct StoreOptions {
  int wait_ms = 30000;  // for other programs
  std::string vfs;      // SQLite's way to the disk; empty: the system's
};

// The plan that events belong to.
struct FollowedPlan {
  std::string plan_json;  // the bytes of plan.json
  std::string inputs_hash;
  std::int64_t time_ms = 0;
};

struct Merged {
  std::size_t added = 0;
  std::size_t known = 0;  // were in the log already
};

class BuildLogStore {
 public:
  // Opens a log, and begins one where there is none. The whole file is looked through first. A file
  // that is newer, damaged or something else is refused and left to the byte. Errors:
  // kSchemaVersion, kFileUnreadable, kFileUnwritable.
  static Result<BuildLogStore> Open(const std::filesystem::path& file,
                                    const StoreOptions& options = {});
  // The same for reading: kFileMissing where there is none, and a folder that may not be written
  // will do.
  static Result<BuildLogStore> OpenToRead(const std::filesystem::path& file,
                                          const StoreOptions& options = {});
  BuildLogStore(BuildLogStore&&) noexcept;
  BuildLogStore& operator=(BuildLogStore&&) noexcept;
  ~BuildLogStore();

  // The log as it stands at one moment. Errors: kFileUnreadable, kFileUnwritable.
  Result<BuildLog> Read() const;

  // Changes whenever another connection has written, and with nothing else. Errors as Read.
  Result<std::int64_t> CountForeign() const;

  // Keeps all events or none; they are on the disk when it returns. With a plan, it is kept too
  // where the log has not got it, and every event is of its revision; without, of the revision it
  // says. An event whose id the log has is not kept again. Returns them as the log has them.
  // Errors: those of FindFault(), kOutOfRange for a revision that the log has not got,
  // kFileUnwritable, kFileUnreadable.
  Result<std::vector<LogEvent>> Append(std::vector<LogEvent> events,
                                       const std::optional<FollowedPlan>& plan = std::nullopt);

  // Adds what another log has and this one has not. Errors as Append.
  Result<Merged> Merge(const BuildLog& other);

 private:
  BuildLogStore(std::unique_ptr<Database> database, StoreOptions options);
  std::unique_ptr<Database> database_;
  StoreOptions options_;
};

}  // namespace fitwright::store
