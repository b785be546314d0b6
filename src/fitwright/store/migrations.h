// The versions of the build log's file, and the way from each to the next. Private to this layer.
#pragma once

#include <cstdint>
#include <span>

#include "fitwright/store/sqlite.h"

namespace fitwright::store {

// In the file's header (PRAGMA application_id): "FwBL".
inline constexpr std::int64_t kApplicationId = 0x4677424C;

struct Migration {
  int version = 0;  // what it leads to
  const char* sql = nullptr;
};
// From an empty file on, in order. A version that has been in use stays as it is; what changes is
// added.
std::span<const Migration> Migrations();

enum class FileState { kEmpty, kOlder, kCurrent };
// Errors: kSchemaVersion for a file of a newer version, kFileUnreadable for what is no build log.
Result<FileState> CalcFileState(const Database& database, std::span<const Migration> migrations);

// What is missing, done in the transaction that the caller has begun; each version reached is a
// line of the table `migration`. Errors as CalcFileState and ErrorOf.
Status Migrate(Database& database, std::span<const Migration> migrations);

}  // namespace fitwright::store
